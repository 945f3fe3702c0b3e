//! The plan with the job in it, played many times.

use crate::chance::{Day, rush_orders};
use model::Chance;
use schedule::{PlannedRun, Played, Replay};
use units::Moment;

/// How often to play, from which seed, on how many threads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sampling {
    /// Seed; the same one gives the same odds.
    pub seed: u64,
    /// Plays, at least one.
    pub samples: u32,
    /// Threads; have no influence on the odds.
    pub threads: usize,
}

/// When the job was finished, over all plays.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Odds {
    /// Ends within the calendars, sorted.
    ends: Vec<Moment>,
    /// Plays.
    samples: u32,
}

impl Odds {
    /// From the ends of so many plays; those that are missing did not end.
    #[must_use]
    pub fn of(mut ends: Vec<Moment>, samples: u32) -> Odds {
        ends.sort_unstable();
        Odds { ends, samples }
    }

    /// Plays.
    #[must_use]
    pub fn samples(&self) -> u32 {
        self.samples
    }

    /// The moment that holds with these odds (above 0, below 1), to the full minute after it; `None`
    /// when that lies beyond the calendars.
    ///
    /// Of n plays the k-th earliest end is taken, k = ⌈p·(n + 1)⌉: an end drawn from the same floor
    /// lies before it with probability k/(n + 1), whatever the distribution `[computed]`.
    #[must_use]
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 1 to n + 1
    pub fn by(&self, odds: f64) -> Option<Moment> {
        let rank = (odds.clamp(0.0, 1.0) * (f64::from(self.samples) + 1.0)).ceil();
        let rank = (rank as usize).max(1);
        let end = self.ends.get(rank - 1)?;
        Some(Moment(end.0.saturating_add(59).div_euclid(60) * 60))
    }

    /// The share of plays, 0 to 1, that end by a moment.
    #[must_use]
    #[allow(clippy::cast_precision_loss)] // a share
    pub fn kept_by(&self, moment: Moment) -> f64 {
        let kept = self.ends.partition_point(|end| *end <= moment);
        kept as f64 / f64::from(self.samples.max(1))
    }
}

/// Plays the plan again and again until the item has ended.
#[must_use]
pub fn simulate(replay: &Replay, item: usize, chance: &Chance, sampling: Sampling) -> Odds {
    let runs: Vec<PlannedRun> = replay.runs().collect();
    let samples = sampling.samples.max(1);
    let threads = u32::try_from(sampling.threads.max(1)).unwrap_or(1);
    let some = |first: u32| {
        let mut played = Played::default();
        let numbers = (first..samples).step_by(threads as usize);
        numbers
            .filter_map(|number| {
                let mut day = Day::new(chance, sampling.seed, u64::from(number));
                let rush = rush_orders(&mut day, chance.rush_per_week, replay, &runs);
                replay.play(&mut day, &rush, Some(item), &mut played)
            })
            .collect::<Vec<Moment>>()
    };
    let ends = std::thread::scope(|scope| {
        let some = &some;
        let others: Vec<_> = (1..threads.min(samples))
            .map(|first| scope.spawn(move || some(first)))
            .collect();
        let mut ends = some(0);
        for other in others {
            match other.join() {
                Ok(more) => ends.extend(more),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        ends
    });
    Odds::of(ends, samples)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_are_the_ranks_they_should_be() {
        let ends: Vec<Moment> = (1..=99).map(|n| Moment(n * 60)).collect();
        let odds = Odds::of(ends, 99);
        assert_eq!(odds.by(0.5), Some(Moment(50 * 60)));
        assert_eq!(odds.by(0.95), Some(Moment(95 * 60)));
        assert!((odds.kept_by(Moment(50 * 60)) - 50.0 / 99.0).abs() < 1e-12);
        // A second after a minute is the next full minute.
        let late = Odds::of(vec![Moment(61)], 1);
        assert_eq!(late.by(0.5), Some(Moment(120)));
    }

    #[test]
    fn what_does_not_end_counts_as_late() {
        let ends: Vec<Moment> = (1..=90).map(|n| Moment(n * 60)).collect();
        let odds = Odds::of(ends, 99);
        assert_eq!(odds.by(0.9), Some(Moment(90 * 60)));
        assert_eq!(odds.by(0.95), None);
        assert!(odds.kept_by(Moment(i64::MAX)) < 0.91);
    }
}
