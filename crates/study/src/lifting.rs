//! Whether a person can lift the piece as often as it is bent: a screening.

use bending::lifting::{Grip, Lift, Spell, lifting_index, recommended_limit};
use units::{Degrees, Kilograms, Length};

/// The farthest the hands may be for the equation to hold.
const REACH_MOST: Length = Length::from_whole_mm(630);

/// A lift from the stack onto the brake.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LiftStudy {
    /// The task as assumed.
    pub lift: Lift,
    /// Whether the blank is wider than the equation knows: its reach then counts as the farthest
    /// known, and the limit is too high.
    pub beyond: bool,
    /// Mass each of the crew carries, shared evenly.
    pub each: Kilograms,
    /// Recommended weight limit.
    pub limit: Kilograms,
    /// `each` over `limit`; above 1 the risk rises.
    pub index: f64,
}

/// Screens the lifting of a blank by a crew, once a cycle.
///
/// **Formula** the revised lifting equation, [`bending::lifting`].
///
/// **Assumed**, common practice, no source: hands at the middle of the two shorter sides, so that they
/// are 200 mm and half of the shorter side from the ankles; lifted from a stack 750 mm high to a bed
/// 1 000 mm high, 45° to the side, once a cycle, for eight hours, with the poor grip that sheet
/// offers. A team lift is outside the equation: shared evenly, as here, it reads low.
#[must_use]
pub fn lift(blank: (Length, Length), mass: Kilograms, crew: u8, cycle_ms: i64) -> LiftStudy {
    let mm = Length::from_whole_mm;
    let reach = mm(200) + blank.0.min(blank.1).half();
    #[allow(clippy::cast_precision_loss)] // milliseconds of one piece
    let per_minute = 60_000.0 / cycle_ms.max(1) as f64;
    let lift = Lift {
        horizontal: reach.min(REACH_MOST),
        vertical: mm(750),
        travel: mm(250),
        asymmetry: Degrees::of(45.0),
        lifts_per_minute: per_minute,
        spell: Spell::EightHours,
        grip: Grip::Poor,
    };
    let each = Kilograms::of(mass.get() / f64::from(crew.max(1)));
    let limit = recommended_limit(&lift);
    LiftStudy {
        lift,
        beyond: reach > REACH_MOST,
        each,
        limit,
        index: lifting_index(each, limit),
    }
}
