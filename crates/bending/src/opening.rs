//! Which V opening a thickness usually wants, where the shop's own table says nothing.

use crate::number::length_of;
use units::Length;

/// V openings dies are commonly made in, millimetres `[source]`.
pub const STOCK_MM: [i64; 21] = [
    4, 6, 7, 8, 10, 12, 14, 16, 18, 20, 25, 32, 40, 50, 63, 80, 100, 125, 160, 200, 250,
];

/// The usual V opening for a thickness.
///
/// **Formula** 6·t below 2.5 mm, 8·t up to 9 mm, 10·t from 9 mm, 12·t above 12 mm.
///
/// **Source** a middle course `[trade]`: at least four published rules disagree, from 6 to 12
/// thicknesses by range `[source]`. The shop's own table goes first.
///
/// **Valid for** mild steel; strong steel wants 10 to 14 thicknesses `[trade]`.
///
/// **Units** lengths.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use units::Length;
/// let mm = Length::from_whole_mm;
/// assert_eq!(bending::opening::usual(mm(3)), mm(24));
/// ```
#[must_use]
pub fn usual(t: Length) -> Length {
    let mm = Length::from_whole_mm;
    let times = if t < Length::from_mm(2.5) {
        6.0
    } else if t < mm(9) {
        8.0
    } else if t <= mm(12) {
        10.0
    } else {
        12.0
    };
    length_of(times * t.mm())
}

/// The stock V opening nearest to a wanted one; of two as near, the wider, which takes less force.
///
/// **Formula** the least |stock − wanted| over [`STOCK_MM`].
///
/// **Source** the series `[source]`.
///
/// **Valid for** a first guess: the dies the shop owns decide.
///
/// **Units** lengths.
///
/// **Errors** none.
///
/// **Example**
/// ```
/// use units::Length;
/// let mm = Length::from_whole_mm;
/// assert_eq!(bending::opening::nearest_stock(mm(24)), mm(25));
/// assert_eq!(bending::opening::nearest_stock(mm(9)), mm(10));
/// ```
#[must_use]
pub fn nearest_stock(wanted: Length) -> Length {
    let nearest = |best: Length, stock: Length| {
        if (stock - wanted).abs() <= (best - wanted).abs() {
            stock
        } else {
            best
        }
    };
    STOCK_MM
        .iter()
        .map(|mm| Length::from_whole_mm(*mm))
        .reduce(nearest)
        .unwrap_or(wanted)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rule_changes_where_it_says() {
        for (t, v) in [
            (1.0, 6.0),
            (2.49, 14.94),
            (2.5, 20.0),
            (8.0, 64.0),
            (9.0, 90.0),
            (12.0, 120.0),
            (15.0, 180.0),
        ] {
            assert_eq!(usual(Length::from_mm(t)), Length::from_mm(v), "{t}");
        }
    }

    #[test]
    fn far_from_the_series_its_end_is_nearest() {
        assert_eq!(nearest_stock(Length::ZERO), Length::from_whole_mm(4));
        assert_eq!(
            nearest_stock(Length::from_whole_mm(900)),
            Length::from_whole_mm(250)
        );
        for mm in STOCK_MM {
            assert_eq!(
                nearest_stock(Length::from_whole_mm(mm)),
                Length::from_whole_mm(mm)
            );
        }
    }
}
