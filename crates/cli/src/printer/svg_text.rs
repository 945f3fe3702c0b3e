//! Text in pictures: how wide it is at most, shortened to a width, escaped.

/// Most of a letter's width in hundredths of the font size, for the wide sans-serif fonts a picture
/// may be shown in; a narrower font only leaves more blank.
fn width_of(letter: char) -> u32 {
    match letter {
        ' ' | '.' | ',' | ':' | ';' | '\'' | '|' | 'i' | 'j' | 'l' | 'I' | '·' => 40,
        'f' | 'r' | 't' | '(' | ')' | '-' | '/' => 48,
        'm' | 'w' | 'M' | 'W' | '@' | '%' | '…' => 105,
        '0'..='9' | 'a'..='z' => 66,
        'A'..='Z' | '&' | '<' | '>' | '+' | '=' => 86,
        '!'..='~' => 70,
        // Letters of other scripts, some of them square, and those no font may have.
        _ => 110,
    }
}

/// At most so wide, in the unit of `size`.
pub(crate) fn width(text: &str, size: f64, bold: bool) -> f64 {
    let hundredths: u32 = text.chars().map(width_of).sum();
    let heavier = if bold { 1.1 } else { 1.0 };
    f64::from(hundredths) / 100.0 * size * heavier
}

/// The text, or as much of it as a width takes with … after it.
pub(crate) fn fitted(text: &str, most: f64, size: f64, bold: bool) -> String {
    if width(text, size, bold) <= most {
        return text.to_owned();
    }
    let room = most - width("…", size, bold);
    let mut kept = String::new();
    for letter in text.chars() {
        kept.push(letter);
        if width(&kept, size, bold) > room {
            kept.pop();
            break;
        }
    }
    format!("{}…", kept.trim_end())
}

/// As XML takes it, in text and in attributes.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // These have no place in XML, whichever way they are written.
            other if other.is_control() || matches!(other, '\u{fffe}' | '\u{ffff}') => {
                out.push(' ');
            }
            plain => out.push(plain),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_text_is_shortened_to_the_width_and_short_text_is_not() {
        let long = "a part number that somebody made far too long";
        for most in [20.0, 60.0, 133.0] {
            let short = fitted(long, most, 12.0, true);
            assert!(
                short.ends_with('…') && width(&short, 12.0, true) <= most,
                "{short}"
            );
        }
        assert_eq!(fitted("BR-101", 100.0, 12.0, true), "BR-101");
    }

    #[test]
    fn what_would_be_markup_is_text() {
        assert_eq!(
            escaped("<b a=\"'&\u{1b}\">"),
            "&lt;b a=&quot;&#39;&amp; &quot;&gt;"
        );
    }
}
