//! Lifting blanks and parts by hand.
//!
//! **Caution.** A screening of the task, not a fitness for work. Two people lifting together,
//! one-handed lifts, slippery or sharp sheet and heat are outside the equation: local rules and the
//! shop's own assessment decide.

use units::{Degrees, Kilograms, Length};

/// Reference mass for one adult under good conditions, kilograms: ISO 11228-1 `[memory]`.
pub const REFERENCE_MASS_KG: f64 = 25.0;

/// Load constant of the equation, kilograms `[source]`.
pub const LOAD_CONSTANT_KG: f64 = 23.0;
/// The same in the inch-pound form, pounds `[memory]`.
pub const LOAD_CONSTANT_LB: f64 = 51.0;

/// Whether a mass is more than one person should lift even in good conditions.
///
/// ```
/// use units::Kilograms;
/// assert!(bending::lifting::above_reference_mass(Kilograms::of(25.1)));
/// assert!(!bending::lifting::above_reference_mass(Kilograms::of(25.0)));
/// ```
#[must_use]
pub fn above_reference_mass(mass: Kilograms) -> bool {
    mass.get() > REFERENCE_MASS_KG
}

/// One lifting task.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lift {
    /// H, from the mid-point of the ankles to the hands.
    pub horizontal: Length,
    /// V, from the floor to the hands.
    pub vertical: Length,
    /// D, how far up or down the hands travel.
    pub travel: Length,
    /// A, how far the load is to the side.
    pub asymmetry: Degrees,
    /// Lifts a minute.
    pub lifts_per_minute: f64,
    /// How long it goes on.
    pub spell: Spell,
    /// How well the load can be held.
    pub grip: Grip,
}

/// How long lifting goes on before light work or rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spell {
    /// Up to an hour.
    OneHour,
    /// Over one hour, up to two.
    TwoHours,
    /// Over two hours, up to eight.
    EightHours,
}

/// How well the load can be held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grip {
    /// Handles or hand-holds.
    Good,
    /// Fingers bend round the edge.
    Fair,
    /// Bulky, sharp, sagging or slippery; most sheet.
    Poor,
}

/// The six multipliers, each from 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Multipliers {
    /// HM.
    pub horizontal: f64,
    /// VM.
    pub vertical: f64,
    /// DM.
    pub travel: f64,
    /// AM.
    pub asymmetry: f64,
    /// FM.
    pub frequency: f64,
    /// CM.
    pub grip: f64,
}

impl Multipliers {
    /// Their product.
    #[must_use]
    pub fn product(self) -> f64 {
        self.horizontal * self.vertical * self.travel * self.asymmetry * self.frequency * self.grip
    }
}

/// The multipliers of a task, not rounded.
///
/// **Formula** HM = 25/H, VM = 1 − 0.003·|V − 75|, DM = 0.82 + 4.5/D, AM = 1 − 0.0032·A (cm,
/// degrees); FM from [`frequency_multiplier`], CM from [`grip_multiplier`].
///
/// **Source** NIOSH Publication 94-110, revised lifting equation; form `[source]`, FM and CM tables
/// `[memory]`.
///
/// **Valid for** H 25–63 cm, V 0–175 cm, D 25–175 cm, A 0–135°: nearer or shorter counts as 25 cm;
/// beyond the far end the multiplier is 0, that is, do not lift `[memory]`.
///
/// **Units** lengths, degrees; dimensionless.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use bending::lifting::{multipliers, Grip, Lift, Spell};
/// use units::{Degrees, Length};
/// let mm = Length::from_whole_mm;
/// let lift = Lift {
///     horizontal: mm(500), vertical: mm(750), travel: mm(250), asymmetry: Degrees::of(0.0),
///     lifts_per_minute: 0.2, spell: Spell::OneHour, grip: Grip::Good };
/// assert!((multipliers(&lift).product() - 0.5).abs() < 1e-9);
/// ```
#[must_use]
pub fn multipliers(lift: &Lift) -> Multipliers {
    let (h, v) = (lift.horizontal.mm() / 10.0, lift.vertical.mm() / 10.0);
    let (d, a) = (lift.travel.abs().mm() / 10.0, lift.asymmetry.get().abs());
    Multipliers {
        horizontal: if h > 63.0 { 0.0 } else { 25.0 / h.max(25.0) },
        vertical: if (0.0..=175.0).contains(&v) {
            1.0 - 0.003 * (v - 75.0).abs()
        } else {
            0.0
        },
        travel: if d > 175.0 {
            0.0
        } else {
            (0.82 + 4.5 / d.max(25.0)).min(1.0)
        },
        asymmetry: if a > 135.0 { 0.0 } else { 1.0 - 0.0032 * a },
        frequency: frequency_multiplier(lift.lifts_per_minute, lift.spell, lift.vertical),
        grip: grip_multiplier(lift.grip, lift.vertical),
    }
}

