//! Reads a PDF of ours back: objects, streams, drawn text and rectangles. It shares nothing with what
//! writes them but the inflater.

use std::collections::BTreeMap;

/// A line of text as it is drawn.
#[derive(Clone, Debug)]
pub(crate) struct Text {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) size: f64,
    /// In points, by the font's own widths.
    pub(crate) width: f64,
    pub(crate) text: String,
}

/// A rectangle as it is drawn, and whether it is filled.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Drawn {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) w: f64,
    pub(crate) h: f64,
    pub(crate) filled: Option<f64>,
    pub(crate) stroked: bool,
}

/// Between one mark's beginning and its end.
#[derive(Clone, Debug, Default)]
pub(crate) struct Mark {
    pub(crate) role: String,
    pub(crate) texts: Vec<Text>,
    pub(crate) rects: Vec<Drawn>,
}

#[derive(Clone, Debug)]
pub(crate) struct Page {
    pub(crate) size: (f64, f64),
    pub(crate) marks: Vec<Mark>,
}

impl Page {
    pub(crate) fn texts(&self) -> impl Iterator<Item = &Text> {
        self.marks.iter().flat_map(|mark| &mark.texts)
    }

    pub(crate) fn text(&self) -> String {
        let lines: Vec<&str> = self.texts().map(|text| text.text.as_str()).collect();
        lines.join("\n")
    }

    pub(crate) fn figures(&self) -> Vec<&Mark> {
        let marks = self.marks.iter();
        marks.filter(|mark| mark.role == "Figure").collect()
    }
}

struct Font {
    shows: BTreeMap<u16, char>,
    widths: BTreeMap<u16, f64>,
}

/// The objects' text, streams apart and inflated.
pub(crate) struct Objects(BTreeMap<i32, (String, Option<Vec<u8>>)>);

impl Objects {
    pub(crate) fn of(bytes: &[u8]) -> Objects {
        assert!(bytes.starts_with(b"%PDF-1.7"));
        let mut out = BTreeMap::new();
        let mut at = 0;
        while let Some(found) = find(bytes, b" 0 obj\n", at) {
            let start = bytes[..found]
                .iter()
                .rposition(|b| *b == b'\n')
                .map_or(0, |n| n + 1);
            let id: i32 = std::str::from_utf8(&bytes[start..found])
                .unwrap()
                .parse()
                .unwrap();
            let body = found + 7;
            let end = find(bytes, b"\nendobj", body).unwrap();
            let stream = find(&bytes[..end], b"\nstream\n", body);
            let dict = String::from_utf8_lossy(&bytes[body..stream.unwrap_or(end)]).into_owned();
            let (data, end) = match stream {
                None => (None, end),
                Some(stream) => {
                    let length: usize = number_after(&dict, "/Length ").unwrap();
                    let from = stream + 8;
                    let data = &bytes[from..from + length];
                    let data = miniz_oxide::inflate::decompress_to_vec_zlib(data).unwrap();
                    (Some(data), find(bytes, b"\nendobj", from + length).unwrap())
                }
            };
            out.insert(id, (dict, data));
            at = end;
        }
        Objects(out)
    }

    pub(crate) fn dicts(&self) -> impl Iterator<Item = &str> {
        self.0.values().map(|(dict, _)| dict.as_str())
    }

    fn get(&self, id: i32) -> &(String, Option<Vec<u8>>) {
        &self.0[&id]
    }

    fn fonts(&self) -> BTreeMap<String, Font> {
        let page = self
            .dicts()
            .find(|dict| dict.contains("/Type /Page\n"))
            .unwrap();
        ["F1", "F2"]
            .into_iter()
            .filter_map(|name| {
                let id = number_after(page, &format!("/{name} "))?;
                let (dict, _) = self.get(id);
                let cmap = self.get(number_after(dict, "/ToUnicode ")?).1.as_ref()?;
                let descendant = self.get(number_after(dict, "/DescendantFonts [")?);
                let font = Font {
                    shows: shown(std::str::from_utf8(cmap).unwrap()),
                    widths: widths(&descendant.0),
                };
                Some((name.to_owned(), font))
            })
            .collect()
    }
}

