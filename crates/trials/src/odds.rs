//! Whether promised dates are kept as often as the odds said.
//!
//! Invented shops with a known truth: each job is quoted, then the plan with it is played once more,
//! by other dice, with the spread, the rush orders and the stops that are true there; what is counted
//! is how often the job was done by the promised moments. Where the truth is what was assumed, the
//! shares must be the odds; where it is not, the table says how far they are off.

use crate::beds::report::markdown;
use clap::Args;
use model::{Chance, Shop};
use quoting::{Day, Job, Odds, Sampling, Wanted, place, rush_orders, simulate, with_order};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use schedule::{Floor, PlannedRun, Played, Replay, plan_day};
use tabled::builder::Builder;
use testkit::{Recipe, Sections, invent};
use units::{Moment, Seconds};

/// The odds promised.
pub const PROMISED: [f64; 3] = [0.5, 0.8, 0.95];

/// What is to be run.
#[derive(Clone, Debug, Args)]
pub struct Ask {
    /// Shops.
    #[arg(long, default_value_t = 60)]
    pub shops: u64,
    /// Jobs quoted in each.
    #[arg(long, default_value_t = 50)]
    pub jobs: u64,
    /// Open orders of each.
    #[arg(long, default_value_t = 30)]
    pub orders: usize,
    /// Plays for each quote.
    #[arg(long, default_value_t = 1_000)]
    pub samples: u32,
    /// Seed of the shops and of all dice.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Threads; have no influence on the table.
    #[arg(long, default_value_t = 2)]
    pub threads: usize,
}

/// Why there is no table.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// A shop without the moment it was described.
    #[error("an invented shop says no moment")]
    NoMoment,
    /// Nothing was quoted.
    #[error("no job found a place")]
    NoJob,
}

/// A truth that shops are played with.
#[derive(Clone, Copy, Debug)]
pub struct Truth {
    /// In words.
    pub name: &'static str,
    /// How the shop's own figures become the true ones.
    chance: fn(Chance) -> Chance,
    /// All durations are so much longer, together.
    drift: f64,
    /// One piece of work in so many takes three times as long; zero for none.
    mishap_in: u32,
}

/// The truths, the assumed one first.
pub const TRUTHS: [Truth; 6] = [
    Truth {
        name: "as assumed",
        chance: |chance| chance,
        drift: 1.0,
        mishap_in: 0,
    },
    Truth {
        name: "spread twice as large",
        chance: |chance| Chance {
            run_spread: 2.0 * chance.run_spread,
            changeover_spread: 2.0 * chance.changeover_spread,
            ..chance
        },
        drift: 1.0,
        mishap_in: 0,
    },
    Truth {
        name: "rush orders twice as often",
        chance: |chance| Chance {
            rush_per_week: 2.0 * chance.rush_per_week,
            ..chance
        },
        drift: 1.0,
        mishap_in: 0,
    },
    Truth {
        name: "brakes stop twice as often",
        chance: |chance| Chance {
            hours_between_stops: chance.hours_between_stops / 2.0,
            ..chance
        },
        drift: 1.0,
        mishap_in: 0,
    },
    Truth {
        name: "everything takes a tenth longer",
        chance: |chance| chance,
        drift: 1.1,
        mishap_in: 0,
    },
    Truth {
        name: "one work in ten takes three times as long",
        chance: |chance| chance,
        drift: 1.0,
        mishap_in: 10,
    },
];

/// A true course of things.
struct Course<'a> {
    day: &'a mut Day,
    dice: Pcg64,
    truth: &'a Truth,
}

impl Course<'_> {
    #[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss)] // hours
    fn longer(&mut self, work: Seconds) -> Seconds {
        let mishap = self.truth.mishap_in;
        let three = mishap > 0 && self.dice.random_range(0..mishap) == 0;
        let factor = if three { 3.0 } else { 1.0 } * self.truth.drift;
        Seconds((work.0 as f64 * factor).round() as i64)
    }
}

impl Floor for Course<'_> {
    fn change(&mut self, planned: Seconds) -> Seconds {
        let work = self.day.change(planned);
        self.longer(work)
    }
    fn run(&mut self, planned: Seconds) -> Seconds {
        let work = self.day.run(planned);
        self.longer(work)
    }
    fn stop(&mut self, work: Seconds) -> Seconds {
        self.day.stop(work)
    }
}

/// How often promises were kept.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Kept {
    /// Jobs.
    pub jobs: u32,
    /// Done by the moment promised at each of the odds.
    pub kept: [u32; 3],
}

impl Kept {
    /// The share kept at each of the odds.
    #[must_use]
    pub fn shares(&self) -> [f64; 3] {
        self.kept
            .map(|kept| f64::from(kept) / f64::from(self.jobs.max(1)))
    }

    fn count(&mut self, odds: &Odds, end: Option<Moment>) {
        self.jobs += 1;
        for (kept, share) in self.kept.iter_mut().zip(PROMISED) {
            let in_time = end.is_some_and(|end| odds.by(share).is_some_and(|by| end <= by));
            *kept += u32::from(in_time);
        }
    }
}

