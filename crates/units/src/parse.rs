//! Reading lengths as people write them: `12.5`, `12.5 mm`, `0.5in`, `3/8 in`, `1-1/4"`.

use crate::Length;
use std::fmt;

/// The unit of a length that carries no suffix of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LengthUnit {
    /// Millimetre.
    Millimetre,
    /// International inch, exactly 25.4 mm.
    Inch,
}

/// Why a text is not a length.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ParseError {
    /// Nothing there.
    Empty,
    /// Not a decimal number or fraction; exponents, NaN and infinities land here on purpose.
    NotANumber,
    /// A suffix other than mm, in, inch or ".
    UnknownUnit(String),
    /// A fraction with denominator zero.
    ZeroDenominator,
    /// More digits than a length on a shop floor can have, or beyond 100 m.
    OutOfRange,
}

impl fmt::Display for ParseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ParseError::Empty => write!(f, "nothing written"),
            ParseError::NotANumber => {
                write!(f, "not a decimal number or a fraction such as 3/8 in")
            }
            ParseError::UnknownUnit(unit) => {
                write!(f, "unknown unit {unit:?}, expected mm, in or inch")
            }
            ParseError::ZeroDenominator => write!(f, "a fraction over zero"),
            ParseError::OutOfRange => write!(f, "beyond 100 m"),
        }
    }
}

impl std::error::Error for ParseError {}

const NM_PER_MM: i128 = 1_000_000;
const NM_PER_INCH: i128 = 25_400_000;
const LIMIT_NM: i128 = 100_000 * NM_PER_MM;

/// Reads a length. A suffix wins over `default`; spaces before it are allowed.
///
/// Exact to the nanometre; a finer value (a decimal inch such as 0.00001 in) rounds to the nearest
/// nanometre, half away from zero.
///
/// # Errors
/// [`ParseError`] says what is wrong; nothing is guessed.
///
/// ```
/// use units::{parse_length, Length, LengthUnit};
/// let mm = LengthUnit::Millimetre;
/// assert_eq!(parse_length("0.125 in", mm), Ok(Length::from_nanometres(3_175_000)));
/// assert_eq!(parse_length("1-1/4\"", mm), Ok(Length::from_nanometres(31_750_000)));
/// assert_eq!(parse_length("12.5", mm), Ok(Length::from_mm(12.5)));
/// ```
pub fn parse_length(text: &str, default: LengthUnit) -> Result<Length, ParseError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(ParseError::Empty);
    }
    let split = text
        .find(|c: char| c.is_alphabetic() || c == '"')
        .unwrap_or(text.len());
    let (number, suffix) = text.split_at(split);
    let unit = match suffix.trim() {
        "" => default,
        "mm" => LengthUnit::Millimetre,
        "in" | "inch" | "\"" => LengthUnit::Inch,
        other if number.trim().is_empty() && other.len() > 4 => return Err(ParseError::NotANumber),
        other => return Err(ParseError::UnknownUnit(other.to_owned())),
    };
    let scale = match unit {
        LengthUnit::Millimetre => NM_PER_MM,
        LengthUnit::Inch => NM_PER_INCH,
    };
    let (numerator, denominator) = parse_rational(number.trim())?;
    let scaled = numerator.checked_mul(scale).ok_or(ParseError::OutOfRange)?;
    let half = denominator / 2;
    let nm = if scaled >= 0 {
        (scaled + half) / denominator
    } else {
        (scaled - half) / denominator
    };
    if nm.abs() > LIMIT_NM {
        return Err(ParseError::OutOfRange);
    }
    i64::try_from(nm)
        .map(Length::from_nanometres)
        .map_err(|_| ParseError::OutOfRange)
}

/// A decimal, `3/8`, or `1-3/8` as an exact numerator and positive denominator.
fn parse_rational(text: &str) -> Result<(i128, i128), ParseError> {
    let (negative, digits) = match text.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    let (whole, fraction) = match digits.split_once('-') {
        Some((whole, fraction)) => (parse_digits(whole)?, fraction),
        None => (0, digits),
    };
    let (numerator, denominator) = match fraction.split_once('/') {
        Some((above, below)) => {
            let (above, below) = (parse_digits(above)?, parse_digits(below)?);
            if below == 0 {
                return Err(ParseError::ZeroDenominator);
            }
            (above + whole * below, below)
        }
        None if digits.contains('-') => return Err(ParseError::NotANumber),
        None => parse_decimal(fraction)?,
    };
    Ok((if negative { -numerator } else { numerator }, denominator))
}

fn parse_decimal(text: &str) -> Result<(i128, i128), ParseError> {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    if whole.is_empty() && fraction.is_empty() {
        return Err(ParseError::NotANumber);
    }
    if fraction.len() > 12 {
        return Err(ParseError::OutOfRange);
    }
    let whole = if whole.is_empty() {
        0
    } else {
        parse_digits(whole)?
    };
    let mut denominator = 1;
    for _ in fraction.chars() {
        denominator *= 10;
    }
    let fraction = if fraction.is_empty() {
        0
    } else {
        parse_digits(fraction)?
    };
    Ok((whole * denominator + fraction, denominator))
}

fn parse_digits(text: &str) -> Result<i128, ParseError> {
    if text.is_empty() || !text.bytes().all(|b| b.is_ascii_digit()) {
        return Err(ParseError::NotANumber);
    }
    if text.len() > 12 {
        return Err(ParseError::OutOfRange);
    }
    text.parse().map_err(|_| ParseError::NotANumber)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_people_write() {
        let mm = LengthUnit::Millimetre;
        let inch = LengthUnit::Inch;
        let cases = [
            ("2", mm, 2_000_000),
            ("2", inch, 50_800_000),
            (" 2.5 mm ", inch, 2_500_000),
            ("3/8 in", mm, 9_525_000),
            ("1/64in", mm, 396_875),
            ("1-1/2 inch", mm, 38_100_000),
            ("-1.5", mm, -1_500_000),
            (".5", mm, 500_000),
            ("5.", mm, 5_000_000),
        ];
        for (text, unit, nm) in cases {
            assert_eq!(
                parse_length(text, unit),
                Ok(Length::from_nanometres(nm)),
                "{text}"
            );
        }
    }

    #[test]
    fn refuses_everything_else() {
        let cases = [
            ("", ParseError::Empty),
            ("NaN", ParseError::UnknownUnit("NaN".into())),
            ("infinity", ParseError::NotANumber),
            ("1e3", ParseError::UnknownUnit("e3".into())),
            ("12,5", ParseError::NotANumber),
            ("3/0", ParseError::ZeroDenominator),
            ("7 m", ParseError::UnknownUnit("m".into())),
            ("1-2", ParseError::NotANumber),
            ("--2", ParseError::NotANumber),
            ("100001", ParseError::OutOfRange),
            ("9999999999999", ParseError::OutOfRange),
        ];
        for (text, error) in cases {
            assert_eq!(
                parse_length(text, LengthUnit::Millimetre),
                Err(error),
                "{text}"
            );
        }
    }
}
