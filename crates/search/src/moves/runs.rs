//! Moves of consecutive jobs.

use super::draw::{Ground, few, moved, one_in, position};
use super::single::relocate;
use crate::{Problem, Sequences, Slot, Touched};
use rand::{Rng, RngExt};

/// Longest run of consecutive jobs moved together to another machine.
const BLOCK_MOST: usize = 6;

/// Two jobs of which one gains from following the other come together: one of them goes to the
/// other, alone or with those that follow or precede it.
pub(super) fn join_alike<P: Problem, R: Rng>(
    ground: &Ground<'_, P>,
    answer: &mut Sequences,
    rng: &mut R,
) -> Option<Touched> {
    let leader = ground.slot(answer, rng)?;
    let job = answer.machines[leader.0][leader.1].job;
    let Some(follower) = ground.like(job, rng) else {
        return relocate(ground, answer, rng);
    };
    // The follower brings those that follow it, or the leader those that precede it.
    let follows = one_in(2, rng);
    let (mover, target) = if follows {
        (follower, (leader.0, leader.1 + 1))
    } else {
        (leader, follower)
    };
    let (machine, at) = mover;
    let first = ground.first(machine);
    if at < first {
        return None;
    }
    let room = if follows {
        answer.machines[machine].len() - at
    } else {
        at + 1 - first
    };
    let room = if machine == target.0 {
        room
    } else {
        room.min(BLOCK_MOST)
    };
    let length = if one_in(2, rng) { 1 } else { few(room, rng) };
    let from = if follows { at } else { at + 1 - length };
    let mut to = target.1.max(ground.first(target.0));
    if machine == target.0 && to > from {
        if to < from + length {
            return None;
        }
        to -= length;
    }
    shift(ground, answer, (machine, from), length, (target.0, to), rng)
}

/// Consecutive jobs elsewhere together: what shares a bed moves as one.
pub(super) fn move_block<P: Problem, R: Rng>(
    ground: &Ground<'_, P>,
    answer: &mut Sequences,
    rng: &mut R,
) -> Option<Touched> {
    let (machine, from) = ground.slot(answer, rng)?;
    let to = if one_in(3, rng) {
        rng.random_range(0..answer.machines.len())
    } else {
        machine
    };
    let longest = answer.machines[machine].len() - from;
    let length = if one_in(2, rng) {
        rng.random_range(1..=longest.min(BLOCK_MOST))
    } else {
        few(
            if to == machine {
                longest
            } else {
                longest.min(BLOCK_MOST)
            },
            rng,
        )
    };
    let first = ground.first(to);
    let at = if to == machine {
        position(first, answer.machines[machine].len() - length, from, rng)
    } else {
        rng.random_range(first..=answer.machines[to].len())
    };
    shift(ground, answer, (machine, from), length, (to, at), rng)
}

/// Takes a run from one place and puts it at another, a position in the line without it. Single
/// jobs take any way they have there, others keep together and take the first.
fn shift<P: Problem, R: Rng>(
    ground: &Ground<'_, P>,
    answer: &mut Sequences,
    from: (usize, usize),
    length: usize,
    to: (usize, usize),
    rng: &mut R,
) -> Option<Touched> {
    let end = from.1 + length;
    if from.0 == to.0 {
        if from.1 == to.1 {
            return None;
        }
        let line = &mut answer.machines[from.0];
        if from.1 < to.1 {
            line[from.1..to.1 + length].rotate_left(length);
        } else {
            line[to.1..end].rotate_right(length);
        }
        return Some(moved(answer, from, to, length));
    }
    let run = &answer.machines[from.0][from.1..end];
    let run: Option<Vec<Slot>> = if let [slot] = *run {
        let place = ground.any_way(slot.job, to.0, rng)?;
        Some(vec![Slot {
            job: slot.job,
            way: place.way,
        }])
    } else {
        let there = |slot: &Slot| ground.on(*slot, from.0, to.0);
        run.iter().map(there).collect()
    };
    let run = run?;
    answer.machines[from.0].drain(from.1..end);
    answer.machines[to.0].splice(to.1..to.1, run);
    Some(moved(answer, from, to, length))
}

/// Consecutive jobs in reverse order.
pub(super) fn reverse<P: Problem, R: Rng>(
    ground: &Ground<'_, P>,
    answer: &mut Sequences,
    rng: &mut R,
) -> Option<Touched> {
    let (machine, from) = ground.slot(answer, rng)?;
    let line = &mut answer.machines[machine];
    let length = few(line.len() - from, rng);
    if length < 2 {
        return None;
    }
    line[from..from + length].reverse();
    let tail = line.len() - from - length;
    Some(Touched::nothing().and_before(machine, from, tail))
}

/// Two runs change places, on one machine or two.
pub(super) fn trade<P: Problem, R: Rng>(
    ground: &Ground<'_, P>,
    answer: &mut Sequences,
    rng: &mut R,
) -> Option<Touched> {
    let one = ground.slot(answer, rng)?;
    let two = ground.slot(answer, rng)?;
    if one.0 == two.0 {
        return trade_in_line(answer, one.0, one.1.min(two.1), one.1.max(two.1), rng);
    }
    let lengths = [one, two]
        .map(|(machine, from)| few((answer.machines[machine].len() - from).min(BLOCK_MOST), rng));
    let run = |at: (usize, usize), length: usize, to: usize| -> Option<Vec<Slot>> {
        let slots = &answer.machines[at.0][at.1..at.1 + length];
        slots
            .iter()
            .map(|slot| ground.on(*slot, at.0, to))
            .collect()
    };
    let (from_one, from_two) = (run(one, lengths[0], two.0)?, run(two, lengths[1], one.0)?);
    answer.machines[one.0].splice(one.1..one.1 + lengths[0], from_two);
    answer.machines[two.0].splice(two.1..two.1 + lengths[1], from_one);
    let tail = |at: (usize, usize), length: usize| answer.machines[at.0].len() - at.1 - length;
    Some(
        Touched::nothing()
            .and_before(one.0, one.1, tail(one, lengths[1]))
            .and_before(two.0, two.1, tail(two, lengths[0])),
    )
}

/// Two runs that begin at two positions of one line.
fn trade_in_line<R: Rng>(
    answer: &mut Sequences,
    machine: usize,
    low: usize,
    high: usize,
    rng: &mut R,
) -> Option<Touched> {
    if low == high {
        return None;
    }
    let line = &mut answer.machines[machine];
    let first = few((high - low).min(BLOCK_MOST), rng);
    let second = few((line.len() - high).min(BLOCK_MOST), rng);
    let whole = &mut line[low..high + second];
    // All reversed, then each of the three parts back: the outer two have changed places.
    whole.reverse();
    let middle = whole.len() - first;
    whole[..second].reverse();
    whole[second..middle].reverse();
    whole[middle..].reverse();
    let tail = line.len() - high - second;
    Some(Touched::nothing().and_before(machine, low, tail))
}
