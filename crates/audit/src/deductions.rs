//! The deduction of a bend: the shop's own when it has measured one, else the formula.

use crate::hit::{Hit, SHARP};
use crate::mechanics;
use model::{Bend, Part, Shop};

/// How far a row's included angle may be from the bend's, in degrees. The last bits of an angle
/// written in decimals must not decide it.
const SAME_ANGLE: f64 = 0.01 + 1e-9;

/// A deduction in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Deducted {
    pub(crate) mm: f64,
    /// The least and the greatest V the shop has measured, when the V asked for lies outside. The
    /// deduction is then the formula's, so that the rest of the run can still be judged.
    pub(crate) outside: Option<(f64, f64)>,
}

/// The deduction of a bend over a V opening that gives it this inside radius. For a stepped bend
/// the radius is the one asked for; a hem counts as the sharp bend of its first hit.
pub(crate) fn deducted(
    shop: &Shop,
    part: &Part,
    bend: &Bend,
    hit: Hit,
    v: f64,
    radius: f64,
) -> Deducted {
    let included = match hit {
        Hit::Air | Hit::Stepped => bend.angle.get(),
        Hit::Sharp | Hit::Flatten { .. } => SHARP,
    };
    let by_formula =
        mechanics::deduction(included, radius, part.thickness.mm(), shop.rules.k_factor);
    let rows = match hit {
        Hit::Air => rows(shop, part, included),
        _ => Vec::new(),
    };
    let (Some(first), Some(last)) = (rows.first(), rows.last()) else {
        return Deducted {
            mm: by_formula,
            outside: None,
        };
    };
    match between(&rows, v) {
        Some(mm) => Deducted { mm, outside: None },
        None => Deducted {
            mm: by_formula,
            outside: Some((first.0, last.0)),
        },
    }
}

/// V openings and deductions the shop has measured for bends like this, by rising V.
fn rows(shop: &Shop, part: &Part, included: f64) -> Vec<(f64, f64)> {
    let mut rows: Vec<(f64, f64)> = shop
        .deductions
        .iter()
        .filter(|row| row.material == part.material && row.thickness == part.thickness)
        .filter(|row| (row.angle.get() - included).abs() <= SAME_ANGLE)
        .map(|row| (row.v.mm(), row.deduction.mm()))
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    rows
}

/// On the straight line between the rows at either side of V.
fn between(rows: &[(f64, f64)], v: f64) -> Option<f64> {
    let below = rows.iter().rev().find(|row| row.0 <= v)?;
    let above = rows.iter().find(|row| row.0 >= v)?;
    let apart = above.0 - below.0;
    if apart <= 0.0 {
        return Some(below.1);
    }
    Some(below.1 + (above.1 - below.1) * (v - below.0) / apart)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_joined_by_straight_lines_and_end_where_they_end() {
        let rows = [(12.0, 3.4), (16.0, 3.7), (20.0, 4.2)];
        let cases = [
            (11.9, None),
            (12.0, Some(3.4)),
            (14.0, Some(3.55)),
            (16.0, Some(3.7)),
            (19.0, Some(4.075)),
            (20.0, Some(4.2)),
            (20.1, None),
        ];
        for (v, expected) in cases {
            let found = between(&rows, v);
            let near = |pair: (f64, f64)| (pair.0 - pair.1).abs() < 1e-12;
            assert_eq!(found.is_some(), expected.is_some(), "V {v}");
            assert!(found.zip(expected).is_none_or(near), "V {v}: {found:?}");
        }
        assert_eq!(between(&[], 16.0), None);
        assert_eq!(between(&rows, f64::NAN), None);
    }
}