/// Quotes and plays; how often each truth kept the promises.
///
/// # Errors
/// [`Failure`] when nothing could be quoted.
pub fn measure(ask: &Ask) -> Result<[Kept; TRUTHS.len()], Failure> {
    let threads = u64::try_from(ask.threads.max(1)).unwrap_or(1);
    let some = |first: u64| {
        let mut kept = [Kept::default(); TRUTHS.len()];
        let mut number = first;
        while number < ask.shops {
            shop(ask, number, &mut kept)?;
            number += threads;
        }
        Ok::<_, Failure>(kept)
    };
    let parts = std::thread::scope(|scope| {
        let some = &some;
        let others: Vec<_> = (1..threads.min(ask.shops.max(1)))
            .map(|first| scope.spawn(move || some(first)))
            .collect();
        let mut parts = vec![some(0)];
        for other in others {
            match other.join() {
                Ok(part) => parts.push(part),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        parts
    });
    let mut all = [Kept::default(); TRUTHS.len()];
    for part in parts {
        for (sum, one) in all.iter_mut().zip(part?) {
            sum.jobs += one.jobs;
            for (kept, more) in sum.kept.iter_mut().zip(one.kept) {
                *kept += more;
            }
        }
    }
    if all[0].jobs == 0 {
        return Err(Failure::NoJob);
    }
    Ok(all)
}

/// All jobs of one shop.
fn shop(ask: &Ask, number: u64, kept: &mut [Kept; TRUTHS.len()]) -> Result<(), Failure> {
    let seed = ask.seed.wrapping_mul(1_000_003).wrapping_add(number);
    let shop = invent(&Recipe::bed(ask.orders, -0.5, Sections::Ample, seed));
    let from = shop.as_of.ok_or(Failure::NoMoment)?;
    let day = schedule::Ask {
        from,
        seed,
        threads: 1,
        seconds: None,
    };
    let before = plan_day(&shop, day, None, &mut |done| done >= 100, &mut ()).plan;
    let mut dice = Pcg64::seed_from_u64(seed);
    for job_number in 0..ask.jobs {
        let job = job(&shop, from, &mut dice);
        let Ok(with) = with_order(&shop, &job) else {
            continue;
        };
        let answer = place(&with.shop, from, &before, 1);
        let Some((replay, item)) = answer.replay else {
            continue;
        };
        let chance = shop.rules.chance;
        let number = number * ask.jobs + job_number;
        let sampling = Sampling {
            seed: ask.seed.wrapping_add(number),
            samples: ask.samples,
            threads: 1,
        };
        let odds = simulate(&replay, item, &chance, sampling);
        for (truth, kept) in TRUTHS.iter().zip(kept.iter_mut()) {
            let end = happens(&replay, item, truth, chance, (ask.seed, number));
            kept.count(&odds, end);
        }
    }
    Ok(())
}

/// A part of the shop's in some quantity, ready some time within two days.
fn job(shop: &Shop, from: Moment, dice: &mut Pcg64) -> Job {
    let part = &shop.parts[dice.random_range(0..shop.parts.len())];
    let quantities = [5, 20, 50, 80, 150];
    Job {
        wanted: Wanted::Known(part.id.clone()),
        quantity: quantities[dice.random_range(0..quantities.len())],
        ready: from + Seconds(dice.random_range(0..48) * 3_600),
        weight: 1,
    }
}

/// What really happens, once, by dice that no quote has thrown.
fn happens(
    replay: &Replay,
    item: usize,
    truth: &Truth,
    assumed: Chance,
    (seed, number): (u64, u64),
) -> Option<Moment> {
    let chance = (truth.chance)(assumed);
    let mut day = Day::new(&chance, seed ^ 0x7a11_7a11_0000_0000, number);
    let runs: Vec<PlannedRun> = replay.runs().collect();
    let rush = rush_orders(&mut day, chance.rush_per_week, replay, &runs);
    let mut floor = Course {
        day: &mut day,
        dice: Pcg64::seed_from_u64(seed ^ number.rotate_left(32)),
        truth,
    };
    replay.play(&mut floor, &rush, Some(item), &mut Played::default())
}

/// The table.
///
/// # Errors
/// As [`measure`].
pub fn run(ask: &Ask) -> Result<String, Failure> {
    let all = measure(ask)?;
    let mut builder = Builder::default();
    builder.push_record(["truth", "jobs", "50 %", "80 %", "95 %"]);
    for (truth, kept) in TRUTHS.iter().zip(all) {
        let shares = kept.shares().map(|share| format!("{:.1} %", share * 100.0));
        let [half, four, most] = shares;
        let jobs = kept.jobs.to_string();
        builder.push_record([truth.name.to_owned(), jobs, half, four, most]);
    }
    Ok(format!("{}\n", markdown(builder)))
}
