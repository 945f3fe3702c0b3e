//! Values as they are written: numbers, lengths, words, texts and ids.

use crate::codes::{
    BAD_ID, BAD_TEXT, Code, NEGATIVE, NOT_A_NUMBER, NOT_FINITE, NOT_WHOLE, OUT_OF_RANGE,
    UNKNOWN_CHOICE, UNKNOWN_UNIT,
};
use crate::fields::{Kind, Parse, Raw};
use crate::findings::{Problem, shown};
use crate::nearest::suggestion;
use units::{IdError, Length, ParseError, Seconds, parse_length};

/// A plain decimal number within bounds.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Number {
    least: f64,
    least_itself: bool,
    most: f64,
    unit: &'static str,
}

impl Number {
    /// From `least` to `most`, both allowed.
    pub(crate) const fn from(least: f64, most: f64, unit: &'static str) -> Number {
        Number {
            least,
            least_itself: true,
            most,
            unit,
        }
    }

    /// Above `least`, up to and including `most`.
    pub(crate) const fn above(least: f64, most: f64, unit: &'static str) -> Number {
        Number {
            least,
            least_itself: false,
            most,
            unit,
        }
    }

    fn range(&self) -> String {
        let above = if self.least_itself { "from" } else { "above" };
        let range = format!("{above} {} to {} {}", self.least, self.most, self.unit);
        range.trim_end().to_owned()
    }

    fn check(&self, value: f64, text: &str) -> Result<f64, Problem> {
        let low = if self.least_itself {
            value >= self.least
        } else {
            value > self.least
        };
        if low && value <= self.most {
            return Ok(value);
        }
        Err(Problem::new(
            range_code(value < 0.0 && self.least >= 0.0),
            shown(text),
            self.range(),
            "correct the number, or its unit",
        ))
    }
}

impl Parse for Number {
    type Out = f64;
    const KIND: Kind = Kind::Number;

    fn parse(&self, raw: &Raw) -> Result<f64, Problem> {
        let value = decimal(&raw.text, &self.range())?;
        self.check(value, &raw.text)
    }
}

/// A number of minutes, kept as whole seconds (rounded to the nearest).
#[derive(Clone, Copy, Debug)]
pub(crate) struct Minutes(pub(crate) f64);

impl Parse for Minutes {
    type Out = Seconds;
    const KIND: Kind = Kind::Number;

    #[allow(clippy::cast_possible_truncation)] // bounded by the range just checked
    fn parse(&self, raw: &Raw) -> Result<Seconds, Problem> {
        let minutes = Number::from(0.0, self.0, "minutes").parse(raw)?;
        Ok(Seconds((minutes * 60.0).round() as i64))
    }
}

/// A whole number within bounds.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Whole {
    pub(crate) least: u32,
    pub(crate) most: u32,
    pub(crate) unit: &'static str,
}

impl Parse for Whole {
    type Out = u32;
    const KIND: Kind = Kind::Number;

    fn parse(&self, raw: &Raw) -> Result<u32, Problem> {
        let range = Number::from(f64::from(self.least), f64::from(self.most), self.unit);
        let value = range.check(decimal(&raw.text, &range.range())?, &raw.text)?;
        if value.fract() != 0.0 {
            let expected = format!("a whole number {}", range.range());
            return Err(Problem::new(
                NOT_WHOLE,
                shown(&raw.text),
                expected,
                "round it",
            ));
        }
        // Exact: whole and within the bounds of `u32`.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        Ok(value as u32)
    }
}

/// A length within bounds.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LengthIn {
    least: Length,
    least_itself: bool,
    most: Length,
}

impl LengthIn {
    /// A size: above zero, up to so many millimetres.
    pub(crate) const fn above_zero(most_mm: i64) -> LengthIn {
        LengthIn {
            least: Length::ZERO,
            least_itself: false,
            most: Length::from_whole_mm(most_mm),
        }
    }

    /// From so many to so many millimetres, both allowed.
    pub(crate) const fn from(least_mm: i64, most_mm: i64) -> LengthIn {
        LengthIn {
            least: Length::from_whole_mm(least_mm),
            least_itself: true,
            most: Length::from_whole_mm(most_mm),
        }
    }

    fn range(&self) -> String {
        let above = if self.least_itself { "from" } else { "above" };
        format!("a length {above} {} to {} mm", self.least, self.most)
    }
}

