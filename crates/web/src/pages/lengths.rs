//! Lengths as their reader wants them: millimetres or inches. The one place where pages write lengths.

use units::Length;

/// The name of the cookie that keeps what a reader chose.
pub(crate) const COOKIE: &str = "brakewright-lengths";

/// What lengths are written in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Lengths {
    /// Millimetres, as exact as the plan has them.
    #[default]
    Millimetres,
    /// Inches to a thousandth.
    Inches,
}

impl Lengths {
    /// The other one is meant by anything but `inch`.
    pub(crate) fn named(word: &str) -> Lengths {
        if word == "inch" {
            Lengths::Inches
        } else {
            Lengths::Millimetres
        }
    }

    /// The word that names it in the cookie and in forms.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Lengths::Millimetres => "mm",
            Lengths::Inches => "inch",
        }
    }

    /// `12.5 mm`, `0.492 in`.
    pub(crate) fn say(self, length: Length) -> String {
        match self {
            Lengths::Millimetres => format!("{length} mm"),
            Lengths::Inches => format!("{} in", thousandths(length)),
        }
    }

    /// A gauge's position, as people key it in: `118.25`, `4.656`; the unit stands beside it.
    pub(crate) fn gauge(self, length: Length) -> String {
        match self {
            Lengths::Millimetres => format!("{:.2}", length.mm()),
            Lengths::Inches => thousandths(length),
        }
    }

    /// `mm`, `in`.
    pub(crate) fn short(self) -> &'static str {
        match self {
            Lengths::Millimetres => "mm",
            Lengths::Inches => "in",
        }
    }

    /// The opening of a die: `V12`, `V 0.472 in`.
    pub(crate) fn opening(self, v: Length) -> String {
        match self {
            Lengths::Millimetres => format!("V{v}"),
            Lengths::Inches => format!("V {}", self.say(v)),
        }
    }

    /// The text before a length, with lengths written anew that share its unit.
    fn joined(self, head: &str) -> String {
        let found = JOINTS
            .iter()
            .find_map(|joint| Some((head.strip_suffix(joint)?, joint)));
        let Some((before, joint)) = found else {
            return head.to_owned();
        };
        let (rest, number) = number_at_the_end(before);
        match number.parse() {
            Ok(mm) => format!(
                "{}{}{joint}",
                self.joined(rest),
                thousandths(Length::from_mm(mm))
            ),
            Err(_) => head.to_owned(),
        }
    }

    /// A text that came with the plan, its millimetres written anew.
    pub(crate) fn text(self, text: &str) -> String {
        if self == Lengths::Millimetres {
            return text.to_owned();
        }
        let mut out = String::with_capacity(text.len());
        let mut rest = text;
        while let Some((before, after)) = rest.split_once(" mm") {
            let whole = after
                .chars()
                .next()
                .is_none_or(|next| !next.is_alphanumeric());
            let (head, number) = number_at_the_end(before);
            match number.parse::<f64>() {
                Ok(mm) if whole && mm < 1e6 => {
                    out.push_str(&self.joined(head));
                    out.push_str(&self.say(Length::from_mm(mm)));
                }
                _ => {
                    out.push_str(before);
                    out.push_str(" mm");
                }
            }
            rest = after;
        }
        out + rest
    }
}

/// A text apart from the plain number it ends with.
fn number_at_the_end(text: &str) -> (&str, &str) {
    let head = text.trim_end_matches(|one: char| one.is_ascii_digit() || one == '.');
    (head, text.strip_prefix(head).unwrap_or_default())
}

/// What stands between two lengths that share their unit: `0.5 to 12 mm`, `800 × 650 mm`.
const JOINTS: [&str; 2] = [" to ", " × "];

/// Inches to a thousandth, rounded half up. An inch is 25.4 mm exactly (international yard and pound
/// agreement, 1959) `[memory]`.
fn thousandths(length: Length) -> String {
    const OF_A_THOUSANDTH: i64 = 25_400;
    let nanometres = length.nanometres();
    let sign = if nanometres < 0 { "\u{2212}" } else { "" };
    let whole = nanometres
        .saturating_abs()
        .saturating_add(OF_A_THOUSANDTH / 2)
        / OF_A_THOUSANDTH;
    let sign = if whole == 0 { "" } else { sign };
    format!("{sign}{}.{:03}", whole / 1_000, whole % 1_000)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inch_is_an_inch() {
        let inch = |mm| Lengths::Inches.say(Length::from_mm(mm));
        assert_eq!(inch(25.4), "1.000 in");
        assert_eq!(inch(12.5), "0.492 in");
        assert_eq!(inch(-0.01), "0.000 in");
        assert_eq!(inch(-2.54), "\u{2212}0.100 in");
        assert_eq!(inch(4_000.0), "157.480 in");
        assert_eq!(Lengths::Millimetres.say(Length::from_mm(12.5)), "12.5 mm");
        assert_eq!(Lengths::Inches.opening(Length::from_mm(12.0)), "V 0.472 in");
    }

    #[test]
    fn a_text_keeps_all_but_its_millimetres() {
        let text = |text: &str| Lengths::Inches.text(text);
        assert_eq!(
            text("slide 3 from 25.4 mm to 50.8 mm, 4 min"),
            "slide 3 from 1.000 in to 2.000 in, 4 min"
        );
        assert_eq!(
            text("make up 25.4 to 50.8 mm of 25.4 × 50.8 mm"),
            "make up 1.000 to 2.000 in of 1.000 × 2.000 in"
        );
        assert_eq!(text("go to 25.4 mm"), "go to 1.000 in");
        assert_eq!(text("12 mmHg, no mm, V12 mm"), "12 mmHg, no mm, V0.472 in");
        assert_eq!(text("ü1 mm²"), "ü1 mm²");
        assert_eq!(Lengths::Millimetres.text("1 mm"), "1 mm");
    }
}
