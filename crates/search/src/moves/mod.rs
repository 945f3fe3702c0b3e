//! Moves: small changes of an answer. Each tells where it changed anything.

mod draw;
mod mix;
mod runs;
mod single;

pub(crate) use draw::{Ground, Index};
pub use mix::{Mix, Move};

use crate::{Problem, Sequences, Touched};
use rand::Rng;

/// Makes one random change that keeps the answer well formed: every job at most once, at a place
/// of its own, pinned slots untouched. Tells what it touched; `None` when the answer is the same as
/// before.
pub(crate) fn shake<P: Problem, R: Rng>(
    ground: &Ground<'_, P>,
    kind: Move,
    answer: &mut Sequences,
    rng: &mut R,
) -> Option<Touched> {
    match kind {
        Move::Hasten => single::hasten(ground, answer, rng),
        Move::JoinAlike => runs::join_alike(ground, answer, rng),
        Move::Relocate => single::relocate(ground, answer, rng),
        Move::Swap => single::swap(ground, answer, rng),
        Move::Block => runs::move_block(ground, answer, rng),
        Move::Way => single::change_way(ground, answer, rng),
        Move::Reverse => runs::reverse(ground, answer, rng),
        Move::Trade => runs::trade(ground, answer, rng),
    }
}
