//! Moves: small changes of an answer. Each tells where it changed anything.

use crate::{Place, Problem, Sequences, Slot, Touched};
use rand::{Rng, RngExt};

/// Longest run of consecutive jobs moved together.
const BLOCK_MOST: usize = 6;
/// Jobs drawn to find one that hurts. More make the move greedier: with 8 the same few jobs come up
/// at every step.
const PAINS_DRAWN: usize = 4;

/// A kind of move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Move {
    /// A job that hurts comes forward.
    Hasten,
    /// One job beside a job that is like it.
    JoinAlike,
    /// One job anywhere.
    Relocate,
    /// Two jobs change places.
    Swap,
    /// Consecutive jobs elsewhere together.
    Block,
    /// The same job at the same position, done another way.
    Way,
}

/// How often each kind of move is tried: shares, of which only the proportions matter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mix {
    shares: [u32; 6],
}

const KINDS: [Move; 6] = [
    Move::Hasten,
    Move::JoinAlike,
    Move::Relocate,
    Move::Swap,
    Move::Block,
    Move::Way,
];

impl Default for Mix {
    /// The shares that did best; docs/concepts/search.md has the comparison.
    fn default() -> Mix {
        Mix {
            shares: [25, 15, 15, 15, 22, 8],
        }
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
        for (slot, of) in self.shares.iter_mut().zip(KINDS) {
            if of == kind {
                *slot = share;
            }
        }
        self
    }

    fn draw<R: Rng>(self, rng: &mut R) -> Move {
        let all: u32 = self.shares.iter().sum();
        let mut left = rng.random_range(0..all.max(1));
        for (share, kind) in self.shares.into_iter().zip(KINDS) {
            if left < share {
                return kind;
            }
            left -= share;
        }
        Move::Relocate
    }
}

/// Makes one random change that keeps the answer well formed: every job at most once, at a place
/// of its own, pinned slots untouched. `pains` is what each job adds to the cost, or empty. Tells
/// what it touched; `None` when the answer is the same as before.
pub(crate) fn shake<P: Problem, R: Rng>(
    problem: &P,
    mix: Mix,
    answer: &mut Sequences,
    pains: &[i64],
    rng: &mut R,
) -> Option<Touched> {
    match mix.draw(rng) {
        Move::Hasten => hasten(problem, answer, pains, rng),
        Move::JoinAlike => relocate(problem, answer, true, rng),
        Move::Relocate => relocate(problem, answer, false, rng),
        Move::Swap => swap(problem, answer, rng),
        Move::Block => move_block(problem, answer, rng),
        Move::Way => change_way(problem, answer, rng),
    }
}

/// A job that hurts comes forward: the worst of a few drawn at random, somewhere earlier in the
/// line of one of its machines.
fn hasten<P: Problem, R: Rng>(
    problem: &P,
    answer: &mut Sequences,
    pains: &[i64],
    rng: &mut R,
) -> Option<Touched> {
    if pains.is_empty() {
        return relocate(problem, answer, true, rng);
    }
    let drawn = (0..PAINS_DRAWN).filter_map(|_| pick_slot(problem, answer, rng));
    let worst = drawn.max_by_key(|&(m, p)| pains.get(answer.machines[m][p].job).copied());
    let (machine, position) = worst?;
    let slot = answer.machines[machine][position];
    if pains.get(slot.job).copied().unwrap_or(0) == 0 {
        return relocate(problem, answer, true, rng);
    }
    let place = *pick(problem.places(slot.job), rng)?;
    answer.machines[machine].remove(position);
    // As far along another machine's line as it stands along its own.
    let line = answer.machines[place.machine].len();
    let along = if place.machine == machine {
        position
    } else {
        position * line / (answer.machines[machine].len() + 1)
    };
    let first = problem.pinned(place.machine).len();
    let at = rng.random_range(first..=along.clamp(first, line));
    answer.machines[place.machine].insert(
        at,
        Slot {
            job: slot.job,
            way: place.way,
        },
    );
    moved(
        (machine, position, slot.way),
        (place.machine, at, place.way),
    )
}

/// What a job taken from one place and put at another touches.
fn moved(from: (usize, usize, usize), to: (usize, usize, usize)) -> Option<Touched> {
    (from != to).then(|| Touched::nothing().and(from.0, from.1).and(to.0, to.1))
}

fn pick<'a, T, R: Rng>(items: &'a [T], rng: &mut R) -> Option<&'a T> {
    (!items.is_empty()).then(|| &items[rng.random_range(0..items.len())])
}

/// A random placed job that is not pinned: its machine and position.
fn pick_slot<P: Problem, R: Rng>(
    problem: &P,
    answer: &Sequences,
    rng: &mut R,
) -> Option<(usize, usize)> {
    let loose = |machine: usize| answer.machines[machine].len() - problem.pinned(machine).len();
    let total: usize = (0..answer.machines.len()).map(loose).sum();
    if total == 0 {
        return None;
    }
    let mut index = rng.random_range(0..total);
    for machine in 0..answer.machines.len() {
        if index < loose(machine) {
            return Some((machine, problem.pinned(machine).len() + index));
        }
        index -= loose(machine);
    }
    None
}

