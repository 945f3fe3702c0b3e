//! The form of the file: pairs of lines, a group code and a value.

use crate::LARGEST_FILE;
use crate::codes::{NO_GROUPS, NOT_TEXT, NOT_UTF8, Out, TOO_LARGE, shown};

/// A group code with its value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Group<'a> {
    pub(crate) code: i32,
    pub(crate) value: &'a str,
    /// Line of the value, from 1.
    pub(crate) line: u64,
}

/// The file as text, or a finding.
pub(crate) fn text_of<'a>(bytes: &'a [u8], out: &mut Out) -> Option<&'a str> {
    if bytes.len() > LARGEST_FILE {
        let found = format!("{} bytes", bytes.len());
        let action = "leave out what is not the flat pattern";
        out.add(TOO_LARGE, (0, ""), found, "at most 16 MiB", action);
        return None;
    }
    if bytes.contains(&0) || bytes.starts_with(b"PK\x03\x04") {
        out.add(
            NOT_TEXT,
            (0, ""),
            "bytes that are no text",
            "an ASCII DXF file",
            "save the drawing as ASCII DXF, not binary and not packed",
        );
        return None;
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Some(text.trim_start_matches('\u{feff}')),
        Err(error) => {
            let before = bytes.get(..error.valid_up_to()).unwrap_or_default();
            let line = 1 + before
                .iter()
                .map(|byte| u64::from(*byte == b'\n'))
                .sum::<u64>();
            out.add(
                NOT_UTF8,
                (line, ""),
                "bytes that are not UTF-8",
                "text in UTF-8",
                "save the drawing in a version of 2007 or later, or give layers and texts plain names",
            );
            None
        }
    }
}

/// The groups one after the other; comments are left out. After an error there are no more.
pub(crate) struct Groups<'a> {
    lines: std::str::Lines<'a>,
    line: u64,
    broken: bool,
}

impl<'a> Groups<'a> {
    pub(crate) fn of(text: &'a str) -> Groups<'a> {
        Groups {
            lines: text.lines(),
            line: 0,
            broken: false,
        }
    }

    /// Lines read so far.
    pub(crate) fn line(&self) -> u64 {
        self.line
    }

    pub(crate) fn next(&mut self, out: &mut Out) -> Option<Group<'a>> {
        loop {
            let group = self.pair(out)?;
            if group.code != 999 {
                return Some(group);
            }
        }
    }

    fn pair(&mut self, out: &mut Out) -> Option<Group<'a>> {
        if self.broken {
            return None;
        }
        let first = self.lines.next()?;
        self.line += 1;
        let code = first.trim();
        if code.is_empty() && self.lines.clone().all(|line| line.trim().is_empty()) {
            // Blank lines at the end of the file.
            self.broken = true;
            return None;
        }
        let number = code.parse().ok().filter(|code| (-5..=1071).contains(code));
        let Some(number) = number else {
            self.broken = true;
            let found = format!("\"{}\"", shown(code));
            let action = "give an ASCII DXF file, as it was saved";
            let expected = "a group code and, on the next line, its value";
            out.add(NO_GROUPS, (self.line, ""), found, expected, action);
            return None;
        };
        // A code without a value: the file is cut off, which whoever asks says.
        let value = self.lines.next()?;
        self.line += 1;
        Some(Group {
            code: number,
            value: value.trim(),
            line: self.line,
        })
    }

    /// Whether the form was broken.
    pub(crate) fn is_broken(&self) -> bool {
        self.broken
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pairs_are_read_with_their_lines_and_comments_left_out() {
        let mut out = Out::new("x");
        let mut groups = Groups::of("  0\r\nSECTION\r\n999\r\nwords\r\n 10\r\n 1.5 \r\n\n");
        let first = groups.next(&mut out).unwrap();
        assert_eq!((first.code, first.value, first.line), (0, "SECTION", 2));
        let second = groups.next(&mut out).unwrap();
        assert_eq!((second.code, second.value, second.line), (10, "1.5", 6));
        assert!(groups.next(&mut out).is_none() && out.is_empty());
    }

    #[test]
    fn what_is_no_pair_is_refused_once() {
        let mut out = Out::new("x");
        let mut groups = Groups::of("order,part\nW-1,P\n");
        assert!(groups.next(&mut out).is_none());
        assert!(groups.next(&mut out).is_none());
        assert_eq!(out.finish().len(), 1);
    }
}
