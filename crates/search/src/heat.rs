//! Temperatures, in the problem's own scale.
//!
//! Costs are minutes here, tools there, and the powers of loads elsewhere. What counts is how often
//! a move that worsens is taken, so a cycle's first and last temperature are those at which certain
//! shares of them would be, judged by moves tried from the answer the cycle starts from.

use rand::{Rng, RngExt};

/// Worsenings of moves that were only tried.
#[derive(Clone, Debug, Default)]
pub(crate) struct Samples {
    worsenings: Vec<f64>,
}

/// Temperatures of a cycle.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Heat {
    first: f64,
    /// Natural logarithm of the last as a share of the first.
    fall: f64,
}

impl Samples {
    /// Moves tried to see whether there is anything to move.
    pub(crate) const FIRST: u64 = 120;

    /// Steps at the start of a cycle that only look.
    pub(crate) fn of_cycle(cycle: u64) -> u64 {
        (cycle / 32).clamp(60, 2_000)
    }

    #[allow(clippy::cast_precision_loss)] // costs far below 2^52
    pub(crate) fn add(&mut self, worsening: i64) {
        if worsening > 0 {
            self.worsenings.push(worsening as f64);
        }
    }

    /// The temperatures of a cycle of so many steps; forgets the samples.
    pub(crate) fn heat(&mut self, cycle: u64, jobs: usize) -> Heat {
        let (first, last) = shares(cycle, jobs);
        let (first, last) = (self.taking(first), self.taking(last));
        self.worsenings.clear();
        Heat {
            first,
            fall: (last / first).ln(),
        }
    }

    /// The temperature at which a share of the worsening moves is taken.
    #[allow(clippy::cast_precision_loss)]
    fn taking(&self, share: f64) -> f64 {
        let count = self.worsenings.len() as f64;
        let taken = |temperature: f64| {
            let chances = self.worsenings.iter().map(|w| (-w / temperature).exp());
            chances.sum::<f64>() / count
        };
        let least = self.worsenings.iter().copied().fold(f64::MAX, f64::min);
        if self.worsenings.is_empty() {
            return 1.0;
        }
        // At a hundredth of the least worsening none is taken, at a million times nearly all.
        let (mut low, mut high) = (least * 0.01, least * 1e6);
        for _ in 0..60 {
            let middle = (low * high).sqrt();
            if taken(middle) < share {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }
}

/// Share of the worsening moves taken at the start of a cycle in which every job is moved about
/// [`MOVES_EACH`] times; a cycle that moves them more often can start hotter, by this power of how
/// much more often, up to [`HOTTEST`]. Tuned on beds and on published instances together.
const START: f64 = 0.005;
const MOVES_EACH: f64 = 20.0;
const POWER: f64 = 0.35;
const HOTTEST: f64 = 0.1;
/// Share taken at the end of a cycle.
const END: f64 = 0.000_3;
/// With few jobs hardly any move changes little: there one worsening move per job is taken at the
/// start, but no more than this share.
const FEW_HOTTEST: f64 = 0.3;

/// Shares of the worsening moves that are taken at the start and at the end of a cycle.
#[allow(clippy::cast_precision_loss)]
fn shares(cycle: u64, jobs: usize) -> (f64, f64) {
    let jobs = jobs.max(1) as f64;
    let each = cycle as f64 / jobs;
    let long = (START * (each / MOVES_EACH).powf(POWER)).min(HOTTEST);
    let few = (1.0 / jobs).min(FEW_HOTTEST);
    (long.max(few), END)
}

impl Heat {
    /// The temperature after so many of a cycle's steps: geometric from the first to the last.
    #[allow(clippy::cast_precision_loss)]
    pub(crate) fn at(self, step: u64, cycle: u64) -> f64 {
        self.first * (self.fall * step as f64 / cycle as f64).exp()
    }

    /// How much worse an answer may be and still be taken: exponentially distributed with the
    /// temperature as its mean, which is the Metropolis rule with the draw made first.
    #[allow(clippy::cast_possible_truncation)] // `as` saturates
    pub(crate) fn allowance<R: Rng>(temperature: f64, rng: &mut R) -> i64 {
        let draw: f64 = rng.random_range(f64::MIN_POSITIVE..1.0);
        (-draw.ln() * temperature) as i64
    }
}
