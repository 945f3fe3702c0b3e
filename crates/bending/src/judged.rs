//! A number together with whether its formula is still inside the range it was stated for.

/// A computed value and the verdict on the range of its formula.
///
/// Outside its range a formula still gives a number: the value is kept, so that a plan can be
/// shown, and the range that was left is cited beside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judged<T> {
    /// The number.
    pub value: T,
    /// Whether the formula was meant for these inputs.
    pub validity: Validity,
}

/// Whether a formula was used inside the range stated for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Validity {
    /// Inside every stated range.
    Inside,
    /// Outside; the text cites the stated range that is left.
    Outside(&'static str),
}

impl<T> Judged<T> {
    /// A value inside the range of its formula.
    pub const fn inside(value: T) -> Judged<T> {
        Judged {
            value,
            validity: Validity::Inside,
        }
    }

    /// A value outside `range`, the stated range that is left.
    pub const fn outside(value: T, range: &'static str) -> Judged<T> {
        Judged {
            value,
            validity: Validity::Outside(range),
        }
    }

    /// Turns the value into another, keeping the verdict.
    pub fn map<U>(self, turn: impl FnOnce(T) -> U) -> Judged<U> {
        Judged {
            value: turn(self.value),
            validity: self.validity,
        }
    }

    /// Whether the formula was used inside its range.
    pub const fn is_inside(&self) -> bool {
        matches!(self.validity, Validity::Inside)
    }
}

impl Validity {
    /// The stated range that is left, if one is.
    #[must_use]
    pub const fn range_left(self) -> Option<&'static str> {
        match self {
            Validity::Inside => None,
            Validity::Outside(range) => Some(range),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_verdict_survives_a_change_of_unit() {
        let metres = Judged::outside(2_500.0, "t up to 10 mm").map(|mm| mm / 1000.0);
        assert_eq!(metres.validity.range_left(), Some("t up to 10 mm"));
        assert!((metres.value - 2.5_f64).abs() < 1e-12);
        assert!(!metres.is_inside());
        assert!(Judged::inside(1).is_inside());
    }
}