impl Parse for LengthIn {
    type Out = Length;
    const KIND: Kind = Kind::NumberOrText;

    fn parse(&self, raw: &Raw) -> Result<Length, Problem> {
        let action = "write a number, with mm or in behind it where the unit is another";
        if not_finite(&raw.text) {
            return Err(Problem::new(
                NOT_FINITE,
                shown(&raw.text),
                self.range(),
                action,
            ));
        }
        let length = parse_length(&raw.text, raw.unit).map_err(|error| {
            let code = match error {
                ParseError::UnknownUnit(_) => UNKNOWN_UNIT,
                ParseError::OutOfRange => OUT_OF_RANGE,
                ParseError::Empty | ParseError::NotANumber | ParseError::ZeroDenominator => {
                    NOT_A_NUMBER
                }
            };
            let found = format!("{}: {error}", shown(&raw.text));
            Problem::new(code, found, self.range(), action)
        })?;
        let low = length > self.least || (self.least_itself && length == self.least);
        if low && length <= self.most {
            return Ok(length);
        }
        let code = range_code(length < Length::ZERO && self.least >= Length::ZERO);
        Err(Problem::new(
            code,
            shown(&raw.text),
            self.range(),
            "correct the length, or its unit",
        ))
    }
}

/// One of a few words.
pub(crate) struct Choice<T: 'static>(pub(crate) &'static [(&'static str, T)]);

impl<T: Copy> Parse for Choice<T> {
    type Out = T;
    const KIND: Kind = Kind::Text;

    fn parse(&self, raw: &Raw) -> Result<T, Problem> {
        if let Some((_, value)) = self.0.iter().find(|(word, _)| *word == raw.text) {
            return Ok(*value);
        }
        let words: Vec<&str> = self.0.iter().map(|(word, _)| *word).collect();
        let expected = format!("one of {}", words.join(", "));
        let action = suggestion(&raw.text, words, "write one of these words");
        Err(Problem::new(
            UNKNOWN_CHOICE,
            shown(&raw.text),
            expected,
            action,
        ))
    }
}

/// Yes or no; `true` or `false` in a settings file.
pub(crate) struct YesNo;

impl Parse for YesNo {
    type Out = bool;
    const KIND: Kind = Kind::Flag;

    fn parse(&self, raw: &Raw) -> Result<bool, Problem> {
        match raw.text.as_str() {
            "yes" | "true" => Ok(true),
            "no" | "false" => Ok(false),
            other => Err(Problem::new(
                UNKNOWN_CHOICE,
                shown(other),
                "yes or no",
                "write yes or no",
            )),
        }
    }
}

/// A text for people.
pub(crate) struct Text;

impl Parse for Text {
    type Out = String;
    const KIND: Kind = Kind::Text;

    fn parse(&self, raw: &Raw) -> Result<String, Problem> {
        const LONGEST: usize = 500;
        let length = raw.text.chars().count();
        let (found, action) = if length > LONGEST {
            (format!("{length} characters"), "shorten it")
        } else if raw.text.chars().any(char::is_control) {
            (
                format!("{} holds a control character", shown(&raw.text)),
                "take it out",
            )
        } else {
            return Ok(raw.text.clone());
        };
        let expected = format!("at most {LONGEST} characters on one line");
        Err(Problem::new(BAD_TEXT, found, expected, action))
    }
}

/// An id, made by its type's own check.
pub(crate) struct Id<T>(pub(crate) fn(&str) -> Result<T, IdError>);

impl<T> Parse for Id<T> {
    type Out = T;
    const KIND: Kind = Kind::Text;

    fn parse(&self, raw: &Raw) -> Result<T, Problem> {
        (self.0)(&raw.text).map_err(|error| bad_id(&raw.text, &error))
    }
}

/// Ids with spaces between them.
pub(crate) struct Ids<T>(pub(crate) fn(&str) -> Result<T, IdError>);

impl<T> Parse for Ids<T> {
    type Out = Vec<T>;
    const KIND: Kind = Kind::Text;

    fn parse(&self, raw: &Raw) -> Result<Vec<T>, Problem> {
        let make = |text: &str| (self.0)(text).map_err(|error| bad_id(text, &error));
        raw.text.split_whitespace().map(make).collect()
    }
}

fn bad_id(text: &str, error: &IdError) -> Problem {
    let expected = "1 to 64 letters, digits or - _ . / + # :";
    Problem::new(
        BAD_ID,
        format!("{}: {error}", shown(text)),
        expected,
        "write another id",
    )
}

fn range_code(negative: bool) -> Code {
    if negative { NEGATIVE } else { OUT_OF_RANGE }
}

fn not_finite(text: &str) -> bool {
    let bare = text.trim_start_matches(['+', '-']).to_lowercase();
    matches!(bare.as_str(), "nan" | "inf" | "infinity")
}

/// A plain decimal number: no exponent, no thousands mark, a full stop before decimals.
pub(crate) fn decimal(text: &str, expected: &str) -> Result<f64, Problem> {
    if not_finite(text) {
        return Err(Problem::new(
            NOT_FINITE,
            shown(text),
            expected,
            "write a plain number",
        ));
    }
    let unsigned = text.strip_prefix(['-', '+']).unwrap_or(text);
    let (whole, fraction) = unsigned.split_once('.').unwrap_or((unsigned, "0"));
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let plain = digits(whole) && digits(fraction) && unsigned.len() <= 40;
    match text.parse::<f64>() {
        Ok(value) if plain && value.is_finite() => Ok(value),
        _ => {
            let action = if text.contains(',') {
                "write decimals with a full stop and no thousands mark, such as 1250.5"
            } else {
                "write a plain number such as 12.5"
            };
            Err(Problem::new(NOT_A_NUMBER, shown(text), expected, action))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use units::LengthUnit;

    fn raw(text: &str) -> Raw {
        Raw {
            text: text.to_owned(),
            unit: LengthUnit::Millimetre,
        }
    }

    #[test]
    fn numbers_are_plain_and_bounded() {
        let number = Number::above(0.0, 100.0, "kN");
        for (text, code) in [
            ("", "D202"),
            ("x", "D202"),
            ("1e1", "D202"),
            ("1,5", "D202"),
            (".5", "D202"),
            ("--1", "D202"),
            ("NaN", "D203"),
            ("-inf", "D203"),
            ("-1", "D204"),
            ("0", "D205"),
            ("100.01", "D205"),
        ] {
            assert_eq!(
                number.parse(&raw(text)).map_err(|p| p.code.code),
                Err(code),
                "{text}"
            );
        }
        assert_eq!(number.parse(&raw("0.1")).map_err(|p| p.code.code), Ok(0.1));
    }

    #[test]
    fn whole_numbers_are_whole() {
        let whole = Whole {
            least: 1,
            most: 1_000,
            unit: "pieces",
        };
        for (text, code) in [
            ("0", "D205"),
            ("-3", "D204"),
            ("1.5", "D217"),
            ("1001", "D205"),
        ] {
            assert_eq!(
                whole.parse(&raw(text)).map_err(|p| p.code.code),
                Err(code),
                "{text}"
            );
        }
        assert_eq!(whole.parse(&raw("100")).map_err(|p| p.code.code), Ok(100));
        assert_eq!(whole.parse(&raw("100.0")).map_err(|p| p.code.code), Ok(100));
    }

    #[test]
    fn minutes_become_whole_seconds() {
        let minutes = Minutes(600.0);
        assert_eq!(
            minutes.parse(&raw("0.35")).map_err(|p| p.code.code),
            Ok(Seconds(21))
        );
        assert_eq!(
            minutes.parse(&raw("601")).map_err(|p| p.code.code),
            Err("D205")
        );
    }

    #[test]
    fn lengths_say_what_is_wrong() {
        let length = LengthIn::above_zero(1_000);
        for (text, code) in [
            ("nan", "D203"),
            ("inf", "D203"),
            ("12 ft", "D206"),
            ("1/0 in", "D202"),
            ("-3", "D204"),
            ("0", "D205"),
            ("1000.000001", "D205"),
            ("99999999", "D205"),
        ] {
            assert_eq!(
                length.parse(&raw(text)).map_err(|p| p.code.code),
                Err(code),
                "{text}"
            );
        }
        let inch = length.parse(&raw("3/8\"")).map_err(|p| p.code.code);
        assert_eq!(inch, Ok(Length::from_nanometres(9_525_000)));
    }
}
