//! How a search is getting on.

use std::io::{self, Write};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};
use workshop::Watch;

/// Moves to the start of the line and wipes it.
pub(super) const CLEAR: &str = "\r\u{1b}[K";

/// Often enough to look alive, seldom enough not to slow the search.
const BETWEEN_LINES: Duration = Duration::from_millis(100);

/// Writes the best cost so far on one line that it keeps overwriting.
pub(crate) struct SearchProgress {
    shown: bool,
    last: Option<Instant>,
}

impl SearchProgress {
    /// Silent unless `shown`.
    pub(super) fn new(shown: bool) -> SearchProgress {
        SearchProgress { shown, last: None }
    }
}

impl Watch for SearchProgress {
    fn better(&mut self, step: u64, cost: i64) {
        let recent = self.last.is_some_and(|last| last.elapsed() < BETWEEN_LINES);
        if !self.shown || recent {
            return;
        }
        self.last = Some(Instant::now());
        let minutes = super::totals::minutes_of(cost);
        let mut screen = io::stderr().lock();
        let _ = write!(
            screen,
            "{CLEAR}planning: step {step}, cost {minutes} min; Ctrl-C takes the best so far"
        );
        let _ = screen.flush();
    }
}

/// Counts plans on one line that it keeps overwriting, whatever thread made them.
pub(crate) struct PlansProgress {
    shown: bool,
    last: Mutex<Option<Instant>>,
}

impl PlansProgress {
    /// Silent unless `shown`.
    pub(super) fn new(shown: bool) -> PlansProgress {
        PlansProgress {
            shown,
            last: Mutex::new(None),
        }
    }

    /// So many plans of so many are made.
    pub(crate) fn made(&self, done: usize, all: usize) {
        if !self.shown {
            return;
        }
        let mut last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        if last.is_some_and(|last| last.elapsed() < BETWEEN_LINES) {
            return;
        }
        *last = Some(Instant::now());
        let mut screen = io::stderr().lock();
        let _ = write!(
            screen,
            "{CLEAR}plan {done} of {all}; Ctrl-C shows what is finished"
        );
        let _ = screen.flush();
    }
}
