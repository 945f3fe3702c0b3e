//! Rust source as text: what is code, what is comment, what is inside quotes.
//!
//! Not a parser. It knows just enough of the lexical rules (nested comments, raw strings, character
//! literals beside lifetimes) that a word in a comment is never taken for code.

/// A source text taken apart.
#[derive(Debug, Default)]
pub(crate) struct RustText {
    /// The code alone: comments and the insides of literals are blanks, lines are kept.
    pub(crate) code: String,
    /// Every string literal with the line, counted from 1, on which it begins.
    pub(crate) strings: Vec<(usize, String)>,
}

/// A function with a body.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Function {
    /// Its name.
    pub(crate) name: String,
    /// Line of `fn`, counted from 1.
    pub(crate) line: usize,
    /// Lines from `fn` to the closing brace, both included.
    pub(crate) lines: usize,
}

impl RustText {
    /// Takes a source text apart.
    pub(crate) fn of(text: &str) -> RustText {
        let mut reader = Reader {
            rest: text,
            line: 1,
            out: RustText::default(),
        };
        while let Some(next) = reader.rest.chars().next() {
            reader.step(next);
        }
        reader.out
    }

    /// Every function that has a body, nested ones too.
    pub(crate) fn functions(&self) -> Vec<Function> {
        let mut found = Vec::new();
        for at in word_positions(&self.code, "fn") {
            let after = &self.code[at + 2..];
            let name: String = after
                .trim_start()
                .chars()
                .take_while(|c| is_word(*c))
                .collect();
            if name.is_empty() {
                continue; // a function type: fn(…)
            }
            if let Some(end) = body_end(after) {
                found.push(Function {
                    name,
                    line: 1 + newlines(&self.code[..at]),
                    lines: 1 + newlines(&after[..end]),
                });
            }
        }
        found
    }

    /// Lines, counted from 1, on which `words` stands in the code, not as a part of a longer word.
    pub(crate) fn lines_with(&self, words: &str) -> Vec<usize> {
        word_positions(&self.code, words)
            .into_iter()
            .map(|at| 1 + newlines(&self.code[..at]))
            .collect()
    }
}

fn newlines(text: &str) -> usize {
    text.bytes().filter(|byte| *byte == b'\n').count()
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

fn word_positions(code: &str, words: &str) -> Vec<usize> {
    code.match_indices(words)
        .filter(|(at, _)| {
            let before = code[..*at].chars().next_back();
            let after = code[at + words.len()..].chars().next();
            // `println!` ends in no word character, so nothing after it can lengthen it.
            let open_ended = words.ends_with(is_word) && after.is_some_and(is_word);
            !before.is_some_and(is_word) && !open_ended
        })
        .map(|(at, _)| at)
        .collect()
}

/// Byte after `fn` at which the body's closing brace stands; `None` for a declaration.
fn body_end(after: &str) -> Option<usize> {
    let (mut round, mut curly) = (0i32, 0i32);
    for (at, c) in after.char_indices() {
        match c {
            '(' | '[' => round += 1,
            ')' | ']' => round -= 1,
            ';' if round == 0 && curly == 0 => return None,
            '{' => curly += 1,
            '}' => {
                curly -= 1;
                if curly == 0 {
                    return Some(at);
                }
            }
            _ => {}
        }
    }
    None
}

struct Reader<'t> {
    rest: &'t str,
    line: usize,
    out: RustText,
}

impl<'t> Reader<'t> {
    fn step(&mut self, next: char) {
        if self.rest.starts_with("//") {
            let length = self.rest.find('\n').unwrap_or(self.rest.len());
            self.blank(length);
        } else if self.rest.starts_with("/*") {
            let length = block_comment(self.rest);
            self.blank(length);
        } else if let Some(start) = string_start(self.rest, &self.out.code) {
            self.string(&start);
        } else if next == '\'' {
            let length = character(self.rest);
            self.blank(length);
        } else {
            self.take(next.len_utf8());
        }
    }

    fn string(&mut self, start: &StringStart) {
        let body = &self.rest[start.open..];
        let close = format!("\"{}", "#".repeat(start.hashes));
        let length = if start.raw {
            body.find(&close).unwrap_or(body.len())
        } else {
            plain_string(body)
        };
        let whole = (start.open + length + close.len()).min(self.rest.len());
        self.out
            .strings
            .push((self.line, body[..length].to_owned()));
        self.blank(whole);
    }