/// Every page, in order.
pub(crate) fn pages(bytes: &[u8]) -> Vec<Page> {
    let objects = Objects::of(bytes);
    let fonts = objects.fonts();
    let tree = objects
        .dicts()
        .find(|dict| dict.contains("/Type /Pages"))
        .unwrap();
    let kids = &tree[tree.find("/Kids [").unwrap() + 7..];
    let kids = &kids[..kids.find(']').unwrap()];
    let ids = kids.split(" 0 R").filter_map(|id| id.trim().parse().ok());
    ids.map(|id: i32| {
        let (dict, _) = objects.get(id);
        let sides = &dict[dict.find("/MediaBox [").unwrap() + 11..];
        let sides: Vec<f64> = sides[..sides.find(']').unwrap()]
            .split_whitespace()
            .map(|side| side.parse().unwrap())
            .collect();
        let content: i32 = number_after(dict, "/Contents ").unwrap();
        let stream = objects.get(content).1.as_ref().unwrap();
        Page {
            size: (sides[2], sides[3]),
            marks: marks(stream, &fonts),
        }
    })
    .collect()
}

/// The pages' text, one after the other.
pub(crate) fn text(bytes: &[u8]) -> String {
    let pages: Vec<String> = pages(bytes).iter().map(Page::text).collect();
    pages.join("\n")
}

fn find(bytes: &[u8], what: &[u8], from: usize) -> Option<usize> {
    let at = bytes[from..]
        .windows(what.len())
        .position(|window| window == what)?;
    Some(from + at)
}

fn number_after<N: std::str::FromStr>(dict: &str, key: &str) -> Option<N> {
    let rest = &dict[dict.find(key)? + key.len()..];
    let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
    digits.parse().ok()
}

/// Glyph and character of every `<0001> <0041>` of a map.
fn shown(cmap: &str) -> BTreeMap<u16, char> {
    let pairs = cmap.lines().filter_map(|line| {
        let (glyph, letters) = line.strip_prefix('<')?.split_once("> <")?;
        let glyph = u16::from_str_radix(glyph, 16).ok()?;
        let letters = letters.strip_suffix('>')?;
        let units: Vec<u16> = letters
            .as_bytes()
            .chunks(4)
            .filter_map(|unit| u16::from_str_radix(std::str::from_utf8(unit).ok()?, 16).ok())
            .collect();
        let letter = char::decode_utf16(units).next()?.ok()?;
        Some((glyph, letter))
    });
    pairs.collect()
}

/// `/W [0 [600] 1 [318] …]`.
fn widths(dict: &str) -> BTreeMap<u16, f64> {
    let list = &dict[dict.find("/W [").unwrap() + 4..];
    let numbers: Vec<f64> = list
        .split(|c: char| !(c.is_ascii_digit() || c == '.'))
        .filter(|word| !word.is_empty())
        .map_while(|word| word.parse().ok())
        .collect();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // glyph numbers
    let pairs = numbers
        .chunks_exact(2)
        .map(|pair| (pair[0] as u16, pair[1]));
    pairs.collect()
}

enum Token {
    Number(f64),
    Name(String),
    Bytes(Vec<u8>),
    Other,
}

#[derive(Default)]
struct State {
    font: String,
    size: f64,
    at: (f64, f64),
    gray: f64,
    pending: Vec<(f64, f64, f64, f64)>,
}

impl State {
    /// The rectangles since the last one painted, painted by an operator.
    fn painted(&mut self, operator: &str) -> Vec<Drawn> {
        let gray = self.gray;
        let traced = self.pending.drain(..);
        traced
            .map(|(x, y, w, h)| Drawn {
                x,
                y,
                w,
                h,
                filled: (operator == "f" || operator == "B").then_some(gray),
                stroked: operator == "S" || operator == "B",
            })
            .collect()
    }
}

fn marks(stream: &[u8], fonts: &BTreeMap<String, Font>) -> Vec<Mark> {
    let mut out: Vec<Mark> = Vec::new();
    let mut state = State::default();
    let mut stack: Vec<Token> = Vec::new();
    let mut depth = 0;
    let mut at = 0;
    while let Some((token, next)) = token(stream, at) {
        at = next;
        let operator = match token {
            Lexed::Operand(operand) => {
                stack.push(operand);
                continue;
            }
            Lexed::Operator(operator) => operator,
        };
        let numbers: Vec<f64> = stack
            .iter()
            .filter_map(|token| match token {
                Token::Number(number) => Some(*number),
                _ => None,
            })
            .collect();
        match operator.as_str() {
            "BDC" | "BMC" => {
                depth += 1;
                assert_eq!(depth, 1, "marks are not nested");
                let role = stack.iter().find_map(|token| match token {
                    Token::Name(name) => Some(name.clone()),
                    _ => None,
                });
                out.push(Mark {
                    role: role.unwrap(),
                    ..Mark::default()
                });
            }
            "EMC" => depth -= 1,
            "Tf" => {
                state.size = numbers[0];
                if let Some(Token::Name(name)) = stack.first() {
                    state.font.clone_from(name);
                }
            }
            "Td" => state.at = (numbers[0], numbers[1]),
            "g" => state.gray = numbers[0],
            "re" => state
                .pending
                .push((numbers[0], numbers[1], numbers[2], numbers[3])),
            "f" | "S" | "B" | "n" => {
                let painted = state.painted(&operator);
                out.last_mut().unwrap().rects.extend(painted);
            }
            "Tj" => {
                assert_eq!(depth, 1, "text outside of a mark");
                let Some(Token::Bytes(bytes)) = stack.first() else {
                    panic!("Tj without a string");
                };
                let text = text_of(bytes, &state, &fonts[&state.font]);
                out.last_mut().unwrap().texts.push(text);
            }
            "BT" | "ET" | "G" | "w" | "d" | "m" | "l" | "h" | "q" | "Q" | "W" => {}
            other => panic!("an operator that is never written: {other}"),
        }
        stack.clear();
    }
    assert_eq!(depth, 0);
    out
}