/// One job elsewhere: beside a job that is like it, or anywhere.
fn relocate<P: Problem, R: Rng>(
    problem: &P,
    answer: &mut Sequences,
    to_alike: bool,
    rng: &mut R,
) -> Option<Touched> {
    let (machine, position) = pick_slot(problem, answer, rng)?;
    let slot = answer.machines[machine].remove(position);
    let beside = if to_alike {
        beside_alike(problem, answer, slot.job, rng)
    } else {
        None
    };
    let target = beside.or_else(|| {
        let place = pick(problem.places(slot.job), rng)?;
        let first = problem.pinned(place.machine).len();
        let last = answer.machines[place.machine].len();
        Some((*place, rng.random_range(first..=last)))
    });
    let Some((place, at)) = target else {
        answer.machines[machine].insert(position, slot);
        return None;
    };
    let new = Slot {
        job: slot.job,
        way: place.way,
    };
    answer.machines[place.machine].insert(at, new);
    moved(
        (machine, position, slot.way),
        (place.machine, at, place.way),
    )
}

fn beside_alike<P: Problem, R: Rng>(
    problem: &P,
    answer: &Sequences,
    job: usize,
    rng: &mut R,
) -> Option<(Place, usize)> {
    let other = *pick(problem.alike(job), rng)?;
    let (machine, position) = answer.find(other)?;
    let ways: Vec<Place> = problem
        .places(job)
        .iter()
        .copied()
        .filter(|place| place.machine == machine)
        .collect();
    let place = *pick(&ways, rng)?;
    let at = position + usize::from(rng.random_range(0..2u32) == 0);
    Some((place, at.max(problem.pinned(machine).len())))
}

/// Two jobs change places; each takes a way it has on the other's machine.
fn swap<P: Problem, R: Rng>(problem: &P, answer: &mut Sequences, rng: &mut R) -> Option<Touched> {
    let (one, two) = (
        pick_slot(problem, answer, rng)?,
        pick_slot(problem, answer, rng)?,
    );
    if one == two {
        return None;
    }
    let (first, second) = (answer.machines[one.0][one.1], answer.machines[two.0][two.1]);
    let first = way_on(problem, first, one.0, two.0)?;
    let second = way_on(problem, second, two.0, one.0)?;
    answer.machines[one.0][one.1] = second;
    answer.machines[two.0][two.1] = first;
    Some(Touched::nothing().and(one.0, one.1).and(two.0, two.1))
}

/// The slot as it would be on another machine: unchanged on its own, else the first way there.
fn way_on<P: Problem>(problem: &P, slot: Slot, from: usize, to: usize) -> Option<Slot> {
    if from == to {
        return Some(slot);
    }
    let place = problem
        .places(slot.job)
        .iter()
        .find(|place| place.machine == to)?;
    Some(Slot {
        job: slot.job,
        way: place.way,
    })
}

/// Consecutive jobs elsewhere together: what shares a bed moves as one.
fn move_block<P: Problem, R: Rng>(
    problem: &P,
    answer: &mut Sequences,
    rng: &mut R,
) -> Option<Touched> {
    let (machine, position) = pick_slot(problem, answer, rng)?;
    let longest = (answer.machines[machine].len() - position).min(BLOCK_MOST);
    let length = rng.random_range(1..=longest);
    let to = if rng.random_range(0..3u32) > 0 {
        machine
    } else {
        rng.random_range(0..answer.machines.len())
    };
    let block: Option<Vec<Slot>> = answer.machines[machine][position..position + length]
        .iter()
        .map(|slot| way_on(problem, *slot, machine, to))
        .collect();
    let block = block?;
    answer.machines[machine].drain(position..position + length);
    let first = problem.pinned(to).len();
    let at = rng.random_range(first..=answer.machines[to].len());
    answer.machines[to].splice(at..at, block);
    moved((machine, position, 0), (to, at, 0))
}

/// The same job at the same position, done another way.
fn change_way<P: Problem, R: Rng>(
    problem: &P,
    answer: &mut Sequences,
    rng: &mut R,
) -> Option<Touched> {
    let (machine, position) = pick_slot(problem, answer, rng)?;
    let slot = answer.machines[machine][position];
    let others: Vec<usize> = problem
        .places(slot.job)
        .iter()
        .filter(|place| place.machine == machine && place.way != slot.way)
        .map(|place| place.way)
        .collect();
    let way = *pick(&others, rng)?;
    answer.machines[machine][position] = Slot { job: slot.job, way };
    Some(Touched::nothing().and(machine, position))
}
