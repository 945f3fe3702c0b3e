//! Time of one core, so that other work on the machine counts little.

use search::Stop;
use std::time::{Duration, Instant};

/// Time between two looks at the clock.
const LOOK_EVERY: Duration = Duration::from_millis(20);

/// Measures the time this thread has had on a core; where the system does not tell, the time that
/// has passed.
#[derive(Clone, Copy, Debug)]
pub struct Clock {
    on_core: Option<Duration>,
    started: Instant,
}

impl Clock {
    /// Starts now, in this thread.
    #[must_use]
    pub fn start() -> Clock {
        Clock {
            on_core: on_core(),
            started: Instant::now(),
        }
    }

    /// Time since the start; asked in the same thread.
    #[must_use]
    pub fn elapsed(&self) -> Duration {
        match (self.on_core, on_core()) {
            (Some(then), Some(now)) => now.saturating_sub(then),
            _ => self.started.elapsed(),
        }
    }
}

/// Nanoseconds this thread has been on a core, as Linux tells.
fn on_core() -> Option<Duration> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    let nanoseconds = text.split_whitespace().next()?.parse().ok()?;
    Some(Duration::from_nanos(nanoseconds))
}

/// Stops a search after a time.
#[derive(Clone, Copy, Debug)]
pub struct Limit {
    clock: Clock,
    limit: Duration,
}

impl Limit {
    /// So much after the clock's start.
    #[must_use]
    pub fn new(clock: Clock, limit: Duration) -> Limit {
        Limit { clock, limit }
    }

    /// Share of the time that is over, 1 at the end.
    #[must_use]
    pub fn share(&self) -> f64 {
        self.clock.elapsed().as_secs_f64() / self.limit.as_secs_f64().max(1e-9)
    }
}

impl Stop for Limit {
    fn now(&mut self, _steps: u64) -> bool {
        self.clock.elapsed() >= self.limit
    }

    /// As many steps as the pace so far makes between two looks.
    fn at_most(&self, steps: u64) -> u64 {
        let elapsed = self.clock.elapsed().as_micros().max(1);
        let pace = u128::from(steps.max(1)) * LOOK_EVERY.as_micros() / elapsed;
        u64::try_from(pace).unwrap_or(u64::MAX).max(1)
    }
}
