//! Moves: small changes of an answer. Each returns whether it changed anything.

use crate::{Place, Problem, Sequences, Slot};
use rand::{Rng, RngExt};

/// Longest run of consecutive jobs moved together.
const BLOCK_MOST: usize = 6;
/// Jobs drawn to find one that hurts. More make the move greedier: with 8 the same few jobs come up
/// at every step.
const PAINS_DRAWN: usize = 4;

/// Makes one random change that keeps the answer well formed: every job at most once, at a place
/// of its own, pinned slots untouched. `pains` is what each job adds to the cost, or empty.
pub(crate) fn shake<P: Problem, R: Rng>(
    problem: &P,
    answer: &mut Sequences,
    pains: &[i64],
    rng: &mut R,
) -> bool {
    match rng.random_range(0..100u32) {
        0..25 => hasten(problem, answer, pains, rng),
        25..55 => relocate(problem, answer, rng),
        55..70 => swap(problem, answer, rng),
        70..92 => move_block(problem, answer, rng),
        _ => change_way(problem, answer, rng),
    }
}

/// A job that hurts comes forward: the worst of a few drawn at random, somewhere earlier in the
/// line of one of its machines.
fn hasten<P: Problem, R: Rng>(
    problem: &P,
    answer: &mut Sequences,
    pains: &[i64],
    rng: &mut R,
) -> bool {
    if pains.is_empty() {
        return relocate(problem, answer, rng);
    }
    let drawn = (0..PAINS_DRAWN).filter_map(|_| pick_slot(problem, answer, rng));
    let worst = drawn.max_by_key(|&(m, p)| pains.get(answer.machines[m][p].job).copied());
    let Some((machine, position)) = worst else {
        return false;
    };
    let slot = answer.machines[machine][position];
    if pains.get(slot.job).copied().unwrap_or(0) == 0 {
        return relocate(problem, answer, rng);
    }
    let Some(&place) = pick(problem.places(slot.job), rng) else {
        return false;
    };
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
    (place.machine, at, place.way) != (machine, position, slot.way)
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
fn relocate<P: Problem, R: Rng>(problem: &P, answer: &mut Sequences, rng: &mut R) -> bool {
    let Some((machine, position)) = pick_slot(problem, answer, rng) else {
        return false;
    };
    let slot = answer.machines[machine].remove(position);
    let beside = if rng.random_range(0..2u32) == 0 {
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
    match target {
        Some((place, at)) => {
            let new = Slot {
                job: slot.job,
                way: place.way,
            };
            answer.machines[place.machine].insert(at, new);
            (place.machine, at, place.way) != (machine, position, slot.way)
        }
        None => {
            answer.machines[machine].insert(position, slot);
            false
        }
    }
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
fn swap<P: Problem, R: Rng>(problem: &P, answer: &mut Sequences, rng: &mut R) -> bool {
    let (Some(one), Some(two)) = (
        pick_slot(problem, answer, rng),
        pick_slot(problem, answer, rng),
    ) else {
        return false;
    };
    if one == two {
        return false;
    }
    let (first, second) = (answer.machines[one.0][one.1], answer.machines[two.0][two.1]);
    let (Some(first), Some(second)) = (
        way_on(problem, first, one.0, two.0),
        way_on(problem, second, two.0, one.0),
    ) else {
        return false;
    };
    answer.machines[one.0][one.1] = second;
    answer.machines[two.0][two.1] = first;
    true
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
fn move_block<P: Problem, R: Rng>(problem: &P, answer: &mut Sequences, rng: &mut R) -> bool {
    let Some((machine, position)) = pick_slot(problem, answer, rng) else {
        return false;
    };
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
    let Some(block) = block else { return false };
    answer.machines[machine].drain(position..position + length);
    let first = problem.pinned(to).len();
    let at = rng.random_range(first..=answer.machines[to].len());
    answer.machines[to].splice(at..at, block);
    (to, at) != (machine, position)
}

/// The same job at the same position, done another way.
fn change_way<P: Problem, R: Rng>(problem: &P, answer: &mut Sequences, rng: &mut R) -> bool {
    let Some((machine, position)) = pick_slot(problem, answer, rng) else {
        return false;
    };
    let slot = answer.machines[machine][position];
    let others: Vec<usize> = problem
        .places(slot.job)
        .iter()
        .filter(|place| place.machine == machine && place.way != slot.way)
        .map(|place| place.way)
        .collect();
    match pick(&others, rng) {
        Some(&way) => {
            answer.machines[machine][position] = Slot { job: slot.job, way };
            true
        }
        None => false,
    }
}
