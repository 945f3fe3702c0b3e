//! Every finding's code: stable, with its one-line meaning. All of them are errors.

use units::{Finding, Place, Severity};

/// A kind of finding.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Code {
    /// Stable code such as `G204`.
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

        /// The catalogue: G1xx the file, G2xx units, layers and outline, G3xx bends, G4xx the mapping
        /// of layers.
        pub const CODES: &[Code] = &[$($name),*];
    };
}

codes! {
    NOT_TEXT "G101" "A drawing is no text: binary, packed, or of another kind.";
    TOO_LARGE "G102" "A drawing is larger than 16 MiB; it is not read at all.";
    NOT_UTF8 "G103" "A drawing is not UTF-8 text.";
    NO_GROUPS "G104" "A drawing is not made of group codes and values.";
    NO_END "G105" "A drawing ends before its end mark.";
    TOO_MUCH "G106" "A drawing holds more than is read.";
    BAD_NUMBER "G107" "A number of a drawing is missing, none, not finite or far out of range.";
    BAD_BLOCK "G108" "A block is not there, is there twice, or is inserted in a way that is not read.";

    NO_UNIT "G201" "A drawing does not say its unit, or names one that is not read.";
    WRONG_SIZE "G202" "A blank is larger than 20 m or smaller than 5 mm.";
    UNKNOWN_LAYER "G203" "Something is drawn on a layer that the mapping does not name.";
    UNKNOWN_KIND "G204" "Something on a layer of the outline or of bends is of a kind that is not read there.";
    NOT_FLAT "G205" "Something of a flat pattern does not lie in its plane.";
    OPEN_OUTLINE "G206" "An outline has an open end.";
    FORKED_OUTLINE "G207" "More than two ends of an outline meet, or it is drawn twice.";
    NO_OUTLINE "G208" "Nothing is drawn on the layers of the outline.";
    SECOND_PART "G209" "A drawing holds more than one part.";

    NO_BENDS "G301" "Nothing is drawn on the layers of bends.";
    ASKEW "G302" "A bend line is neither along nor across the others.";
    NOT_EDGE_TO_EDGE "G303" "A bend line does not run from edge to edge.";
    OFF_THE_SHEET "G304" "A bend line lies outside the sheet.";
    SHARED_LINE "G305" "Bends of different layers lie on one line.";
    CROSSED "G306" "Two bend lines cross.";
    NOT_SAID "G307" "A bend's angle or inside radius is not said, or cannot be.";
    TOO_NEAR "G308" "Bends lie so near each other or an edge that nothing flat is left between.";
    TOO_MANY_BENDS "G309" "A part has more than 99 bends.";

    BAD_MAPPING "G401" "The mapping of layers cannot be read.";
    LAYER_TWICE "G402" "The mapping names a layer twice.";
}

/// More findings than this are not kept.
const MOST: usize = 50;

/// Findings about one file.
pub(crate) struct Out {
    file: String,
    findings: Vec<Finding>,
}

impl Out {
    pub(crate) fn new(file: &str) -> Out {
        Out {
            file: file.to_owned(),
            findings: Vec::new(),
        }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.findings.is_empty()
    }

    /// Adds an error. `line` is zero when no line is meant, `layer` empty when no layer is.
    pub(crate) fn add(
        &mut self,
        code: Code,
        (line, layer): (u64, &str),
        found: impl Into<String>,
        expected: &str,
        action: &str,
    ) {
        if self.findings.len() >= MOST {
            return;
        }
        self.findings.push(Finding {
            code: code.code,
            severity: Severity::Error,
            place: Place {
                file: self.file.clone(),
                line: (line > 0).then_some(line),
                field: (!layer.is_empty()).then(|| shown(layer)),
            },
            found: found.into(),
            expected: expected.to_owned(),
            action: action.to_owned(),
        });
    }

    pub(crate) fn finish(self) -> Vec<Finding> {
        self.findings
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

/// A coordinate or length as people read it.
pub(crate) fn mm(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0" } else { text }.to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_there_once_and_rise() {
        assert!(CODES.windows(2).all(|two| two[0].code < two[1].code));
    }

    #[test]
    fn text_of_a_file_steers_nothing() {
        assert_eq!(shown("a\u{1b}[2Jb"), "a\u{fffd}[2Jb");
        assert_eq!(shown(&"x".repeat(100)).chars().count(), 61);
        assert_eq!(mm(-0.001), "0");
        assert_eq!(mm(12.5), "12.5");
    }
}
