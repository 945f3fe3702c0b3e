//! Bend allowances as printed in two handbooks, for shops whose drawings were made with them.

use units::{Degrees, Length};

/// The three rows of the straight-stock rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Temper {
    /// Soft brass and soft copper.
    SoftBrassOrCopper,
    /// Half-hard copper and brass, soft steel, aluminium.
    SoftSteelOrAluminium,
    /// Bronze, hard copper, cold-rolled and spring steel.
    Hard,
}

/// Length of straight stock for a bend.
///
/// **Formula** (c·T + 1.57·R)·A/90 with c = 0.55 soft brass and copper, 0.64 soft steel and
/// aluminium, 0.71 hard stock.
///
/// **Source** Machinery's Handbook, bending sheet metal (from memory, verify in the book)
/// `[memory]`. Worked blank: T 1/8 in; 180° round R 3/8 in → 1.338 in; 60° round R 5/8 in →
/// 0.707 in; straight parts 3.5 in; in all 5.545 in `[memory+computed]`.
///
/// **Valid for** the book prints it for 90° and scales it by the angle.
///
/// **Units** degrees (bend angle), lengths; millimetres.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use bending::handbook::{straight_stock, Temper};
/// use units::{parse_length, Degrees, LengthUnit};
/// let inch = |text| parse_length(text, LengthUnit::Inch).unwrap();
/// let stock = straight_stock(
///     Temper::SoftSteelOrAluminium, Degrees::of(180.0), inch("3/8"), inch("1/8"));
/// assert!((stock / 25.4 - 1.338).abs() < 0.001);
/// ```
#[must_use]
pub fn straight_stock(temper: Temper, bend_angle: Degrees, r: Length, t: Length) -> f64 {
    let share = match temper {
        Temper::SoftBrassOrCopper => 0.55,
        Temper::SoftSteelOrAluminium => 0.64,
        Temper::Hard => 0.71,
    };
    // 1.57 as printed, not a quarter turn to more places: the rule is matched, not improved.
    #[allow(clippy::approx_constant)]
    let quarter_turn = 1.57;
    (share * t.mm() + quarter_turn * r.mm()) * bend_angle.get().max(0.0) / 90.0
}

/// Bend allowance with the stretch constant that depends on the radius.
///
/// **Formula** A_b = 2π·(α/360)·(R + K_ba·t), K_ba = 0.33 for R < 2t, else 0.50.
///
/// **Source** Groover, *Fundamentals of Modern Manufacturing*, sheet-metal chapter (from memory,
/// verify in the book) `[memory]`. α 60°, R 4.75, t 3.2, flats 38 and 25 mm → 6.08 and 69.08 mm
/// `[memory+computed]`.
///
/// **Valid for** an estimate; K_ba jumps at R = 2t.
///
/// **Units** degrees (bend angle), lengths; millimetres.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use units::{Degrees, Length};
/// let mm = Length::from_mm;
/// let allowance = bending::handbook::stepped_allowance(Degrees::of(60.0), mm(4.75), mm(3.2));
/// assert!((allowance - 6.08).abs() < 0.005);
/// ```
#[must_use]
pub fn stepped_allowance(bend_angle: Degrees, r: Length, t: Length) -> f64 {
    let stretch = if r < t + t { 0.33 } else { 0.50 };
    bend_angle.get().max(0.0).to_radians() * (r.mm() + stretch * t.mm())
}
