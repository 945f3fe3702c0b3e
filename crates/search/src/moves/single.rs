//! Moves of single jobs.

use super::draw::{Ground, moved, pick, position};
use crate::{Problem, Sequences, Slot, Touched};
use rand::{Rng, RngExt};

/// Jobs drawn to find one that hurts. More make the move greedier: with 8 the same few jobs come up
/// at every step.
const PAINS_DRAWN: usize = 4;

/// A job that hurts comes forward: the worst of a few drawn at random, somewhere earlier in the
/// line of one of its machines.
pub(super) fn hasten<P: Problem, R: Rng>(
    ground: &Ground<'_, P>,
    answer: &mut Sequences,
    rng: &mut R,
) -> Option<Touched> {
    if ground.pains.is_empty() {
        return relocate(ground, answer, rng);
    }
    let pain = |job: usize| ground.pains.get(job).copied().unwrap_or(0);
    let drawn = (0..PAINS_DRAWN).filter_map(|_| ground.slot(answer, rng));
    let (machine, from) = drawn.max_by_key(|&(m, p)| pain(answer.machines[m][p].job))?;
    let slot = answer.machines[machine][from];
    if pain(slot.job) == 0 {
        return relocate(ground, answer, rng);
    }
    let place = *pick(ground.problem.places(slot.job), rng)?;
    // As far along another machine's line as it stands along its own.
    let line = answer.machines[place.machine].len();
    let along = if place.machine == machine {
        from
    } else {
        from * line / answer.machines[machine].len()
    };
    let first = ground.first(place.machine);
    let last = along.clamp(first, line.max(first));
    let at = rng.random_range(first..=last);
    put(answer, (machine, from), (place.machine, at), place.way)
}

/// One job anywhere, often near where it stands.
pub(super) fn relocate<P: Problem, R: Rng>(
    ground: &Ground<'_, P>,
    answer: &mut Sequences,
    rng: &mut R,
) -> Option<Touched> {
    let (machine, from) = ground.slot(answer, rng)?;
    let slot = answer.machines[machine][from];
    let place = *pick(ground.problem.places(slot.job), rng)?;
    let first = ground.first(place.machine);
    let at = if place.machine == machine {
        let last = answer.machines[machine].len() - 1;
        position(first, last, from, rng)
    } else {
        rng.random_range(first..=answer.machines[place.machine].len())
    };
    put(answer, (machine, from), (place.machine, at), place.way)
}

/// Takes a job from one place and puts it at another, a position in the line without it.
fn put(
    answer: &mut Sequences,
    from: (usize, usize),
    to: (usize, usize),
    way: usize,
) -> Option<Touched> {
    let old = answer.machines[from.0][from.1];
    let new = Slot { job: old.job, way };
    if from == to && old == new {
        return None;
    }
    if from.0 == to.0 {
        let line = &mut answer.machines[from.0];
        if from.1 < to.1 {
            line[from.1..=to.1].rotate_left(1);
        } else {
            line[to.1..=from.1].rotate_right(1);
        }
        line[to.1] = new;
    } else {
        answer.machines[from.0].remove(from.1);
        answer.machines[to.0].insert(to.1, new);
    }
    Some(moved(answer, from, to, 1))
}

/// Two jobs change places; each takes a way it has on the other's machine.
pub(super) fn swap<P: Problem, R: Rng>(
    ground: &Ground<'_, P>,
    answer: &mut Sequences,
    rng: &mut R,
) -> Option<Touched> {
    let one = ground.slot(answer, rng)?;
    let mut two = ground.slot(answer, rng)?;
    if one.0 == two.0 {
        let last = answer.machines[one.0].len() - 1;
        two.1 = position(ground.first(one.0), last, one.1, rng);
    }
    if one == two {
        return None;
    }
    let (first, second) = (answer.machines[one.0][one.1], answer.machines[two.0][two.1]);
    let to_two = ground.on(first, one.0, two.0)?;
    let to_one = ground.on(second, two.0, one.0)?;
    answer.machines[one.0][one.1] = to_one;
    answer.machines[two.0][two.1] = to_two;
    let touched = [one, two].iter().fold(Touched::nothing(), |touched, at| {
        let tail = answer.machines[at.0].len() - at.1 - 1;
        touched.and_before(at.0, at.1, tail)
    });
    Some(touched)
}

/// The same job at the same position, done another way.
pub(super) fn change_way<P: Problem, R: Rng>(
    ground: &Ground<'_, P>,
    answer: &mut Sequences,
    rng: &mut R,
) -> Option<Touched> {
    let (machine, from) = ground.slot(answer, rng)?;
    let slot = answer.machines[machine][from];
    let place = ground.any_way(slot.job, machine, rng)?;
    put(answer, (machine, from), (machine, from), place.way)
}
