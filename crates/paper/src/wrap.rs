//! Text broken into lines.

use crate::doc::{Doc, Type};
use crate::face::harmless;

/// After these a long word may be broken.
const BREAKS: [char; 6] = ['-', '/', '_', '.', '+', ':'];

/// Lines of at most `most` points; words are kept whole where they fit, and long ones broken after a
/// hyphen or the like, else anywhere. One empty line for no text.
pub(crate) fn wrapped(doc: &Doc, text: &str, style: Type, most: f64) -> Vec<String> {
    let text = harmless(text);
    let mut lines = Vec::new();
    let mut line = String::new();
    let mut filled = 0.0;
    let space = doc.width(" ", style);
    for word in text.split_whitespace() {
        let width = doc.width(word, style);
        if !line.is_empty() && filled + space + width > most {
            lines.push(std::mem::take(&mut line));
            filled = 0.0;
        }
        if !line.is_empty() {
            line.push(' ');
            filled += space;
        }
        if width <= most {
            line.push_str(word);
            filled += width;
            continue;
        }
        let mut pieces = broken(doc, word, style, most);
        let last = pieces.pop().unwrap_or_default();
        lines.extend(pieces);
        filled = doc.width(&last, style);
        line = last;
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// A word too long for a line, in pieces that fit; a piece has one letter at least.
fn broken(doc: &Doc, word: &str, style: Type, most: f64) -> Vec<String> {
    let mut pieces = Vec::new();
    let mut piece = String::new();
    let mut filled = 0.0;
    for letter in word.chars() {
        let width = doc.width(letter.encode_utf8(&mut [0; 4]), style);
        if !piece.is_empty() && filled + width > most {
            let cut = piece.rfind(BREAKS).map_or(piece.len(), |at| at + 1);
            // A break near the start would leave a stub of a line.
            let cut = if cut * 2 < piece.len() {
                piece.len()
            } else {
                cut
            };
            let rest = piece.split_off(cut);
            pieces.push(std::mem::replace(&mut piece, rest));
            filled = doc.width(&piece, style);
        }
        piece.push(letter);
        filled += width;
    }
    pieces.push(piece);
    pieces
}

/// The first lines of a text, the last of them ending in … where there would be more.
pub(crate) fn at_most(doc: &Doc, text: &str, style: Type, most: f64, count: usize) -> Vec<String> {
    let mut lines = wrapped(doc, text, style, most);
    if lines.len() > count {
        lines.truncate(count);
        if let Some(last) = lines.last_mut() {
            while !last.is_empty() && doc.width(last, style) + doc.width("…", style) > most {
                last.pop();
            }
            last.push('…');
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    const STYLE: Type = Type::plain(10.0);

    #[test]
    fn no_line_is_wider_than_asked_and_nothing_is_lost() {
        let doc = Doc::new((600.0, 800.0), "").unwrap();
        let text = "put on GN88-R1-120 with its left end at 0 mm: Verylongwordwithoutanyplacetobreakit \
                    P1/aaa-bbb-ccc-ddd-eee-fff-ggg-hhh-iii";
        for most in [30.0, 60.0, 200.0, 1_000.0] {
            let lines = wrapped(&doc, text, STYLE, most);
            assert!(
                lines.iter().all(|line| doc.width(line, STYLE) <= most),
                "{lines:?}"
            );
            let squeeze = |text: &str| text.replace(' ', "");
            assert_eq!(squeeze(&lines.concat()), squeeze(text));
        }
    }

    #[test]
    fn too_many_lines_end_in_an_ellipsis() {
        let doc = Doc::new((600.0, 800.0), "").unwrap();
        let text = "one two three four five six seven eight nine ten";
        let lines = at_most(&doc, text, STYLE, 60.0, 2);
        assert_eq!(lines.len(), 2);
        assert!(
            lines[1].ends_with('…') && doc.width(&lines[1], STYLE) <= 60.0,
            "{lines:?}"
        );
        assert_eq!(at_most(&doc, "one", STYLE, 60.0, 2), ["one"]);
    }

    #[test]
    fn nothing_is_one_empty_line() {
        let doc = Doc::new((600.0, 800.0), "").unwrap();
        assert_eq!(wrapped(&doc, "", STYLE, 60.0), [""]);
    }
}
