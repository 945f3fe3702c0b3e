//! What a day on the floor makes of a plan: chance by seed.

use model::Chance;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use schedule::{Floor, PlannedRun, Replay, Rush};
use units::Seconds;

const WEEK: f64 = 7.0 * 86_400.0;

/// One possible course of things.
#[derive(Debug)]
pub struct Day {
    dice: Pcg64,
    run: f64,
    change: f64,
    /// Seconds of work between two stops; infinite for none.
    between_stops: f64,
    repair: f64,
    spare: Option<f64>,
}

impl Day {
    /// The course of that number from that seed; other numbers are other courses.
    #[must_use]
    pub fn new(chance: &Chance, seed: u64, number: u64) -> Day {
        let hours = chance.hours_between_stops;
        Day {
            // Neighbouring numbers must not give neighbouring generators.
            dice: Pcg64::seed_from_u64(mixed(seed) ^ mixed(number ^ 0x5bd1_e995_9e37_79b9)),
            run: sigma(chance.run_spread),
            change: sigma(chance.changeover_spread),
            between_stops: if hours > 0.0 {
                hours.max(1.0) * 3_600.0
            } else {
                f64::INFINITY
            },
            repair: chance.repair_hours.max(0.0) * 3_600.0,
            spare: None,
        }
    }

    /// Above 0, up to 1.
    fn share(&mut self) -> f64 {
        1.0 - self.dice.random::<f64>()
    }

    /// Standard normal, by Box and Muller.
    fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        let radius = (-2.0 * self.share().ln()).sqrt();
        let angle = std::f64::consts::TAU * self.share();
        self.spare = Some(radius * angle.sin());
        radius * angle.cos()
    }

    /// A draw of an exponential with this mean, in its unit.
    pub fn exponential(&mut self, mean: f64) -> f64 {
        -mean * self.share().ln()
    }

    fn lognormal(&mut self, planned: Seconds, sigma: f64) -> Seconds {
        if sigma <= 0.0 {
            return planned;
        }
        let factor = (sigma * self.normal()).exp();
        whole(seconds(planned) * factor).max(Seconds(1))
    }

    fn one_of(&mut self, count: usize) -> usize {
        self.dice.random_range(0..count.max(1))
    }
}

/// Durations are lognormal with the plan's own as their medians; stops come in proportion to work,
/// repairs are exponential.
impl Floor for Day {
    fn change(&mut self, planned: Seconds) -> Seconds {
        self.lognormal(planned, self.change)
    }

    fn run(&mut self, planned: Seconds) -> Seconds {
        self.lognormal(planned, self.run)
    }

    fn stop(&mut self, work: Seconds) -> Seconds {
        if !self.between_stops.is_finite() || self.repair <= 0.0 {
            return Seconds::ZERO;
        }
        let (mut worked, mut stood) = (self.exponential(self.between_stops), 0.0);
        while worked < seconds(work) {
            stood += self.exponential(self.repair);
            worked += self.exponential(self.between_stops);
        }
        whole(stood)
    }
}

/// Rush orders of one course, by brake and arrival: at a steady rate all week, each as long as one of
/// the plan's runs drawn at random and on that run's brake. Its changeover counts twice, as the bed is
/// put back for what was planned.
#[must_use]
pub fn rush_orders(
    day: &mut Day,
    a_week: f64,
    replay: &Replay,
    runs: &[PlannedRun],
) -> Vec<Vec<Rush>> {
    let mut rush = vec![Vec::new(); replay.brakes()];
    if a_week <= 0.0 || runs.is_empty() {
        return rush;
    }
    let most = seconds(replay.horizon() - replay.from());
    let mut at = day.exponential(WEEK / a_week);
    while at < most {
        let like = runs[day.one_of(runs.len())];
        rush[like.brake].push(Rush {
            arrival: replay.from() + whole(at),
            change: like.change + like.change,
            run: like.run,
            crew: like.crew,
        });
        at += day.exponential(WEEK / a_week);
    }
    rush
}

/// The standard deviation of the logarithm for a standard deviation over the mean: σ² = ln(1 + c²),
/// from the lognormal's mean and variance `[computed]`.
fn sigma(spread: f64) -> f64 {
    (spread.max(0.0).powi(2) + 1.0).ln().sqrt()
}

#[allow(clippy::cast_precision_loss)] // exact below 2^53 seconds
fn seconds(duration: Seconds) -> f64 {
    duration.0 as f64
}

#[allow(clippy::cast_possible_truncation)] // saturates beyond any horizon
fn whole(duration: f64) -> Seconds {
    // A tenth of what an i64 holds: sums of a few stay within it.
    Seconds(duration.round().clamp(0.0, 9e17) as i64)
}

/// The finaliser of a 64-bit mixing generator `[memory]`.
fn mixed(number: u64) -> u64 {
    let mut z = number.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    const DRAWS: u64 = 200_000;

    fn chance() -> Chance {
        Chance {
            run_spread: 0.5,
            changeover_spread: 0.0,
            rush_per_week: 0.0,
            hours_between_stops: 10.0,
            repair_hours: 2.0,
        }
    }

    /// Median 1, standard deviation over mean as asked, both within 1 %.
    #[test]
    fn durations_have_the_median_and_the_spread_asked_for() {
        let mut day = Day::new(&chance(), 7, 0);
        let planned = Seconds(1_000_000);
        let mut drawn: Vec<f64> = (0..DRAWS).map(|_| seconds(day.run(planned))).collect();
        drawn.sort_by(f64::total_cmp);
        let count = f64::from(u32::try_from(DRAWS).unwrap());
        let mean = drawn.iter().sum::<f64>() / count;
        let variance = drawn.iter().map(|one| (one - mean).powi(2)).sum::<f64>() / count;
        let median = drawn[drawn.len() / 2] / 1e6;
        assert!((median - 1.0).abs() < 0.01, "{median}");
        let spread = variance.sqrt() / mean;
        assert!((spread - 0.5).abs() < 0.01, "{spread}");
        assert_eq!(day.change(planned), planned, "no spread, no change");
    }

    /// Ten hours between stops of two hours: a sixth of the time is lost.
    #[test]
    fn brakes_stand_still_as_long_as_asked_for() {
        let mut day = Day::new(&chance(), 3, 0);
        let work = Seconds(3 * 3_600);
        let stood: i64 = (0..DRAWS).map(|_| day.stop(work).0).sum();
        let hours = seconds(Seconds(stood)) / 3_600.0 / f64::from(u32::try_from(DRAWS).unwrap());
        assert!((hours - 0.6).abs() < 0.01, "{hours}");
    }

    #[test]
    fn courses_are_repeatable_and_differ() {
        let first = |number| Day::new(&chance(), 1, number).run(Seconds(100_000));
        assert_eq!(first(0), first(0));
        assert_ne!(first(0), first(1));
        assert_ne!(first(0), Day::new(&chance(), 2, 0).run(Seconds(100_000)));
    }
}
