//! From a file's bytes to text: size, encoding, emptiness.

use crate::codes::{EMPTY_FILE, FILE_TOO_LARGE, NOT_UTF8};
use crate::findings::{Findings, Problem};
use units::Place;

/// The file's text, without a byte order mark; nothing, with a finding, when it is not fit to read or
/// has more than `largest` bytes.
pub(crate) fn text_of<'a>(
    file: &str,
    bytes: &'a [u8],
    largest: usize,
    out: &mut Findings,
) -> Option<&'a str> {
    let place = |line| Place {
        file: file.to_owned(),
        line,
        field: None,
    };
    if bytes.len() > largest {
        let found = format!("{} bytes", bytes.len());
        let expected = format!("at most {} MiB", largest >> 20);
        let action = "split the shop's data, or take old rows out";
        out.add(
            place(None),
            Problem::new(FILE_TOO_LARGE, found, expected, action),
        );
        return None;
    }
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text.strip_prefix('\u{feff}').unwrap_or(text),
        Err(error) => {
            let good = bytes.get(..error.valid_up_to()).unwrap_or_default();
            let line = 1 + good.iter().filter(|byte| **byte == b'\n').count();
            let found = if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
                "the file is UTF-16".to_owned()
            } else {
                format!("byte {} of the file is not UTF-8", error.valid_up_to() + 1)
            };
            let action = "save the file as UTF-8";
            let problem = Problem::new(NOT_UTF8, found, "UTF-8 text", action);
            out.add(place(u64::try_from(line).ok()), problem);
            return None;
        }
    };
    if text.trim().is_empty() {
        let action = "write the file as docs/reference/shop-files.md describes";
        out.add(
            place(None),
            Problem::new(EMPTY_FILE, "the file is empty", "some content", action),
        );
        return None;
    }
    Some(text)
}
