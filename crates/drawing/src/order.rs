//! An order for bends of which a drawing says none, and what it brings with it.
//!
//! One direction of the blank after the other, in each from the edges inward. What a section cannot
//! see, box sides, follows from it.

use crate::bends::FlatBend;
use model::Edge;
use units::Length;

/// A bend with its edge, in the order in which it is made.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Turn<'a> {
    pub(crate) bend: &'a FlatBend,
    pub(crate) edge: Edge,
}

/// The order, and whether bends of each direction would have to go before the other's.
pub(crate) fn order(bends: &[FlatBend], blank: (Length, Length)) -> (Vec<Turn<'_>>, bool) {
    let along = family(bends, true, blank.1);
    let across = family(bends, false, blank.0);
    let along_first = any_beyond(&along, &across);
    let across_first = any_beyond(&across, &along);
    let (mut first, second) = if along_first && !across_first {
        (along, across)
    } else {
        (across, along)
    };
    first.extend(second);
    (first, along_first && across_first)
}

/// Bends of one direction: the outermost first, from one edge and the other in turn.
fn family(bends: &[FlatBend], along: bool, size: Length) -> Vec<Turn<'_>> {
    let (near, far) = if along {
        (Edge::A, Edge::B)
    } else {
        (Edge::C, Edge::D)
    };
    let of = |bend: &&FlatBend| bend.along == along;
    let (mut one, mut other): (Vec<&FlatBend>, Vec<&FlatBend>) = bends
        .iter()
        .filter(of)
        .partition(|bend| bend.position <= size.half());
    one.sort_by_key(|bend| bend.position);
    other.sort_by_key(|bend| -bend.position);
    let mut turns = Vec::new();
    for rank in 0..one.len().max(other.len()) {
        let mut pair = [
            one.get(rank).map(|bend| Turn { bend, edge: near }),
            other.get(rank).map(|bend| Turn { bend, edge: far }),
        ];
        if rank % 2 == 1 {
            pair.reverse();
        }
        turns.extend(pair.into_iter().flatten());
    }
    turns
}

/// Whether a bend reaches past the line of one of the other direction into its flange's strip, so that
/// it cannot be made once that flange stands.
fn any_beyond(ones: &[Turn<'_>], others: &[Turn<'_>]) -> bool {
    let half_mm = Length::from_nanometres(500_000);
    ones.iter().any(|one| {
        others.iter().any(|other| {
            let line = other.bend.position;
            same_way(one, other)
                && match other.edge {
                    Edge::A | Edge::C => one.bend.span.0 < line - half_mm,
                    Edge::B | Edge::D => one.bend.span.1 > line + half_mm,
                }
        })
    })
}

fn same_way(one: &Turn<'_>, other: &Turn<'_>) -> bool {
    one.bend.direction == other.bend.direction
}

/// The lines of box sides made before, at or beyond both ends of a bend, nearest first on each side.
pub(crate) fn sides<'a, 'b>(
    turn: &Turn<'_>,
    before: &'b [Turn<'a>],
) -> Option<(&'b Turn<'a>, &'b Turn<'a>)> {
    let half_mm = Length::from_nanometres(500_000);
    let standing = || {
        before
            .iter()
            .filter(|other| other.bend.along != turn.bend.along && same_way(turn, other))
    };
    let left = standing()
        .filter(|other| matches!(other.edge, Edge::A | Edge::C))
        .filter(|other| other.bend.position <= turn.bend.span.0 + half_mm)
        .max_by_key(|other| other.bend.position)?;
    let right = standing()
        .filter(|other| matches!(other.edge, Edge::B | Edge::D))
        .filter(|other| other.bend.position >= turn.bend.span.1 - half_mm)
        .min_by_key(|other| other.bend.position)?;
    Some((left, right))
}
