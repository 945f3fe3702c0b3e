//! Moves: small changes of an answer. Each tells where it changed anything.

mod draw;
mod mix;
mod runs;
mod single;

pub(crate) use draw::{Ground, Index};
pub use mix::{Mix, Move};

use crate::{Problem, Sequences, Touched};
use rand::Rng;

/// Makes one random change that keeps the answer well formed: every job at most once, at a place
/// of its own, pinned slots untouched. Tells what it touched; `None` when the answer is the same as
/// before.
pub(crate) fn shake<P: Problem, R: Rng>(
    ground: &Ground<'_, P>,
    kind: Move,
    answer: &mut Sequences,
    rng: &mut R,
) -> Option<Touched> {
    match kind {
        Move::Hasten => single::hasten(ground, answer, rng),
        Move::JoinAlike => runs::join_alike(ground, answer, rng),
        Move::Relocate => single::relocate(ground, answer, rng),
        Move::Swap => single::swap(ground, answer, rng),
        Move::Block => runs::move_block(ground, answer, rng),
        Move::Way => single::change_way(ground, answer, rng),
        Move::Reverse => runs::reverse(ground, answer, rng),
        Move::Trade => runs::trade(ground, answer, rng),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Place, Slot};
    use rand::{RngExt, SeedableRng};
    use rand_pcg::Pcg64;

    /// Three machines; job 0 stays first on the first, and every third job has no place on the
    /// last.
    struct Yard {
        places: Vec<Vec<Place>>,
        alike: Vec<Vec<usize>>,
        pinned: [Slot; 1],
    }

    const JOBS: usize = 17;

    impl Problem for Yard {
        type Scratch = ();
        fn scratch(&self) {}
        fn machines(&self) -> usize {
            3
        }
        fn jobs(&self) -> usize {
            JOBS
        }
        fn places(&self, job: usize) -> &[Place] {
            &self.places[job]
        }
        fn pinned(&self, machine: usize) -> &[Slot] {
            if machine == 0 { &self.pinned } else { &[] }
        }
        fn alike(&self, job: usize) -> &[usize] {
            &self.alike[job]
        }
        fn cost(&self, (): &mut (), _sequences: &Sequences, _limit: i64) -> i64 {
            0
        }
    }

    fn yard() -> (Yard, Sequences) {
        let places = |job: usize| -> Vec<Place> {
            let machines = if job.is_multiple_of(3) { 2 } else { 3 };
            let way = |machine| [Place { machine, way: 0 }, Place { machine, way: 1 }];
            (0..machines).flat_map(way).collect()
        };
        let mut start = Sequences::new(3);
        for job in 0..JOBS {
            let machine = if job == 0 { 0 } else { job % 2 };
            start.machines[machine].push(Slot { job, way: 0 });
        }
        let yard = Yard {
            places: (0..JOBS).map(places).collect(),
            alike: (0..JOBS).map(|job| vec![(job + 5) % JOBS, 0]).collect(),
            pinned: [Slot { job: 0, way: 0 }],
        };
        (yard, start)
    }

    fn well_formed(yard: &Yard, answer: &Sequences) {
        assert_eq!(answer.machines[0][0], yard.pinned[0]);
        let mut jobs = Vec::new();
        for (machine, line) in answer.machines.iter().enumerate() {
            for slot in line {
                let place = Place {
                    machine,
                    way: slot.way,
                };
                assert!(
                    yard.places[slot.job].contains(&place),
                    "{slot:?} on {machine}"
                );
                jobs.push(slot.job);
            }
        }
        jobs.sort_unstable();
        assert!(jobs.into_iter().eq(0..JOBS));
    }

    /// Nothing has changed but what is said to be touched.
    fn told_truly(touched: &Touched, before: &Sequences, after: &Sequences) {
        for machine in 0..before.machines.len() {
            let (old, new) = (&before.machines[machine], &after.machines[machine]);
            let spots = touched.spots().iter().zip(touched.tails());
            let spot = spots
                .map(|(spot, tail)| (*spot, *tail))
                .find(|(s, _)| s.0 == machine);
            let Some(((_, from), tail)) = spot else {
                assert_eq!(old, new);
                continue;
            };
            assert_eq!(old[..from], new[..from]);
            assert_eq!(old[old.len() - tail..], new[new.len() - tail..]);
        }
    }

    #[test]
    fn moves_keep_answers_well_formed_and_tell_what_they_touch() {
        let (yard, mut answer) = yard();
        let mut rng = Pcg64::seed_from_u64(5);
        let mut made = [0; Move::ALL.len()];
        for _ in 0..40_000 {
            let which = rng.random_range(0..Move::ALL.len());
            let mut index = Index::default();
            index.build(JOBS, &answer);
            let pains: Vec<i64> = (0..JOBS).map(|_| rng.random_range(0..3)).collect();
            let ground = Ground {
                problem: &yard,
                pains: &pains,
                index: &index,
            };
            let before = answer.clone();
            match shake(&ground, Move::ALL[which], &mut answer, &mut rng) {
                Some(touched) => {
                    made[which] += 1;
                    assert_ne!(before, answer);
                    told_truly(&touched, &before, &answer);
                    well_formed(&yard, &answer);
                }
                None => assert_eq!(before, answer),
            }
        }
        assert!(made.iter().all(|&count| count > 1_000), "{made:?}");
    }
}
