//! The mechanics of one bend, in millimetres, megapascals, kilonewtons and degrees.
//!
//! Each formula stands as docs/rules.md section 2 states it; docs/engineering.md has its source and
//! range. Written out here a second time on purpose.

/// Newtons in a US short ton of force: 2 000 lbf of 4.448 221 615 260 5 N each, by definition.
const NEWTONS_IN_US_TON: f64 = 2_000.0 * 4.448_221_615_260_5;
/// Megapascals in 60 ksi, 1 ksi being 6.894 757 293 168 MPa by definition of pound and inch.
const SIXTY_KSI: f64 = 60.0 * 6.894_757_293_168;
const MM_IN_INCH: f64 = 25.4;
const METRES_IN_FOOT: f64 = 0.3048;

/// Air-bending force in kN; `None` when the form's name is not known.
pub(crate) fn force(form: &str, strength: f64, length: f64, t: f64, v: f64) -> Option<f64> {
    let factor = match form {
        "oehler" => 1.0 + 4.0 * t / v,
        "textbook" => 1.33,
        // 650·t²·L[m]/V kN at 450 MPa is 650 N per metre-millimetre: 650/450 of Rm·L·t²/V.
        "manual" => 650.0 / 450.0,
        "inch-shop" => return Some(inch_force(strength, length, t, v)),
        _ => return None,
    };
    Some(factor * strength * length * t * t / v / 1_000.0)
}

/// 575·t²/V US ton/ft at 60 ksi with t and V in inches, scaled by strength.
fn inch_force(strength: f64, length: f64, t: f64, v: f64) -> f64 {
    let (t, v) = (t / MM_IN_INCH, v / MM_IN_INCH);
    let tons_per_foot = 575.0 * t * t / v * (strength / SIXTY_KSI);
    let newtons_per_metre = tons_per_foot * NEWTONS_IN_US_TON / METRES_IN_FOOT;
    newtons_per_metre * (length / 1_000.0) / 1_000.0
}

/// A bound on the force that flattens a hem, in kN: so many times the air-bending force of its sheet
/// in a V of 8 thicknesses, whatever the shop's own form. Common practice, not a measured force.
pub(crate) fn flattening_force(factor: f64, strength: f64, length: f64, t: f64) -> f64 {
    factor * (1.0 + 4.0 / 8.0) * strength * length * t * t / (8.0 * t) / 1_000.0
}

/// Strokes of a stepped radius: as many as keep the middle of each facet's outside within `depth`
/// of the true arc. At least one; infinite when no depth is allowed.
pub(crate) fn steps(bend: f64, radius: f64, t: f64, depth: f64) -> f64 {
    // A share that is taken for the last bits, so that an exact number of steps is not one more.
    const LAST_BITS: f64 = 1e-9;
    let cosine = (1.0 - depth / (radius + t)).clamp(-1.0, 1.0);
    let each = 2.0 * cosine.acos().to_degrees();
    (bend / each - LAST_BITS).ceil().max(1.0)
}

/// Shortest outside leg that still spans the V: V/(2·sin(β/2)).
pub(crate) fn smallest_leg(v: f64, included: f64) -> f64 {
    v / (2.0 * (included / 2.0).to_radians().sin())
}

/// Punch travel from touching the sheet, never negative.
pub(crate) fn travel(v: f64, t: f64, radius: f64, included: f64) -> f64 {
    let half = ((180.0 - included) / 2.0).to_radians();
    let travel = v / 2.0 * half.tan() - (radius + t) * (1.0 / half.cos() - 1.0);
    // Written so that a number that is not one stays visible to the checks that follow.
    if travel < 0.0 { 0.0 } else { travel }
}

/// Bend deduction: 2·tan(A/2)·(r + t) − A·(r + K·t).
pub(crate) fn deduction(included: f64, radius: f64, t: f64, k_factor: Option<f64>) -> f64 {
    let bend = (180.0 - included).to_radians();
    2.0 * (bend / 2.0).tan() * (radius + t) - allowance(bend, radius, t, k_factor)
}

/// Developed length of a fold of this bend angle, in radians: A·(r + K·t).
pub(crate) fn allowance(bend: f64, radius: f64, t: f64, k_factor: Option<f64>) -> f64 {
    let k = k_factor.unwrap_or_else(|| din_k(radius, t) / 2.0);
    bend * (radius + k * t)
}

/// The k of DIN 6935, which multiplies half the thickness.
fn din_k(radius: f64, t: f64) -> f64 {
    let ratio = radius / t;
    if ratio > 5.0 {
        1.0
    } else {
        (0.65 + 0.5 * ratio.log10()).clamp(0.0, 1.0)
    }
}

