//! The two faces that come with the program, how wide text is in them, and text made harmless.

use crate::PaperError;
use ttf_parser::Face;
use unicode_normalization::UnicodeNormalization;

/// DejaVu Sans Condensed 2.37; its licence lies beside it.
const PLAIN: &[u8] = include_bytes!("../fonts/DejaVuSansCondensed.ttf");
const BOLD: &[u8] = include_bytes!("../fonts/DejaVuSansCondensed-Bold.ttf");

/// Stands for what no face has.
pub(crate) const REPLACEMENT: char = '\u{fffd}';

/// Which face.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Weight {
    /// Running text.
    Plain,
    /// What must be found at a glance.
    Bold,
}

impl Weight {
    /// Both, in the order in which they are written.
    pub(crate) const BOTH: [Weight; 2] = [Weight::Plain, Weight::Bold];

    /// The font file.
    pub(crate) fn bytes(self) -> &'static [u8] {
        match self {
            Weight::Plain => PLAIN,
            Weight::Bold => BOLD,
        }
    }
}

/// Both faces, read.
pub(crate) struct Faces {
    plain: Face<'static>,
    bold: Face<'static>,
}

impl Faces {
    /// Reads them.
    pub(crate) fn new() -> Result<Faces, PaperError> {
        let face = |weight: Weight| {
            Face::parse(weight.bytes(), 0).map_err(|error| PaperError::Font(error.to_string()))
        };
        Ok(Faces {
            plain: face(Weight::Plain)?,
            bold: face(Weight::Bold)?,
        })
    }

    pub(crate) fn of(&self, weight: Weight) -> &Face<'static> {
        match weight {
            Weight::Plain => &self.plain,
            Weight::Bold => &self.bold,
        }
    }

    /// The glyph of a character, or that of [`REPLACEMENT`], with the character it then shows.
    pub(crate) fn glyph(&self, weight: Weight, letter: char) -> (u16, char) {
        let face = self.of(weight);
        let known = |letter: char| {
            let glyph = face.glyph_index(letter)?;
            (glyph.0 != 0).then_some((glyph.0, letter))
        };
        known(letter)
            .or_else(|| known(REPLACEMENT))
            .unwrap_or((0, REPLACEMENT))
    }

    /// Advance of a glyph in thousandths of the size.
    pub(crate) fn advance(&self, weight: Weight, glyph: u16) -> f64 {
        let face = self.of(weight);
        let units = face.glyph_hor_advance(ttf_parser::GlyphId(glyph));
        f64::from(units.unwrap_or(0)) * 1_000.0 / f64::from(face.units_per_em())
    }

    /// Width of a text in points.
    pub(crate) fn width(&self, text: &str, size: f64, weight: Weight) -> f64 {
        let glyphs = text.chars().map(|letter| self.glyph(weight, letter).0);
        let thousandths: f64 = glyphs.map(|glyph| self.advance(weight, glyph)).sum();
        thousandths / 1_000.0 * size
    }
}

/// Text as it may stand on paper: composed (NFC), line breaks and tabs as spaces, and everything
/// that would steer a reader instead of being read (controls, marks of direction, private use)
/// replaced. Right-to-left scripts are replaced too: nothing here could set them in their order.
pub(crate) fn harmless(text: &str) -> String {
    let tame = |letter: char| match letter {
        '\n' | '\r' | '\t' => ' ',
        steering if steers(steering) || runs_leftward(steering) => REPLACEMENT,
        plain => plain,
    };
    text.nfc().map(tame).collect()
}

fn steers(letter: char) -> bool {
    letter.is_control()
        || matches!(letter,
            '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff0}'..='\u{fffb}'
            | '\u{e000}'..='\u{f8ff}' | '\u{e0000}'..='\u{10ffff}')
}

fn runs_leftward(letter: char) -> bool {
    matches!(letter, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{fefe}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_with_marks_have_glyphs_in_both_faces() {
        let faces = Faces::new().unwrap();
        for letter in "äöüßéñçøåæœłőžşğİčŠĐțÁΩЖ°·×–…←→".chars() {
            for weight in Weight::BOTH {
                assert_eq!(faces.glyph(weight, letter).1, letter, "{letter}");
            }
        }
    }

    #[test]
    fn what_no_face_has_is_shown_as_such() {
        let faces = Faces::new().unwrap();
        for weight in Weight::BOTH {
            let (glyph, shown) = faces.glyph(weight, '中');
            assert_eq!(shown, REPLACEMENT);
            assert_ne!(glyph, 0);
        }
    }

    #[test]
    fn what_would_steer_is_replaced_and_marks_are_composed() {
        assert_eq!(harmless("a\u{1b}[2J\u{202e}b"), "a\u{fffd}[2J\u{fffd}b");
        assert_eq!(harmless("one\r\n\ttwo"), "one   two");
        assert_eq!(harmless("e\u{301}"), "é");
        assert_eq!(harmless("(a) \\ <</JS>>"), "(a) \\ <</JS>>");
        assert_eq!(harmless("\u{5d0}"), "\u{fffd}");
    }

    #[test]
    fn digits_are_of_one_width() {
        let faces = Faces::new().unwrap();
        for weight in Weight::BOTH {
            let one = faces.width("1", 10.0, weight);
            assert!(one > 4.0);
            for digit in "0234567890".chars() {
                let width = faces.width(&digit.to_string(), 10.0, weight);
                assert!((width - one).abs() < 1e-9);
            }
        }
    }
}
