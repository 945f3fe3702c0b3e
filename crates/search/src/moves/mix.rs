//! Kinds of moves and how often each is tried.

use rand::{Rng, RngExt};

/// A kind of move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Move {
    /// A job that hurts comes forward.
    Hasten,
    /// One job, or one with those after or before it, beside a job that is like it.
    JoinAlike,
    /// One job anywhere.
    Relocate,
    /// Two jobs change places.
    Swap,
    /// Consecutive jobs elsewhere together.
    Block,
    /// The same job at the same position, done another way.
    Way,
    /// Consecutive jobs in reverse order.
    Reverse,
    /// Two runs of consecutive jobs change places.
    Trade,
}

impl Move {
    /// Every kind, in the order of their shares.
    pub const ALL: [Move; 8] = [
        Move::Hasten,
        Move::JoinAlike,
        Move::Relocate,
        Move::Swap,
        Move::Block,
        Move::Way,
        Move::Reverse,
        Move::Trade,
    ];
}

/// How often each kind of move is tried: shares, of which only the proportions matter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mix {
    shares: [u32; Move::ALL.len()],
}

impl Default for Mix {
    /// The shares that did best; docs/concepts/search.md has the comparison.
    fn default() -> Mix {
        let shares = [25, 20, 15, 15, 22, 8, 0, 0];
        Mix { shares }
    }
}

impl Mix {
    /// Every kind alike, but none of some.
    #[must_use]
    pub fn without(self, kind: Move) -> Mix {
        self.with(kind, 0)
    }

    /// The same with another share of one kind.
    #[must_use]
    pub fn with(mut self, kind: Move, share: u32) -> Mix {
        for (slot, of) in self.shares.iter_mut().zip(Move::ALL) {
            if of == kind {
                *slot = share;
            }
        }
        self
    }

    pub(crate) fn draw<R: Rng>(self, rng: &mut R) -> Move {
        let all: u32 = self.shares.iter().sum();
        let mut left = rng.random_range(0..all.max(1));
        for (share, kind) in self.shares.into_iter().zip(Move::ALL) {
            if left < share {
                return kind;
            }
            left -= share;
        }
        Move::Relocate
    }
}
