//! How a search is getting on.

use std::io::{self, Write};
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
