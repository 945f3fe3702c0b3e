//! The best answers of earlier cycles, and what two of them have in common.

use crate::chain::Standing;
use crate::{Problem, Sequences, Slot};
use rand::{Rng, RngExt};

/// Answers kept.
const MOST: usize = 8;

/// Answers that ended a cycle, each of another standing, the best first.
#[derive(Debug, Default)]
pub(crate) struct Elite {
    answers: Vec<(Standing, Sequences)>,
}

impl Elite {
    /// The best of all; nothing only before anything was added.
    pub(crate) fn best(&self) -> Option<&(Standing, Sequences)> {
        self.answers.first()
    }

    /// Keeps an answer if it is among the best and none is its equal.
    pub(crate) fn add(&mut self, standing: Standing, answer: &Sequences) {
        let place = self.answers.partition_point(|(other, _)| *other < standing);
        if self
            .answers
            .get(place)
            .is_some_and(|(other, _)| *other == standing)
        {
            return;
        }
        if place < MOST {
            self.answers.insert(place, (standing, answer.clone()));
            self.answers.truncate(MOST);
        }
    }

    /// A child of any two.
    pub(crate) fn child<P: Problem, R: Rng>(&self, problem: &P, rng: &mut R) -> Option<Sequences> {
        let count = self.answers.len();
        if count < 2 {
            return None;
        }
        let one = rng.random_range(0..count);
        let two = (one + rng.random_range(1..count)) % count;
        cross(problem, &self.answers[one].1, &self.answers[two].1, rng)
    }
}

/// One answer with a stretch of one of the other's lines at the same position.
fn cross<P: Problem, R: Rng>(
    problem: &P,
    base: &Sequences,
    giver: &Sequences,
    rng: &mut R,
) -> Option<Sequences> {
    let loose = |machine: &usize| giver.machines[*machine].len() > problem.pinned(*machine).len();
    let lines: Vec<usize> = (0..giver.machines.len()).filter(loose).collect();
    let machine = *lines.get(rng.random_range(0..lines.len().max(1)))?;
    let line = &giver.machines[machine];
    let first = problem.pinned(machine).len();
    let from = rng.random_range(first..line.len());
    let to = rng.random_range(from + 1..=line.len());
    let given: &[Slot] = &line[from..to];
    let mut is_given = vec![false; problem.jobs()];
    for slot in given {
        is_given[slot.job] = true;
    }
    let mut child = base.clone();
    for line in &mut child.machines {
        line.retain(|slot| !is_given[slot.job]);
    }
    let at = from.min(child.machines[machine].len());
    child.machines[machine].splice(at..at, given.iter().copied());
    Some(child)
}
