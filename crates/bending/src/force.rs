//! Air-bending force over a V die, and what other ways of bending ask beyond it.
//!
//! **Caution.** A force above what the brake, a holder, a punch, a die or the bed may carry breaks
//! steel and throws pieces. Compare with the load marked on every tool and in the machine's
//! manual; sheet is often stronger than its grade says, so limits want the upper bound of Rm.

use crate::Judged;
use units::{Kilonewtons, KilonewtonsPerMetre, Length, Megapascals};

/// Which published form of the air-bending force is used. They differ in the factor C alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ForceForm {
    /// C = 1 + 4t/V.
    Oehler,
    /// C = 1.33.
    Textbook,
    /// 650·t²·L/V kN with L in metres, at Rm 450 MPa, that is C = 650/450.
    Manual,
    /// 575·t²/V ton(US)/ft at 60 ksi in inches, that is C = 575·2000/(12·60 000).
    InchShop,
}

impl ForceForm {
    /// Every form, from the one used by default.
    pub const ALL: [ForceForm; 4] = [
        ForceForm::Oehler,
        ForceForm::Textbook,
        ForceForm::Manual,
        ForceForm::InchShop,
    ];

    /// The name used in shop files; [`ForceForm::from_name`] reads it back.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            ForceForm::Oehler => "oehler",
            ForceForm::Textbook => "textbook",
            ForceForm::Manual => "manual",
            ForceForm::InchShop => "inch-shop",
        }
    }

    /// The form of that name; `None` when there is none.
    ///
    /// ```
    /// use bending::force::ForceForm;
    /// assert_eq!(ForceForm::from_name("inch-shop"), Some(ForceForm::InchShop));
    /// assert_eq!(ForceForm::from_name("guess"), None);
    /// ```
    #[must_use]
    pub fn from_name(name: &str) -> Option<ForceForm> {
        ForceForm::ALL.into_iter().find(|form| form.name() == name)
    }

    /// Where the form comes from.
    #[must_use]
    pub const fn source(self) -> &'static str {
        match self {
            ForceForm::Oehler => {
                "Oehler, as quoted from Lange, Umformtechnik, sheet volume, 2nd ed. 1990 \
                 (second-hand)"
            }
            ForceForm::Textbook => {
                "Groover, Fundamentals of Modern Manufacturing, sheet-metal chapter; \
                 Kalpakjian & Schmid print about 1.3 (from memory, verify in the book)"
            }
            ForceForm::Manual => "form printed in machine manuals, 650 t² L/V at 450 MPa",
            ForceForm::InchShop => {
                "form printed in the trade press, 575 t²/V ton per foot at 60 ksi"
            }
        }
    }

    /// How sure the source is; the marks are explained in the crate's head.
    #[must_use]
    pub const fn mark(self) -> &'static str {
        match self {
            ForceForm::Oehler | ForceForm::Manual | ForceForm::InchShop => "[source]",
            ForceForm::Textbook => "[memory]",
        }
    }
}

/// US short tons per foot at 60 ksi in the inch form: 575·t²/V.
const INCH_SHOP_TONS_PER_FOOT: f64 = 575.0;
/// Pounds-force in a US short ton.
const POUNDS_PER_TON: f64 = 2_000.0;
/// Inches in a foot.
const INCHES_PER_FOOT: f64 = 12.0;
/// The strength the inch form was drawn up for, in pounds-force per square inch.
const INCH_SHOP_STRENGTH_PSI: f64 = 60_000.0;

const NOT_A_BEND: &str = "thickness, V opening, bend length and strength above zero";

/// The factor C of F = C·Rm·L·t²/V.
///
/// **Formula** Oehler 1 + 4t/V · textbook 1.33 · manual 650/450 · inch shop
/// 575·2000/(12·60 000) = 1.597. The inch form is homogeneous (force per length = number × stress
/// × length²/length), so its factor holds in any system of units and converts exactly.
///
/// **Source** [`ForceForm::source`] with [`ForceForm::mark`].
///
/// **Valid for** Oehler 0.5 ≤ t ≤ 10 mm and 5 ≤ V/t ≤ 20 `[source, second-hand]`. The other three
/// state no range; they are judged against the same V/t, outside which no constant can hold
/// `[trade]`.
///
/// **Units** dimensionless.
///
/// **Errors** none; a thickness or opening that is not above zero gives an infinite factor,
/// flagged, so that every limit check on it fails.
///
/// **Example**
/// ```
/// use bending::force::{factor, ForceForm};
/// use units::Length;
/// let (t, v) = (Length::from_whole_mm(2), Length::from_whole_mm(16));
/// assert_eq!(factor(ForceForm::Oehler, t, v).value, 1.5);
/// ```
#[must_use]
pub fn factor(form: ForceForm, t: Length, v: Length) -> Judged<f64> {
    if t <= Length::ZERO || v <= Length::ZERO {
        return Judged::outside(f64::INFINITY, NOT_A_BEND);
    }
    let value = match form {
        ForceForm::Oehler => 1.0 + 4.0 * t.mm() / v.mm(),
        ForceForm::Textbook => 1.33,
        ForceForm::Manual => 650.0 / 450.0,
        ForceForm::InchShop => {
            INCH_SHOP_TONS_PER_FOOT * POUNDS_PER_TON / (INCHES_PER_FOOT * INCH_SHOP_STRENGTH_PSI)
        }
    };
    match range_left(form, t, v) {
        Some(range) => Judged::outside(value, range),
        None => Judged::inside(value),
    }
}

