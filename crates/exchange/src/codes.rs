//! Every finding's code: stable, with its one-line meaning. All of them are errors.

use units::{Finding, Place, Severity};

/// A kind of finding.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Code {
    /// Stable code such as `E104`.
    pub code: &'static str,
    /// What it means, in one line.
    pub meaning: &'static str,
}

macro_rules! codes {
    ($($name:ident $code:literal $meaning:literal;)*) => {
        $(
            #[doc = $meaning]
            pub(crate) const $name: Code = Code { code: $code, meaning: $meaning };
        )*

        /// The catalogue: E1xx calendars, E2xx tables.
        pub const CODES: &[Code] = &[$($name),*];
    };
}

codes! {
    NO_CALENDAR "E101" "A file is no iCalendar in UTF-8 of at most 4 MiB.";
    BROKEN_CALENDAR "E102" "A line of a calendar is none, or parts of it are not closed.";
    BAD_DATE "E103" "A date, a rule or a duration of a calendar cannot be read.";
    TOO_MANY_DAYS "E104" "A calendar holds more than is read.";

    NO_WORKBOOK "E201" "A file is no workbook of Office Open XML, or has no such sheet.";
    TOO_LARGE "E202" "A workbook is larger than is read, packed or unpacked.";
    FORMULA "E203" "A cell of a workbook holds a formula; its result is not believed.";
    BAD_CELL "E204" "A cell of a workbook holds an error, a duration, seconds or a line break.";
}

/// An error with its place; `line` is zero when none is meant.
pub(crate) fn error(
    code: Code,
    (file, line): (&str, u64),
    found: impl Into<String>,
    expected: &str,
    action: &str,
) -> Finding {
    Finding {
        code: code.code,
        severity: Severity::Error,
        place: Place {
            file: file.to_owned(),
            line: (line > 0).then_some(line),
            field: None,
        },
        found: found.into(),
        expected: expected.to_owned(),
        action: action.to_owned(),
    }
}

/// Text from a file, short and without anything that steers a terminal.
pub(crate) fn shown(text: &str) -> String {
    const LONGEST: usize = 60;
    let mut shown: String = text
        .chars()
        .take(LONGEST)
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect();
    if text.chars().nth(LONGEST).is_some() {
        shown.push('…');
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_there_once_and_rise() {
        assert!(CODES.windows(2).all(|two| two[0].code < two[1].code));
    }
}
