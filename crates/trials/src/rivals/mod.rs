//! Plain searches that ours must beat, on the same models and the same evaluation.

mod annealing;
mod iterated;

pub use annealing::annealing;
pub use iterated::iterated;

use search::{Problem, Sequences, Slot, Touched};

/// An answer and its worth.
pub type Found = (Sequences, i64);

/// A job with its machine and position.
type Spot = (usize, usize);

/// Every placed job that is not pinned.
fn spots<P: Problem>(problem: &P, answer: &Sequences) -> Vec<Spot> {
    let loose = |(machine, line): (usize, &Vec<Slot>)| {
        let first = problem.pinned(machine).len();
        (first..line.len()).map(move |position| (machine, position))
    };
    answer.machines.iter().enumerate().flat_map(loose).collect()
}

/// Moves a job to a position in the line without it; tells what that touches.
fn put(answer: &mut Sequences, from: Spot, to: Spot, way: usize) -> Touched {
    let job = answer.machines[from.0].remove(from.1).job;
    answer.machines[to.0].insert(to.1, Slot { job, way });
    let left = answer.machines[from.0].len();
    if from.0 == to.0 {
        let (low, high) = (from.1.min(to.1), from.1.max(to.1));
        return Touched::nothing().and_before(from.0, low, left - high - 1);
    }
    let tail = answer.machines[to.0].len() - to.1 - 1;
    Touched::nothing()
        .and_before(from.0, from.1, left - from.1)
        .and_before(to.0, to.1, tail)
}

/// Exchanges two jobs if each has a place on the other's machine.
fn exchange<P: Problem>(
    problem: &P,
    answer: &mut Sequences,
    one: Spot,
    two: Spot,
) -> Option<Touched> {
    let there = |slot: Slot, from: usize, to: usize| {
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
    };
    let (first, second) = (answer.machines[one.0][one.1], answer.machines[two.0][two.1]);
    let (to_two, to_one) = (there(first, one.0, two.0)?, there(second, two.0, one.0)?);
    answer.machines[one.0][one.1] = to_one;
    answer.machines[two.0][two.1] = to_two;
    let tail = |spot: Spot| answer.machines[spot.0].len() - spot.1 - 1;
    Some(
        Touched::nothing()
            .and_before(one.0, one.1, tail(one))
            .and_before(two.0, two.1, tail(two)),
    )
}

/// Makes the touched lines of `to` those of `from`.
fn copy_lines(touched: &Touched, from: &Sequences, to: &mut Sequences) {
    for &(machine, _) in touched.spots() {
        to.machines[machine].clone_from(&from.machines[machine]);
    }
}
