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
pub(crate) fn cross<P: Problem, R: Rng>(
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Place;
    use rand::SeedableRng;
    use rand_pcg::Pcg64;

    /// Two machines that do everything; job 0 stays first on the first.
    struct Pair([Slot; 1]);

    const JOBS: usize = 12;

    impl Problem for Pair {
        type Scratch = ();
        fn scratch(&self) {}
        fn machines(&self) -> usize {
            2
        }
        fn jobs(&self) -> usize {
            JOBS
        }
        fn places(&self, _job: usize) -> &[Place] {
            &[]
        }
        fn pinned(&self, machine: usize) -> &[Slot] {
            if machine == 0 { &self.0 } else { &[] }
        }
        fn alike(&self, _job: usize) -> &[usize] {
            &[]
        }
        fn cost(&self, (): &mut (), _sequences: &Sequences, _limit: i64) -> i64 {
            0
        }
    }

    fn answer(rng: &mut Pcg64) -> Sequences {
        let mut answer = Sequences::new(2);
        answer.machines[0].push(Slot { job: 0, way: 0 });
        for job in 1..JOBS {
            let line = &mut answer.machines[rng.random_range(0..2)];
            line.insert(
                rng.random_range(line.len().min(1)..=line.len()),
                Slot { job, way: 0 },
            );
        }
        answer
    }

    #[test]
    fn children_have_every_job_once_and_differ_from_both() {
        let (pair, mut rng) = (Pair([Slot { job: 0, way: 0 }]), Pcg64::seed_from_u64(1));
        let mut new = 0;
        for _ in 0..500 {
            let mut elite = Elite::default();
            let parents = [answer(&mut rng), answer(&mut rng)];
            elite.add((1, 1), &parents[0]);
            elite.add((2, 2), &parents[1]);
            let child = elite.child(&pair, &mut rng).unwrap();
            assert_eq!(child.machines[0][0], pair.0[0]);
            let mut jobs: Vec<usize> = child
                .machines
                .iter()
                .flatten()
                .map(|slot| slot.job)
                .collect();
            jobs.sort_unstable();
            assert!(jobs.into_iter().eq(0..JOBS));
            new += usize::from(parents.iter().all(|parent| *parent != child));
        }
        assert!(new > 300, "{new}");
    }

    #[test]
    fn the_best_are_kept_once_each() {
        let mut elite = Elite::default();
        let (pair, mut rng) = (Pair([Slot { job: 0, way: 0 }]), Pcg64::seed_from_u64(2));
        let some = answer(&mut rng);
        assert!(elite.best().is_none());
        elite.add((5, 5), &some);
        elite.add((5, 5), &some);
        assert!(
            elite.child(&pair, &mut rng).is_none(),
            "an equal is no second"
        );
        for worth in (0..20).rev() {
            elite.add((worth, worth), &some);
        }
        let standings: Vec<i64> = elite
            .answers
            .iter()
            .map(|(standing, _)| standing.0)
            .collect();
        assert_eq!(standings, [0, 1, 2, 3, 4, 5, 6, 7]);
    }
}
