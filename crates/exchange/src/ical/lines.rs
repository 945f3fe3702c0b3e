//! Content lines: folded at 75 octets, text escaped (RFC 5545, 3.1 and 3.3.11).

/// Octets of a line without its end.
const LONGEST: usize = 75;

/// Adds a line with its end, folded between letters.
pub(super) fn push(out: &mut String, name: &str, value: &str) {
    let mut used = 0;
    for letter in name.chars().chain([':']).chain(value.chars()) {
        if used + letter.len_utf8() > LONGEST {
            out.push_str("\r\n ");
            used = 1;
        }
        out.push(letter);
        used += letter.len_utf8();
    }
    out.push_str("\r\n");
}

/// Text as a value: backslash, semicolon, comma and line breaks escaped, other control characters
/// left out, as the form has no place for them.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::new();
    for letter in text.chars() {
        match letter {
            '\\' | ';' | ',' => {
                out.push('\\');
                out.push(letter);
            }
            '\n' => out.push_str("\\n"),
            letter if letter.is_control() => {}
            letter => out.push(letter),
        }
    }
    out
}

/// The text of a value.
pub(super) fn plain(value: &str) -> String {
    let mut out = String::new();
    let mut letters = value.chars();
    while let Some(letter) = letters.next() {
        match letter {
            '\\' => match letters.next() {
                Some('n' | 'N') => out.push(' '),
                Some(other) => out.push(other),
                None => {}
            },
            letter if letter.is_control() => out.push(' '),
            letter => out.push(letter),
        }
    }
    out.trim().to_owned()
}

/// A line, unfolded: name and parameters in upper case, value, and where it begins.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Line {
    pub(super) name: String,
    pub(super) parameters: Vec<(String, String)>,
    pub(super) value: String,
    pub(super) number: u64,
}

impl Line {
    pub(super) fn parameter(&self, name: &str) -> Option<&str> {
        let of = |(known, _): &&(String, String)| known == name;
        self.parameters
            .iter()
            .find(of)
            .map(|(_, value)| value.as_str())
    }
}

/// The lines of a text, or the number of one that is none.
pub(super) fn unfolded(text: &str) -> Result<Vec<Line>, u64> {
    let mut joined: Vec<(u64, String)> = Vec::new();
    for (at, line) in text.split('\n').enumerate() {
        let number = at as u64 + 1;
        let line = line.strip_suffix('\r').unwrap_or(line);
        match (line.strip_prefix([' ', '\t']), joined.last_mut()) {
            (Some(rest), Some((_, before))) => before.push_str(rest),
            (Some(_), None) => return Err(number),
            (None, _) if line.is_empty() => {}
            (None, _) => joined.push((number, line.to_owned())),
        }
    }
    joined
        .into_iter()
        .map(|(number, line)| parsed(&line, number).ok_or(number))
        .collect()
}

/// `NAME;PARAMETER=value;PARAMETER="value":value`.
fn parsed(line: &str, number: u64) -> Option<Line> {
    let mut quoted = false;
    let mut pieces = vec![String::new()];
    let mut letters = line.char_indices();
    let value = loop {
        let (at, letter) = letters.next()?;
        match letter {
            '"' => quoted = !quoted,
            ':' if !quoted => break line.get(at + 1..)?.to_owned(),
            ';' if !quoted => pieces.push(String::new()),
            letter => pieces.last_mut()?.push(letter),
        }
    };
    let mut pieces = pieces.into_iter();
    let name = pieces.next()?.to_ascii_uppercase();
    let known = |letter: char| letter.is_ascii_alphanumeric() || letter == '-';
    if name.is_empty() || !name.chars().all(known) {
        return None;
    }
    let parameters = pieces.map(|piece| {
        let (name, value) = piece.split_once('=')?;
        Some((name.to_ascii_uppercase(), value.to_owned()))
    });
    Some(Line {
        name,
        parameters: parameters.collect::<Option<_>>()?,
        value,
        number,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lines_are_folded_between_letters_and_come_back() {
        let text = "ä,b;c\\d\n".repeat(40);
        let mut out = String::new();
        push(&mut out, "SUMMARY", &escaped(&text));
        assert!(out.split("\r\n").all(|line| line.len() <= 75));
        assert!(out.lines().count() > 3);
        let lines = unfolded(&out).unwrap();
        assert_eq!(lines.len(), 1);
        assert_eq!(plain(&lines[0].value), text.replace('\n', " ").trim());
    }

    #[test]
    fn parameters_are_read_also_when_quoted() {
        let lines = unfolded("dtstart;value=DATE;X-A=\"a;b:c\":20270101\n").unwrap();
        assert_eq!(lines[0].name, "DTSTART");
        assert_eq!(lines[0].parameter("VALUE"), Some("DATE"));
        assert_eq!(lines[0].parameter("X-A"), Some("a;b:c"));
        assert_eq!(lines[0].value, "20270101");
        assert_eq!(unfolded("BEGIN:VCALENDAR\nno colon"), Err(2));
        assert_eq!(unfolded(" folded onto nothing"), Err(1));
    }
}