    /// Moves text over as it is.
    fn take(&mut self, length: usize) {
        let (now, rest) = self.rest.split_at(length);
        self.line += newlines(now);
        self.out.code.push_str(now);
        self.rest = rest;
    }

    /// Moves text over as blanks.
    fn blank(&mut self, length: usize) {
        let (now, rest) = self.rest.split_at(length);
        self.line += newlines(now);
        let blanks = now.chars().map(|c| if c == '\n' { '\n' } else { ' ' });
        self.out.code.extend(blanks);
        self.rest = rest;
    }
}

/// Length of a comment that may hold others.
fn block_comment(text: &str) -> usize {
    let (mut depth, mut at) = (0usize, 0usize);
    while at < text.len() {
        let rest = &text[at..];
        if rest.starts_with("/*") {
            depth += 1;
            at += 2;
        } else if rest.starts_with("*/") {
            depth -= 1;
            at += 2;
            if depth == 0 {
                return at;
            }
        } else {
            at += rest.chars().next().map_or(1, char::len_utf8);
        }
    }
    text.len()
}

/// How a string literal begins.
struct StringStart {
    /// Bytes of prefix, hashes and quote.
    open: usize,
    hashes: usize,
    /// Whether a backslash is only a backslash in it.
    raw: bool,
}

/// The string literal that begins here, if one does.
fn string_start(text: &str, before: &str) -> Option<StringStart> {
    if text.starts_with('"') {
        return Some(StringStart {
            open: 1,
            hashes: 0,
            raw: false,
        });
    }
    if before.chars().next_back().is_some_and(is_word) {
        return None; // the r of a longer word
    }
    let prefix = ["br", "cr", "r", "b", "c"]
        .into_iter()
        .find(|prefix| text.starts_with(prefix))?;
    let after = &text[prefix.len()..];
    let hashes = after.bytes().take_while(|byte| *byte == b'#').count();
    let raw = prefix.ends_with('r');
    if !after[hashes..].starts_with('"') || (hashes > 0 && !raw) {
        return None;
    }
    Some(StringStart {
        open: prefix.len() + hashes + 1,
        hashes,
        raw,
    })
}

/// Bytes up to the closing quote of a string with escapes.
fn plain_string(body: &str) -> usize {
    let mut escaped = false;
    for (at, c) in body.char_indices() {
        match c {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            '"' => return at,
            _ => {}
        }
    }
    body.len()
}

/// Length of a character literal, or of the tick alone when it begins a lifetime.
fn character(text: &str) -> usize {
    let mut chars = text.char_indices().skip(1);
    match chars.next() {
        Some((_, '\\')) => {
            // The character after the backslash cannot close the literal.
            let close = text.char_indices().skip(3).find(|(_, c)| *c == '\'');
            close.map_or(text.len(), |(at, _)| at + 1)
        }
        Some(_) => match chars.next() {
            Some((at, '\'')) => at + 1,
            _ => 1,
        },
        None => 1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_and_literals_are_not_code() {
        let text = RustText::of(
            "let a = 'x'; // println!\n/* std::fs /* deep */ std::fs */ let b: &'a str = \"Instant\";\n",
        );
        assert_eq!(text.code.matches("let").count(), 2);
        assert!(!text.code.contains("println"));
        assert!(!text.code.contains("std::fs"));
        assert_eq!(text.strings, [(2, "Instant".to_owned())]);
    }

    #[test]
    fn raw_strings_end_at_their_own_hashes() {
        let text = RustText::of("x(r#\"a \" b\"#); y('\\'', '\"'); z(br\"\\\"); Instant");
        let strings: Vec<&str> = text.strings.iter().map(|(_, s)| s.as_str()).collect();
        assert_eq!(strings, ["a \" b", "\\"]);
        assert_eq!(text.lines_with("Instant"), [1]);
    }

    #[test]
    fn words_are_whole() {
        let text = RustText::of("MyInstant Instantly\nInstant::now() print!(1) eprint!(2)");
        assert_eq!(text.lines_with("Instant"), [2]);
        assert_eq!(text.lines_with("print!"), [2]);
    }

    #[test]
    fn functions_are_measured_to_their_closing_brace() {
        let text = RustText::of(
            "trait T { fn declared(a: [u8; 2]) -> u8; }\nfn f(g: fn(u8)) -> [u8; 2] {\n  // }\n  {}\n}\n",
        );
        let whole = Function {
            name: "f".to_owned(),
            line: 2,
            lines: 4,
        };
        assert_eq!(text.functions(), [whole]);
    }
}
