//! A shop as a setup matrix, and the proof by trying that this is what it is.

use model::Shop;
use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use schedule::Problem;
use search::{Problem as _, Sequences, Slot};
use serde_json::{Value, json};
use tooling::run_time;
use units::Seconds;

/// Random sequences that matrix and engine must agree on.
const COMPARED: usize = 300;

/// A way of doing a job on a brake.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mode {
    /// The job and its way.
    pub slot: Slot,
    /// Brake.
    pub brake: usize,
    /// Seconds of bending.
    pub run: i64,
    /// Seconds of change when it comes first.
    pub first: i64,
}

/// A job; times are seconds from the plan's first moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Job {
    /// From when it can be bent.
    pub ready: i64,
    /// When it is due.
    pub due: i64,
    /// Price of a second late, in sixtieths of a second of change.
    pub late: i64,
}

/// The matrix.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pairs {
    /// Brakes.
    pub brakes: usize,
    /// Jobs.
    pub jobs: Vec<Job>,
    /// Ways of doing them.
    pub modes: Vec<Mode>,
    /// Seconds of change from one mode to another on the same brake; row by row, the row comes
    /// before. Zero where brakes differ.
    pub change: Vec<i64>,
}

/// Why a shop is no matrix.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotPairs {
    /// The engine finds another cost.
    #[error("the matrix says {matrix}, the engine {engine}")]
    Differs {
        /// By the matrix.
        matrix: i64,
        /// By the engine.
        engine: i64,
    },
    /// Some order has no place or several jobs.
    #[error("an order without a place, or in parts")]
    NotWhole,
    /// A sequence names something else.
    #[error("no sequence of these jobs")]
    NoSequence,
}

impl Pairs {
    /// Measures the matrix and compares it with the engine on random sequences.
    ///
    /// # Errors
    /// [`NotPairs`] when they differ.
    pub fn of(shop: &Shop, problem: &Problem<'_>) -> Result<Pairs, NotPairs> {
        if problem.jobs.len() != shop.orders.len() || !problem.misfits.is_empty() {
            return Err(NotPairs::NotWhole);
        }
        let pairs = Pairs::measure(shop, problem);
        let mut rng = Pcg64::seed_from_u64(1);
        let mut scratch = problem.scratch();
        for _ in 0..COMPARED {
            let sequences = pairs.random(&mut rng);
            let matrix = pairs.cost(&sequences)?;
            let engine = problem.cost(&mut scratch, &sequences, i64::MAX);
            if matrix != engine {
                return Err(NotPairs::Differs { matrix, engine });
            }
        }
        Ok(pairs)
    }

    fn measure(shop: &Shop, problem: &Problem<'_>) -> Pairs {
        // Where only changes cost anything, the engine's cost is their time.
        let mut plain = shop.clone();
        plain.rules.late_hour_minutes = 0;
        plain.rules.unplaced_minutes = 0;
        plain.rules.overtime_tenths = 0;
        let (measured, _) = schedule::compile(&plain, problem.from);
        let mut scratch = measured.scratch();
        let mut time = |slots: &[Slot], brake: usize| {
            let mut sequences = Sequences::new(problem.machines());
            sequences.machines[brake] = slots.to_vec();
            measured.cost(&mut scratch, &sequences, i64::MAX) / 60
        };
        let mut modes = Vec::new();
        for (job, share) in problem.jobs.iter().enumerate() {
            for place in problem.places(job) {
                let (way, brake) = (place.way, place.machine);
                let slot = Slot { job, way };
                let cycle = problem.ways[job][way].cycle_ms;
                modes.push(Mode {
                    slot,
                    brake,
                    run: run_time(share.quantity, cycle, &shop.rules).0,
                    first: time(&[slot], brake),
                });
            }
        }
        let mut change = vec![0; modes.len() * modes.len()];
        for (a, before) in modes.iter().enumerate() {
            for (b, after) in modes.iter().enumerate() {
                if before.brake == after.brake && before.slot.job != after.slot.job {
                    let both = time(&[before.slot, after.slot], before.brake);
                    change[a * modes.len() + b] = both - before.first;
                }
            }
        }
        let seconds = |Seconds(seconds): Seconds| seconds;
        let jobs = problem.jobs.iter().map(|job| {
            let promise = &problem.promises[job.promise];
            Job {
                ready: seconds(job.ready - problem.from).max(0),
                due: seconds(promise.due - problem.from),
                late: promise.weight * i64::from(shop.rules.late_hour_minutes),
            }
        });
        Pairs {
            brakes: problem.machines(),
            jobs: jobs.collect(),
            modes,
            change,
        }
    }