/// The stated range that is left. Compared in whole nanometres, so a limit itself is inside.
fn range_left(form: ForceForm, t: Length, v: Length) -> Option<&'static str> {
    let (thickness, opening) = (i128::from(t.nanometres()), i128::from(v.nanometres()));
    let ratio_inside = (5 * thickness..=20 * thickness).contains(&opening);
    let thickness_inside = (500_000..=10_000_000).contains(&thickness);
    match form {
        ForceForm::Oehler if !thickness_inside => Some("Oehler: thickness from 0.5 to 10 mm"),
        ForceForm::Oehler if !ratio_inside => Some("Oehler: V opening from 5 to 20 thicknesses"),
        _ if !ratio_inside => Some("constant factor: V opening from 5 to 20 thicknesses"),
        _ => None,
    }
}

/// The force to air-bend a sheet over a V die.
///
/// **Formula** F = C·Rm·L·t²/V with C from [`factor`].
///
/// **Source** [`ForceForm::source`]. Published charts for the same bend spread by a quarter
/// (1/4 in mild steel over 2 in: 15.3 to 19.7 ton(US)/ft `[source]`), so the result is an estimate.
///
/// **Valid for** free (air) bending only; the range of [`factor`].
///
/// **Units** MPa, lengths, kN.
///
/// **Errors** none; a strength, thickness, opening or length that is not above zero gives the
/// largest force, flagged.
///
/// **Example**
/// ```
/// use bending::force::{air_bend, ForceForm};
/// use units::{Length, Megapascals};
/// let mm = Length::from_whole_mm;
/// let force = air_bend(ForceForm::Manual, Megapascals::of(450.0), mm(3000), mm(4), mm(32));
/// assert!((force.value.get() - 975.0).abs() < 1e-9);
/// assert!(force.is_inside());
/// ```
#[must_use]
pub fn air_bend(
    form: ForceForm,
    rm: Megapascals,
    length: Length,
    t: Length,
    v: Length,
) -> Judged<Kilonewtons> {
    if rm.get() <= 0.0 || length <= Length::ZERO {
        return Judged::outside(Kilonewtons::of(f64::INFINITY), NOT_A_BEND);
    }
    factor(form, t, v).map(|c| {
        let newtons = c * rm.get() * length.mm() * t.mm() * t.mm() / v.mm();
        Kilonewtons::of(if newtons >= 0.0 {
            newtons / 1e3
        } else {
            f64::INFINITY
        })
    })
}

/// A force known only as a band around a multiple of the air-bending force.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ForceBand {
    /// The least to reckon with.
    pub least: Kilonewtons,
    /// The usual upper end.
    pub usual_most: Kilonewtons,
    /// Whether the usual upper end is no bound at all.
    pub may_exceed: bool,
}

/// The band of force for bottoming: the sheet pressed against the die's flanks.
///
/// **Formula** 3 to 5 times the air-bending force.
///
/// **Source** common practice `[trade]`; a bound for judgement, not a calculation.
///
/// **Valid for** bottoming over the usual V of 6 to 8 thicknesses `[trade]`.
///
/// **Units** kN.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use units::Kilonewtons;
/// let band = bending::force::bottoming(Kilonewtons::of(100.0));
/// assert_eq!((band.least.get(), band.usual_most.get()), (300.0, 500.0));
/// ```
#[must_use]
pub fn bottoming(air: Kilonewtons) -> ForceBand {
    band(air, 3.0, 5.0, false)
}

/// The band of force for coining: the punch tip pressed into the sheet.
///
/// **Formula** 5 to 10 times the air-bending force, or more.
///
/// **Source** common practice `[trade]`; a bound for judgement, not a calculation. Coining has no
/// upper bound: it rises until something yields.
///
/// **Valid for** a warning only.
///
/// **Units** kN.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use units::Kilonewtons;
/// let band = bending::force::coining(Kilonewtons::of(100.0));
/// assert_eq!((band.least.get(), band.usual_most.get()), (500.0, 1000.0));
/// assert!(band.may_exceed);
/// ```
#[must_use]
pub fn coining(air: Kilonewtons) -> ForceBand {
    band(air, 5.0, 10.0, true)
}

