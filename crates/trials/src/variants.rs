//! The search as it is, and with each of its parts left out.

use search::{Effort, Habit, Move};

/// Kinds of moves that are usually tried, but for [`Move::Way`]: no published job has two ways.
const KINDS: [Move; 5] = [
    Move::Hasten,
    Move::JoinAlike,
    Move::Relocate,
    Move::Swap,
    Move::Block,
];
/// Kinds that are usually not tried.
const UNUSED: [Move; 2] = [Move::Reverse, Move::Trade];
/// Share of these where they are.
const SHARE: u32 = 15;
const HABITS: [Habit; 6] = [
    Habit::GrowingCycles,
    Habit::Crossing,
    Habit::Breeding,
    Habit::Forecasts,
    Habit::GivingUp,
    Habit::ScaledHeat,
];

/// The usual effort under a name, and others that differ from it in one part each.
#[must_use]
pub fn variants(usual: Effort) -> Vec<(String, Effort)> {
    let mut variants = vec![("as it is".to_owned(), usual)];
    for kind in KINDS {
        let mix = usual.mix.without(kind);
        variants.push((format!("without {kind:?}"), Effort { mix, ..usual }));
    }
    for habit in HABITS {
        let without = Some(habit);
        variants.push((format!("without {habit:?}"), Effort { without, ..usual }));
    }
    for kind in UNUSED {
        let mix = usual.mix.with(kind, SHARE);
        variants.push((format!("with {kind:?}"), Effort { mix, ..usual }));
    }
    variants
}