/// How deep a punch tip may stand below the die's shoulders before it touches the groove: the
/// lesser of the groove's depth and where a tip of this radius meets both walls.
pub(crate) fn free_depth(v: f64, die_angle: f64, groove_depth: f64, tip_radius: f64) -> f64 {
    let half = (die_angle / 2.0).to_radians();
    let walls = v / (2.0 * half.tan()) - tip_radius * (1.0 / half.sin() - 1.0);
    if walls < groove_depth {
        walls
    } else {
        groove_depth
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, expected: f64, within: f64) {
        assert!(
            (found - expected).abs() <= within,
            "{found} is not {expected}"
        );
    }

    #[test]
    fn forces_by_every_form() {
        // Oehler, Rm 310, t 1, V 10, L 100: 4.34 kN [source].
        near(
            force("oehler", 310.0, 100.0, 1.0, 10.0).unwrap(),
            4.34,
            0.001,
        );
        // Textbook constant 1.33: TS 450, w 44.5, t 3.2, V 25: 10 909 N [memory, computed].
        near(
            force("textbook", 450.0, 44.5, 3.2, 25.0).unwrap(),
            10.909,
            0.001,
        );
        // 650 form, t 4, V 32, 3 m at 450 MPa: 975 kN [source].
        near(
            force("manual", 450.0, 3_000.0, 4.0, 32.0).unwrap(),
            975.0,
            0.001,
        );
        // 575 form, 1/8 in over 1 in at 60 ksi: 8.98 US ton on a foot [source].
        let foot = force("inch-shop", SIXTY_KSI, 304.8, 3.175, 25.4).unwrap();
        near(foot * 1_000.0 / NEWTONS_IN_US_TON, 8.984, 0.001);
        assert_eq!(force("guess", 450.0, 1.0, 1.0, 8.0), None);
    }

    #[test]
    fn geometry_of_a_bend() {
        // V 16, t 2, square, r 0.16 V: 6.111 mm of travel [computed].
        near(travel(16.0, 2.0, 2.56, 90.0), 6.111, 0.001);
        near(travel(8.0, 1.0, 50.0, 90.0), 0.0, 0.0);
        // Smallest leg over V by included angle [source, printed rounded up].
        for (included, factor) in [(30.0, 1.94), (60.0, 1.00), (90.0, 0.71), (120.0, 0.58)] {
            let exact = smallest_leg(1.0, included);
            assert!(
                exact <= factor + 1e-9 && exact > factor - 0.01,
                "{included}"
            );
        }
    }

    #[test]
    fn deductions() {
        // (A, r, t, K) to BD [computed]; included angle is 180 − A.
        near(deduction(90.0, 2.0, 2.0, Some(0.33)), 3.8217, 0.0001);
        near(deduction(120.0, 4.75, 3.2, Some(0.33)), 3.0998, 0.0001);
        near(deduction(60.0, 3.0, 2.0, Some(0.42)), 9.2780, 0.0001);
        // With k of DIN 6935: square, r 4, t 2 gives 4.4594 [computed].
        near(deduction(90.0, 4.0, 2.0, None), 4.4594, 0.0001);
        near(din_k(0.0, 2.0), 0.0, 0.0);
        near(din_k(11.0, 2.0), 1.0, 0.0);
    }

    #[test]
    fn flattening_and_stepping() {
        // Four times 1.5·400·500·1/8 N [computed].
        near(flattening_force(4.0, 400.0, 500.0, 1.0), 150.0, 1e-9);
        // R 80, t 2, 0.5 mm: acos(1 − 0.5/82) = 6.3308°, and 90/12.6616 = 7.108 [computed].
        near(steps(90.0, 80.0, 2.0, 0.5), 8.0, 0.0);
        // 1 − depth/(R + t) = cos 5°, so 90° is nine steps of 10° exactly [computed].
        let depth = 100.0 * (1.0 - 5.0_f64.to_radians().cos());
        near(steps(90.0, 98.0, 2.0, depth), 9.0, 0.0);
        near(steps(90.1, 98.0, 2.0, depth), 10.0, 0.0);
        near(steps(5.0, 80.0, 2.0, 0.5), 1.0, 0.0);
        near(steps(90.0, 0.0, 2.0, 100.0), 1.0, 0.0);
        assert!(steps(90.0, 80.0, 2.0, 0.0).is_infinite());
    }

    #[test]
    fn a_tip_stops_at_the_walls_or_at_the_bottom() {
        // V 16 at 85°, 1 mm tip: 8/tan 42.5° − (1/sin 42.5° − 1) = 8.7305 − 0.4802 [computed].
        near(free_depth(16.0, 85.0, 15.0, 1.0), 8.2503, 0.0001);
        near(free_depth(16.0, 85.0, 8.0, 1.0), 8.0, 0.0);
    }
}