fn text_of(bytes: &[u8], state: &State, font: &Font) -> Text {
    let glyphs = bytes
        .chunks_exact(2)
        .map(|two| u16::from_be_bytes([two[0], two[1]]));
    let glyphs: Vec<u16> = glyphs.collect();
    let thousandths: f64 = glyphs.iter().map(|glyph| font.widths[glyph]).sum();
    Text {
        x: state.at.0,
        y: state.at.1,
        size: state.size,
        width: thousandths / 1_000.0 * state.size,
        text: glyphs.iter().map(|glyph| font.shows[glyph]).collect(),
    }
}

enum Lexed {
    Operand(Token),
    Operator(String),
}

fn token(stream: &[u8], from: usize) -> Option<(Lexed, usize)> {
    let blank = |byte: &u8| byte.is_ascii_whitespace();
    let at = from + stream[from..].iter().position(|byte| !blank(byte))?;
    let rest = &stream[at..];
    match rest[0] {
        b'<' if rest.get(1) == Some(&b'<') => {
            let end = find(rest, b">>", 0).unwrap() + 2;
            Some((Lexed::Operand(Token::Other), at + end))
        }
        b'<' => {
            let end = find(rest, b">", 0).unwrap();
            let bytes = rest[1..end]
                .chunks(2)
                .map(|two| u8::from_str_radix(std::str::from_utf8(two).unwrap(), 16).unwrap());
            Some((Lexed::Operand(Token::Bytes(bytes.collect())), at + end + 1))
        }
        b'(' => {
            let (bytes, length) = literal(rest);
            Some((Lexed::Operand(Token::Bytes(bytes)), at + length))
        }
        b'[' | b']' => Some((Lexed::Operand(Token::Other), at + 1)),
        _ => {
            let ends = |byte: &u8| blank(byte) || b"[]<(".contains(byte);
            let length = rest.iter().position(ends).unwrap_or(rest.len());
            let word = std::str::from_utf8(&rest[..length]).unwrap();
            let lexed = if let Some(name) = word.strip_prefix('/') {
                Lexed::Operand(Token::Name(name.to_owned()))
            } else if let Ok(number) = word.parse() {
                Lexed::Operand(Token::Number(number))
            } else {
                Lexed::Operator(word.to_owned())
            };
            Some((lexed, at + length))
        }
    }
}

/// A string in parentheses, and its length with them.
fn literal(rest: &[u8]) -> (Vec<u8>, usize) {
    let (mut out, mut depth, mut at) = (Vec::new(), 1, 1);
    loop {
        let byte = rest[at];
        at += 1;
        match byte {
            b'\\' => {
                let escaped = rest[at];
                at += 1;
                out.push(match escaped {
                    b'n' => b'\n',
                    b'r' => b'\r',
                    b't' => b'\t',
                    b'b' => 8,
                    b'f' => 12,
                    b'0'..=b'7' => {
                        let digits = rest[at - 1..].iter().take(3);
                        let digits: Vec<u8> =
                            digits.take_while(|d| d.is_ascii_digit()).copied().collect();
                        at += digits.len() - 1;
                        u8::from_str_radix(std::str::from_utf8(&digits).unwrap(), 8).unwrap()
                    }
                    other => other,
                });
                continue;
            }
            b'(' => depth += 1,
            b')' => {
                depth -= 1;
                if depth == 0 {
                    return (out, at);
                }
            }
            _ => {}
        }
        out.push(byte);
    }
}
