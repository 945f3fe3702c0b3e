//! First answers: jobs put in one after the other where each costs least.

use crate::{Problem, Sequences, Slot, Touched};

/// Puts jobs in in the given order, each at the place and position where the answer so far costs
/// least. Jobs without a place and pinned ones are passed over.
pub fn insert_each<P: Problem>(problem: &P, order: &[usize]) -> Sequences {
    let mut scratch = problem.scratch();
    let mut answer = Sequences::new(problem.machines());
    for (machine, line) in answer.machines.iter_mut().enumerate() {
        line.extend_from_slice(problem.pinned(machine));
    }
    problem.cost(&mut scratch, &answer, i64::MAX);
    for &job in order {
        if answer.find(job).is_some() {
            continue;
        }
        let mut best: Option<(i64, usize, usize, usize)> = None;
        for place in problem.places(job) {
            let (machine, way) = (place.machine, place.way);
            let line = answer.machines[machine].len();
            for at in problem.pinned(machine).len()..=line {
                answer.machines[machine].insert(at, Slot { job, way });
                let touched = Touched::nothing().and_before(machine, at, line - at);
                let limit = best.map_or(i64::MAX, |best| best.0);
                let cost = problem.trial(&mut scratch, &answer, &touched, limit);
                if best.is_none_or(|best| cost < best.0) {
                    best = Some((cost, machine, at, way));
                }
                answer.machines[machine].remove(at);
            }
        }
        if let Some((_, machine, at, way)) = best {
            let tail = answer.machines[machine].len() - at;
            answer.machines[machine].insert(at, Slot { job, way });
            let touched = Touched::nothing().and_before(machine, at, tail);
            // Again, as `keep` is about the answer last tried.
            problem.trial(&mut scratch, &answer, &touched, i64::MAX);
            problem.keep(&mut scratch, &answer, &touched);
        }
    }
    answer
}
