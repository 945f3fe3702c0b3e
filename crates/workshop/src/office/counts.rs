//! What an office has done since the program started, for whoever watches it. Kept in memory only.

use super::Office;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

/// Upper ends of the classes of [`Times`], seconds.
pub const CLASSES: [f64; 8] = [0.5, 1.0, 2.0, 5.0, 10.0, 30.0, 60.0, 300.0];

/// How long something took, by classes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Times {
    /// How often it took no longer than the class's upper end.
    pub classes: [u64; CLASSES.len()],
    /// How often it was done.
    pub count: u64,
    /// Seconds, all together.
    pub seconds: f64,
}

impl Times {
    fn add(&mut self, took: Duration) {
        let seconds = took.as_secs_f64();
        self.count += 1;
        self.seconds += seconds;
        for (class, most) in self.classes.iter_mut().zip(CLASSES) {
            *class += u64::from(seconds <= most);
        }
    }
}

/// What a plan job came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JobEnd {
    /// A proposal.
    Planned,
    /// A fault.
    Failed,
    /// Nothing, as none was needed any more or the daemon stopped.
    Dropped,
}

/// Everything counted.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Counted {
    /// Wishes for a plan, those that raised a waiting one included.
    pub asked: u64,
    /// Jobs this daemon took.
    pub taken: u64,
    /// Of these, jobs whose worker had been lost.
    pub taken_over: u64,
    /// Jobs that ended with a proposal.
    pub planned: u64,
    /// Jobs that ended with a fault.
    pub failed: u64,
    /// Jobs that ended without either.
    pub dropped: u64,
    /// How long plans were searched and judged, for proposals and for questions.
    pub searches: Times,
    /// How long dates with odds took, waiting for one's turn left out.
    pub quotes: Times,
}

#[derive(Debug, Default)]
pub(super) struct Counts(Mutex<Counted>);

impl Counts {
    pub(super) fn with(&self, count: impl FnOnce(&mut Counted)) {
        // A count that a panic cut short is still a count.
        count(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner));
    }

    pub(super) fn searched(&self, took: Duration) {
        self.with(|counted| counted.searches.add(took));
    }

    pub(super) fn quoted(&self, took: Duration) {
        self.with(|counted| counted.quotes.add(took));
    }
}

impl Office {
    /// What was counted since the office was opened.
    #[must_use]
    pub fn counted(&self) -> Counted {
        let mut now = Counted::default();
        self.counts().with(|counted| now = *counted);
        now
    }

    /// Counts a plan job that was taken; `attempt` is above 1 when its worker had been lost.
    pub fn job_taken(&self, attempt: i64) {
        self.counts().with(|counted| {
            counted.taken += 1;
            counted.taken_over += u64::from(attempt > 1);
        });
    }

    /// Counts a plan job that has ended.
    pub fn job_ended(&self, end: JobEnd) {
        self.counts().with(|counted| match end {
            JobEnd::Planned => counted.planned += 1,
            JobEnd::Failed => counted.failed += 1,
            JobEnd::Dropped => counted.dropped += 1,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_counted_in_every_class_they_fit() {
        let mut times = Times::default();
        for millis in [400, 1_500, 400_000] {
            times.add(Duration::from_millis(millis));
        }
        assert_eq!(times.classes, [1, 1, 2, 2, 2, 2, 2, 2]);
        assert_eq!(times.count, 3);
        assert!((times.seconds - 401.9).abs() < 1e-9);
    }
}
