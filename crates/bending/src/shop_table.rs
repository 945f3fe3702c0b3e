//! The shop's own measured deductions, by material, angle, thickness and V opening.

use std::cmp::Ordering;
use std::fmt;
use units::{Degrees, Length};

/// One measured deduction.
#[derive(Clone, Debug, PartialEq)]
pub struct DeductionRow {
    /// Material, as the shop calls it.
    pub material: String,
    /// Included angle the test piece was bent to.
    pub included: Degrees,
    /// Thickness.
    pub t: Length,
    /// V opening.
    pub v: Length,
    /// Deduction found, legs to the outer vertex, millimetres.
    pub deduction_mm: f64,
}

/// Why the table gives no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum TableError {
    /// Two rows for the same material, angle, thickness and V.
    Twice(Box<DeductionRow>),
    /// A thickness or V that is not above zero, or a deduction that is not a number.
    NotMeasured(Box<DeductionRow>),
    /// Nothing was measured in this material at this angle.
    NoSuchMaterial,
    /// Outside what was measured in thickness; the thinnest and thickest measured.
    Thickness {
        /// Thinnest measured.
        least: Length,
        /// Thickest measured.
        most: Length,
    },
    /// Outside what was measured in V at the nearest measured thicknesses.
    Opening {
        /// At this thickness,
        t: Length,
        /// the narrowest V measured
        least: Length,
        /// and the widest.
        most: Length,
    },
}

impl fmt::Display for TableError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            TableError::Twice(row) => {
                write!(
                    f,
                    "two rows for {} {} t {} V {}",
                    row.material, row.included, row.t, row.v
                )
            }
            TableError::NotMeasured(row) => write!(
                f,
                "not a measurement: {} {} t {} V {} deduction {}",
                row.material, row.included, row.t, row.v, row.deduction_mm
            ),
            TableError::NoSuchMaterial => write!(f, "nothing measured in this material and angle"),
            TableError::Thickness { least, most } => {
                write!(f, "thickness outside the {least} to {most} mm measured")
            }
            TableError::Opening { t, least, most } => {
                write!(
                    f,
                    "V opening outside the {least} to {most} mm measured at thickness {t} mm"
                )
            }
        }
    }
}

impl std::error::Error for TableError {}

/// Measured deductions, interpolated between and never beyond them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DeductionTable {
    /// Sorted by material, angle, thickness, V.
    rows: Vec<DeductionRow>,
}

impl DeductionTable {
    /// A table of these rows, in any order.
    ///
    /// # Errors
    /// [`TableError::Twice`] and [`TableError::NotMeasured`] with the row at fault.
    pub fn new(mut rows: Vec<DeductionRow>) -> Result<DeductionTable, TableError> {
        for row in &rows {
            if row.t <= Length::ZERO || row.v <= Length::ZERO || !row.deduction_mm.is_finite() {
                return Err(TableError::NotMeasured(Box::new(row.clone())));
            }
        }
        rows.sort_by(|a, b| order(a, b).then(a.v.cmp(&b.v)));
        for (before, after) in rows.iter().zip(rows.iter().skip(1)) {
            if order(before, after) == Ordering::Equal && before.v == after.v {
                return Err(TableError::Twice(Box::new(after.clone())));
            }
        }
        Ok(DeductionTable { rows })
    }

    /// The deduction for a bend.
    ///
    /// **Formula** linear in V between the two nearest measured V at one thickness, then linear in
    /// thickness between the two nearest measured thicknesses.
    ///
    /// **Source** the shop's own test pieces; they outrank every formula in this crate.
    ///
    /// **Valid for** inside what was measured, at the angle measured.
    ///
    /// **Units** lengths, degrees (included angle); millimetres.
    ///
    /// # Errors
    /// [`TableError`] outside what was measured, with the range; nothing is extrapolated.
    ///
    /// **Example**
    /// ```
    /// use bending::shop_table::{DeductionRow, DeductionTable};
    /// use units::{Degrees, Length};
    /// let mm = Length::from_whole_mm;
    /// let row = |v, deduction_mm| DeductionRow {
    ///     material: "S235".into(), included: Degrees::of(90.0), t: mm(2),
    ///     v: mm(v), deduction_mm };
    /// let table = DeductionTable::new(vec![row(12, 3.6), row(16, 4.0)])?;
    /// let between = table.deduction("S235", Degrees::of(90.0), mm(2), mm(14))?;
    /// assert!((between - 3.8).abs() < 1e-9);
    /// assert!(table.deduction("S235", Degrees::of(90.0), mm(2), mm(20)).is_err());
    /// # Ok::<(), bending::shop_table::TableError>(())
    /// ```
    pub fn deduction(
        &self,
        material: &str,
        included: Degrees,
        t: Length,
        v: Length,
    ) -> Result<f64, TableError> {
        let measured = self.rows.iter().filter(|row| {
            row.material == material && row.included.get().total_cmp(&included.get()).is_eq()
        });
        let (mut thinner, mut thicker) = (None, None);
        let (mut least, mut most) = (None, None);
        for row in measured {
            least = least.or(Some(row.t));
            most = Some(row.t);
            if row.t <= t {
                thinner = Some(row.t);
            }
            if row.t >= t {
                thicker = thicker.or(Some(row.t));
            }
        }
        let (Some(least), Some(most)) = (least, most) else {
            return Err(TableError::NoSuchMaterial);
        };
        let (Some(thinner), Some(thicker)) = (thinner, thicker) else {
            return Err(TableError::Thickness { least, most });
        };
        let below = self.at_thickness(material, included, thinner, v)?;
        let above = self.at_thickness(material, included, thicker, v)?;
        Ok(between((thinner, below), (thicker, above), t))
    }