/// The recommended weight limit of a task.
///
/// **Formula** RWL = 23 kg·HM·VM·DM·AM·FM·CM.
///
/// **Source** NIOSH Publication 94-110 `[source for the form]`. Its example of loading punch press
/// stock (44 lb, H 23 in) prints 16.3 lb with multipliers rounded to two places; not rounded, the
/// inch-pound form gives 16.0 lb and this metric form, whose constants are rounded differently,
/// 15.7 lb `[memory+computed]`.
///
/// **Valid for** as [`multipliers`].
///
/// **Units** kg.
///
/// **Errors** none.
///
/// **Example** see [`multipliers`]; half of 23 kg is 11.5 kg.
#[must_use]
pub fn recommended_limit(lift: &Lift) -> Kilograms {
    Kilograms::of(LOAD_CONSTANT_KG * multipliers(lift).product())
}

/// The lifting index: load over limit. Above 1 the risk of back pain rises.
///
/// **Formula** LI = load/RWL.
///
/// **Source** NIOSH Publication 94-110 `[source]`. 44 lb over 16.3 lb → 2.7.
///
/// **Valid for** as [`multipliers`].
///
/// **Units** the same unit of mass above and below; dimensionless.
///
/// **Errors** none; a limit that is not above zero gives an infinite index.
///
/// **Example**
/// ```
/// use units::Kilograms;
/// let index = bending::lifting::lifting_index(Kilograms::of(44.0), Kilograms::of(16.3));
/// assert!((index - 2.7).abs() < 0.05);
/// ```
#[must_use]
pub fn lifting_index(load: Kilograms, limit: Kilograms) -> f64 {
    if limit.get() > 0.0 {
        load.get() / limit.get()
    } else {
        f64::INFINITY
    }
}

/// From this height of the hands on the better columns of the tables hold.
const HIGH: Length = Length::from_whole_mm(750);

/// Lifts a minute and FM for up to one, two and eight hours.
const FREQUENCY: [(f64, [f64; 3]); 18] = [
    (0.2, [1.00, 0.95, 0.85]),
    (0.5, [0.97, 0.92, 0.81]),
    (1.0, [0.94, 0.88, 0.75]),
    (2.0, [0.91, 0.84, 0.65]),
    (3.0, [0.88, 0.79, 0.55]),
    (4.0, [0.84, 0.72, 0.45]),
    (5.0, [0.80, 0.60, 0.35]),
    (6.0, [0.75, 0.50, 0.27]),
    (7.0, [0.70, 0.42, 0.22]),
    (8.0, [0.60, 0.35, 0.18]),
    (9.0, [0.52, 0.30, 0.15]),
    (10.0, [0.45, 0.26, 0.13]),
    (11.0, [0.41, 0.23, 0.00]),
    (12.0, [0.37, 0.21, 0.00]),
    (13.0, [0.34, 0.00, 0.00]),
    (14.0, [0.31, 0.00, 0.00]),
    (15.0, [0.28, 0.00, 0.00]),
    (f64::INFINITY, [0.00, 0.00, 0.00]),
];

