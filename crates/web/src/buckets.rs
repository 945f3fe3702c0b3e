//! Limits on how often somebody may ask.

use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// Callers remembered at most. Past that, those with full buckets are forgotten, which changes
/// nothing for them; if all are in use the fullest go.
const CALLERS_MOST: usize = 10_000;

/// How often: so many at once, and one more each so often.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rate {
    /// At once, at least 1.
    pub at_once: u32,
    /// Time after which one more may come.
    pub every: Duration,
}

/// A bucket of permits for each caller.
#[derive(Debug)]
pub(crate) struct Buckets {
    rate: Rate,
    callers: Mutex<HashMap<String, Bucket>>,
}

#[derive(Clone, Copy, Debug)]
struct Bucket {
    permits: f64,
    at: Instant,
}

impl Buckets {
    pub(crate) fn new(rate: Rate) -> Buckets {
        Buckets {
            rate,
            callers: Mutex::default(),
        }
    }

    /// Takes a permit of `caller`'s.
    ///
    /// # Errors
    /// The whole seconds, at least 1, until there is one again.
    pub(crate) fn take(&self, caller: &str, now: Instant) -> Result<(), u64> {
        // A count that a panic cut short is still a count.
        let mut callers = self.callers.lock().unwrap_or_else(PoisonError::into_inner);
        if callers.len() >= CALLERS_MOST && !callers.contains_key(caller) {
            self.make_room(&mut callers, now);
        }
        let bucket = callers.entry(caller.to_owned()).or_insert(Bucket {
            permits: self.most(),
            at: now,
        });
        *bucket = self.filled(*bucket, now);
        if bucket.permits >= 1.0 {
            bucket.permits -= 1.0;
            return Ok(());
        }
        let wait = self.rate.every.mul_f64(1.0 - bucket.permits);
        Err(wait.as_secs() + 1)
    }

    fn most(&self) -> f64 {
        f64::from(self.rate.at_once.max(1))
    }

    fn filled(&self, bucket: Bucket, now: Instant) -> Bucket {
        let passed = now.saturating_duration_since(bucket.at).as_secs_f64();
        let every = self.rate.every.as_secs_f64().max(1e-9);
        Bucket {
            permits: (bucket.permits + passed / every).min(self.most()),
            at: now,
        }
    }

    fn make_room(&self, callers: &mut HashMap<String, Bucket>, now: Instant) {
        let full = self.most();
        callers.retain(|_, bucket| self.filled(*bucket, now).permits < full);
        if callers.len() >= CALLERS_MOST {
            let mut levels: Vec<f64> = callers.values().map(|bucket| bucket.permits).collect();
            levels.sort_by(f64::total_cmp);
            let middle = levels.get(levels.len() / 2).copied().unwrap_or(0.0);
            callers.retain(|_, bucket| bucket.permits < middle);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn permits_run_out_and_come_back() {
        let every = Duration::from_secs(10);
        let buckets = Buckets::new(Rate { at_once: 2, every });
        let start = Instant::now();
        assert_eq!(buckets.take("A", start), Ok(()));
        assert_eq!(buckets.take("A", start), Ok(()));
        assert_eq!(buckets.take("A", start), Err(11));
        assert_eq!(buckets.take("B", start), Ok(()), "another caller");
        let later = start + Duration::from_secs(5);
        assert_eq!(buckets.take("A", later), Err(6));
        assert_eq!(buckets.take("A", start + Duration::from_secs(10)), Ok(()));
        assert!(buckets.take("A", start + Duration::from_secs(10)).is_err());
    }

    #[test]
    fn many_callers_take_no_more_room() {
        let every = Duration::from_secs(10);
        let buckets = Buckets::new(Rate { at_once: 2, every });
        let start = Instant::now();
        for caller in 0..3 * CALLERS_MOST {
            let _ = buckets.take(&caller.to_string(), start);
        }
        assert!(buckets.callers.lock().unwrap().len() <= CALLERS_MOST);
    }
}