    fn at_thickness(
        &self,
        material: &str,
        included: Degrees,
        t: Length,
        v: Length,
    ) -> Result<f64, TableError> {
        let measured = || {
            self.rows.iter().filter(move |row| {
                row.material == material
                    && row.included.get().total_cmp(&included.get()).is_eq()
                    && row.t == t
            })
        };
        let narrower = measured().rfind(|row| row.v <= v);
        let wider = measured().find(|row| row.v >= v);
        match (narrower, wider) {
            (Some(narrower), Some(wider)) => Ok(between(
                (narrower.v, narrower.deduction_mm),
                (wider.v, wider.deduction_mm),
                v,
            )),
            _ => {
                let least = measured().next().map_or(Length::ZERO, |row| row.v);
                let most = measured().next_back().map_or(Length::ZERO, |row| row.v);
                Err(TableError::Opening { t, least, most })
            }
        }
    }
}

fn order(a: &DeductionRow, b: &DeductionRow) -> Ordering {
    a.material
        .cmp(&b.material)
        .then(a.included.get().total_cmp(&b.included.get()))
        .then(a.t.cmp(&b.t))
}

/// The value at `at` on the line through two points; the first point's where they coincide.
fn between(low: (Length, f64), high: (Length, f64), at: Length) -> f64 {
    if high.0 == low.0 {
        return low.1;
    }
    low.1 + (high.1 - low.1) * ((at - low.0).mm() / (high.0 - low.0).mm())
}

#[cfg(test)]
mod tests {
    use super::*;

    const MM: fn(i64) -> Length = Length::from_whole_mm;
    const SQUARE: fn() -> Degrees = || Degrees::of(90.0);

    fn row(t: i64, v: i64, deduction_mm: f64) -> DeductionRow {
        DeductionRow {
            material: "mild".into(),
            included: SQUARE(),
            t: MM(t),
            v: MM(v),
            deduction_mm,
        }
    }

    fn table() -> DeductionTable {
        let rows = vec![
            row(3, 24, 6.0),
            row(1, 12, 2.4),
            row(3, 12, 5.0),
            row(1, 8, 2.0),
        ];
        DeductionTable::new(rows).unwrap()
    }

    #[test]
    fn interpolates_in_v_then_in_thickness() {
        let cases = [
            (1, 8, 2.0),
            (1, 10, 2.2),
            (1, 12, 2.4),
            (3, 18, 5.5),
            (2, 12, 3.7),
        ];
        for (t, v, expected) in cases {
            let found = table().deduction("mild", SQUARE(), MM(t), MM(v)).unwrap();
            assert!((found - expected).abs() < 1e-9, "t {t} V {v}: {found}");
        }
    }

    #[test]
    fn never_extrapolates() {
        let ask = |material, angle, t, v| {
            table()
                .deduction(material, Degrees::of(angle), MM(t), MM(v))
                .unwrap_err()
        };
        assert_eq!(ask("other", 90.0, 1, 8), TableError::NoSuchMaterial);
        assert_eq!(ask("mild", 120.0, 1, 8), TableError::NoSuchMaterial);
        assert_eq!(
            ask("mild", 90.0, 4, 24),
            TableError::Thickness {
                least: MM(1),
                most: MM(3)
            }
        );
        let opening = TableError::Opening {
            t: MM(1),
            least: MM(8),
            most: MM(12),
        };
        assert_eq!(ask("mild", 90.0, 1, 13), opening);
        assert_eq!(
            ask("mild", 90.0, 2, 24),
            opening,
            "one of the two thicknesses lacks V 24"
        );
        assert_eq!(
            DeductionTable::default().deduction("mild", SQUARE(), MM(1), MM(8)),
            Err(TableError::NoSuchMaterial)
        );
    }

    #[test]
    fn refuses_rows_that_cannot_be_measurements() {
        let twice = DeductionTable::new(vec![row(1, 8, 2.0), row(1, 8, 2.1)]);
        assert!(matches!(twice, Err(TableError::Twice(_))));
        for bad in [row(0, 8, 2.0), row(1, 0, 2.0), row(1, 8, f64::NAN)] {
            assert!(matches!(
                DeductionTable::new(vec![bad]),
                Err(TableError::NotMeasured(_))
            ));
        }
    }
}