/// FM, by how often and how long is lifted.
///
/// **Formula** a table; between two rows the more frequent one holds.
///
/// **Source** NIOSH Publication 94-110, frequency table (from memory, verify in the book)
/// `[memory]`.
///
/// **Valid for** up to 15 lifts a minute, 8 hours. Hands below 75 cm stop at 12, 10 and 8 lifts a
/// minute for one, two and eight hours.
///
/// **Units** lifts per minute; dimensionless.
///
/// **Errors** none; beyond the table 0.
///
/// **Example**
/// ```
/// use bending::lifting::{frequency_multiplier, Spell};
/// use units::Length;
/// let waist = Length::from_whole_mm(900);
/// assert_eq!(frequency_multiplier(2.5, Spell::EightHours, waist), 0.55);
/// ```
#[must_use]
pub fn frequency_multiplier(lifts_per_minute: f64, spell: Spell, vertical: Length) -> f64 {
    let (column, low_most) = match spell {
        Spell::OneHour => (0, 12.0),
        Spell::TwoHours => (1, 10.0),
        Spell::EightHours => (2, 8.0),
    };
    if lifts_per_minute.is_nan() || (vertical < HIGH && lifts_per_minute > low_most) {
        return 0.0;
    }
    FREQUENCY
        .iter()
        .find(|(most, _)| lifts_per_minute <= *most)
        .and_then(|(_, columns)| columns.get(column))
        .copied()
        .unwrap_or(0.0)
}

/// CM, by how well the load can be held.
///
/// **Formula** good 1.00; fair 0.95, or 1.00 with the hands at 75 cm or above; poor 0.90.
///
/// **Source** NIOSH Publication 94-110, coupling table (from memory, verify in the book)
/// `[memory]`.
///
/// **Valid for** two-handed lifts.
///
/// **Units** dimensionless.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use bending::lifting::{grip_multiplier, Grip};
/// use units::Length;
/// assert_eq!(grip_multiplier(Grip::Fair, Length::from_whole_mm(400)), 0.95);
/// ```
#[must_use]
pub fn grip_multiplier(grip: Grip, vertical: Length) -> f64 {
    match grip {
        Grip::Good => 1.00,
        Grip::Fair if vertical >= HIGH => 1.00,
        Grip::Fair => 0.95,
        Grip::Poor => 0.90,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lift(h: i64, v: i64, d: i64) -> Lift {
        Lift {
            horizontal: Length::from_whole_mm(h),
            vertical: Length::from_whole_mm(v),
            travel: Length::from_whole_mm(d),
            asymmetry: Degrees::of(0.0),
            lifts_per_minute: 0.1,
            spell: Spell::OneHour,
            grip: Grip::Good,
        }
    }

    #[test]
    fn the_best_lift_is_the_load_constant() {
        let best = recommended_limit(&lift(250, 750, 250)).get();
        assert!((best - LOAD_CONSTANT_KG).abs() < 1e-9, "{best}");
        let near = recommended_limit(&lift(100, 750, 100)).get();
        assert!(
            (near - LOAD_CONSTANT_KG).abs() < 1e-9,
            "nearer than 25 cm counts as 25 cm"
        );
    }

    #[test]
    fn beyond_reach_nothing_may_be_lifted() {
        for (h, v, d) in [
            (631, 750, 250),
            (250, 1751, 250),
            (250, 750, 1751),
            (250, -1, 250),
        ] {
            assert!(
                recommended_limit(&lift(h, v, d)).get() <= 0.0,
                "{h} {v} {d}"
            );
        }
        assert!(lifting_index(Kilograms::of(10.0), Kilograms::of(0.0)).is_infinite());
    }

    #[test]
    fn lifting_more_often_never_allows_more() {
        for spell in [Spell::OneHour, Spell::TwoHours, Spell::EightHours] {
            for vertical in [Length::from_whole_mm(300), HIGH] {
                let mut last = 1.0;
                for tenths in 0..200 {
                    let now = frequency_multiplier(f64::from(tenths) / 10.0, spell, vertical);
                    assert!(now <= last, "{spell:?} {tenths}");
                    last = now;
                }
                assert!(last <= 0.0);
            }
        }
        assert!(frequency_multiplier(f64::NAN, Spell::OneHour, HIGH) <= 0.0);
        assert!(frequency_multiplier(13.0, Spell::OneHour, Length::ZERO) <= 0.0);
    }
}
