//! A section for a terminal.

use crate::Outline;
use crate::outline::Point;

/// Draws the outline in half blocks, at most `columns` wide and half as many lines high.
///
/// A character shows two square dots, one above the other. A dot is set where the sheet comes
/// within half a dot of its middle, so that a sheet thinner than a dot is still an unbroken line.
/// Lines end in a line feed and have no trailing blanks. Zero columns give nothing.
#[must_use]
pub fn ascii(outline: &Outline, columns: usize) -> String {
    let bounds = outline.bounds();
    if columns == 0 {
        return String::new();
    }
    #[allow(clippy::cast_precision_loss)] // a terminal's width
    let dots = columns as f64;
    let side = (bounds.width().max(bounds.height()) / dots).max(f64::MIN_POSITIVE);
    let across = count(bounds.width() / side, columns);
    let down = count(bounds.height() / side, columns);
    // Centred, so that a symmetric part is drawn symmetric.
    let left = bounds.low.x - (as_mm(across, side) - bounds.width()) / 2.0;
    let top = bounds.high.y + (as_mm(down, side) - bounds.height()) / 2.0;
    let set = |column: usize, row: usize| {
        let x = left + as_mm(column, side) + side / 2.0;
        let y = top - as_mm(row, side) - side / 2.0;
        row < down && outline.depth(Point::new(x, y)) > -side * HALF_DOT
    };
    let mut text = String::new();
    for row in (0..down).step_by(2) {
        let line: String = (0..across)
            .map(|column| match (set(column, row), set(column, row + 1)) {
                (true, true) => '█',
                (true, false) => '▀',
                (false, true) => '▄',
                (false, false) => ' ',
            })
            .collect();
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

/// Half a dot, less a little, so that a line exactly between two rows is not drawn in both.
const HALF_DOT: f64 = 0.499;

#[allow(clippy::cast_precision_loss)] // a terminal's width
fn as_mm(dots: usize, side: f64) -> f64 {
    dots as f64 * side
}

/// A whole number of dots, at least one and at most `limit`.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss
)] // clamped to a terminal's width
fn count(dots: f64, limit: usize) -> usize {
    (dots - 1e-9).ceil().clamp(1.0, limit as f64) as usize
}