fn band(air: Kilonewtons, least: f64, usual_most: f64, may_exceed: bool) -> ForceBand {
    ForceBand {
        least: Kilonewtons::of(air.get() * least),
        usual_most: Kilonewtons::of(air.get() * usual_most),
        may_exceed,
    }
}

/// The work of one bend.
///
/// **Formula** W = F·h·m, with m the mean of the force over the stroke as a share of its peak.
///
/// **Source** Oehler's example as quoted from Lange: F 4.34 kN, h 15 mm, m 0.75 → 48.82 J
/// `[source, second-hand]`.
///
/// **Valid for** m from 0.5 (force rising evenly) to 1 (peak force all the way); outside, flagged.
///
/// **Units** kN, length, J.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use units::{Kilonewtons, Length};
/// let work = bending::force::bending_work(Kilonewtons::of(4.34), Length::from_whole_mm(15), 0.75);
/// assert!((work.value - 48.825).abs() < 1e-9);
/// ```
#[must_use]
pub fn bending_work(force: Kilonewtons, stroke: Length, m: f64) -> Judged<f64> {
    // kN times mm is J.
    let joules = force.get() * stroke.mm() * m;
    if (0.5..=1.0).contains(&m) {
        Judged::inside(joules)
    } else {
        Judged::outside(joules, "mean share of the peak force from 0.5 to 1")
    }
}

/// Force spread evenly over a length of tool or bed.
///
/// **Formula** q = F/L.
///
/// **Source** statics.
///
/// **Valid for** an even load; a tool longer than the bend does not spread it evenly to its ends.
///
/// **Units** kN, length, kN/m.
///
/// **Errors** none; a length that is not above zero gives the largest load.
///
/// **Example**
/// ```
/// use units::{Kilonewtons, Length};
/// let load = bending::force::line_load(Kilonewtons::of(140.0), Length::from_whole_mm(200));
/// assert!((load.get() - 700.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn line_load(force: Kilonewtons, length: Length) -> KilonewtonsPerMetre {
    if length <= Length::ZERO {
        return KilonewtonsPerMetre::of(f64::INFINITY);
    }
    KilonewtonsPerMetre::of(force.get() / length.metres())
}

#[cfg(test)]
mod tests {
    use super::*;

    const MM: fn(i64) -> Length = Length::from_whole_mm;

    #[test]
    fn names_read_back() {
        for form in ForceForm::ALL {
            assert_eq!(ForceForm::from_name(form.name()), Some(form));
            assert!(!form.source().is_empty() && form.mark().starts_with('['));
        }
    }

    #[test]
    fn the_range_is_closed_and_cited() {
        let cases = [
            (ForceForm::Oehler, 2.0, 10.0, None),
            (ForceForm::Oehler, 2.0, 40.0, None),
            (
                ForceForm::Oehler,
                2.0,
                9.999,
                Some("Oehler: V opening from 5 to 20 thicknesses"),
            ),
            (
                ForceForm::Oehler,
                0.4,
                4.0,
                Some("Oehler: thickness from 0.5 to 10 mm"),
            ),
            (
                ForceForm::Oehler,
                12.0,
                100.0,
                Some("Oehler: thickness from 0.5 to 10 mm"),
            ),
            (ForceForm::Textbook, 12.0, 100.0, None),
            (
                ForceForm::Manual,
                1.0,
                25.0,
                Some("constant factor: V opening from 5 to 20 thicknesses"),
            ),
        ];
        for (form, t, v, left) in cases {
            let judged = factor(form, Length::from_mm(t), Length::from_mm(v));
            assert_eq!(judged.validity.range_left(), left, "{form:?} {t} {v}");
        }
    }

    #[test]
    fn nonsense_never_passes_a_limit() {
        let enough = Kilonewtons::of(1e12);
        let rm = Megapascals::of(450.0);
        for form in ForceForm::ALL {
            for (strength, length, t, v) in [
                (rm, MM(1000), MM(2), MM(0)),
                (rm, MM(1000), MM(2), MM(-16)),
                (rm, MM(1000), MM(-2), MM(16)),
                (rm, MM(-1000), MM(2), MM(16)),
                (Megapascals::of(-1.0), MM(1000), MM(2), MM(16)),
            ] {
                let force = air_bend(form, strength, length, t, v);
                assert!(force.value > enough, "{form:?} {t} {v}");
                assert!(!force.is_inside());
            }
        }
        assert!(line_load(Kilonewtons::of(1.0), MM(0)).get() > 1e12);
    }
}