    /// What sequences cost by the matrix.
    ///
    /// # Errors
    /// [`NotPairs::NoSequence`] when a job is missing or a slot is unknown.
    pub fn cost(&self, sequences: &Sequences) -> Result<i64, NotPairs> {
        let mut done = vec![false; self.jobs.len()];
        let mut sum = 0;
        for (brake, line) in sequences.machines.iter().enumerate() {
            let (mut clock, mut before) = (0, None);
            for slot in line {
                let known = |mode: &Mode| mode.slot == *slot && mode.brake == brake;
                let index = self.modes.iter().position(known);
                let index = index.ok_or(NotPairs::NoSequence)?;
                let (mode, job) = (&self.modes[index], &self.jobs[slot.job]);
                let row = before.map(|row: usize| self.change[row * self.modes.len() + index]);
                let change = row.unwrap_or(mode.first);
                clock = job.ready.max(clock + change) + mode.run;
                sum += 60 * change + job.late * (clock - job.due).max(0);
                before = Some(index);
                done[slot.job] = true;
            }
        }
        if done.contains(&false) {
            return Err(NotPairs::NoSequence);
        }
        Ok(sum)
    }

    /// All jobs in any order in any of their modes.
    fn random(&self, rng: &mut Pcg64) -> Sequences {
        let mut sequences = Sequences::new(self.brakes);
        let mut jobs: Vec<usize> = (0..self.jobs.len()).collect();
        jobs.shuffle(rng);
        for job in jobs {
            let of_job = |mode: &&Mode| mode.slot.job == job;
            let modes: Vec<&Mode> = self.modes.iter().filter(of_job).collect();
            if !modes.is_empty() {
                let mode = modes[rng.random_range(0..modes.len())];
                sequences.machines[mode.brake].push(mode.slot);
            }
        }
        sequences
    }

    /// As the other solver reads it.
    #[must_use]
    pub fn json(&self) -> Value {
        let job = |job: &Job| json!({"ready": job.ready, "due": job.due, "late": job.late});
        let mode = |mode: &Mode| {
            json!({
                "job": mode.slot.job,
                "brake": mode.brake,
                "run": mode.run,
                "first": mode.first,
            })
        };
        json!({
            "brakes": self.brakes,
            "jobs": self.jobs.iter().map(job).collect::<Vec<_>>(),
            "modes": self.modes.iter().map(mode).collect::<Vec<_>>(),
            "change": self.change.chunks(self.modes.len().max(1)).collect::<Vec<_>>(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use testkit::{Recipe, invent, pairwise};

    #[test]
    fn shops_made_for_it_are_matrices_and_others_are_not() {
        for seed in 1..=4 {
            let brakes = 1 + usize::from(seed % 2 == 0);
            let shop = pairwise(6, brakes, 0.7, seed);
            let (problem, _) = schedule::compile(&shop, shop.as_of.unwrap());
            let pairs = Pairs::of(&shop, &problem).unwrap();
            assert!(pairs.change.iter().any(|&change| change > 0));
        }
        let refused = (1..=20).filter(|&seed| {
            let shop = invent(&Recipe::tiny(seed));
            let (problem, _) = schedule::compile(&shop, shop.as_of.unwrap());
            Pairs::of(&shop, &problem).is_err()
        });
        assert!(refused.count() > 10);
    }
}
