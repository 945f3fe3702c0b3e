//! What happened, for lifting into a plan.

use crate::roster::Worked;
use search::Slot;
use tooling::{BedChange, Stand, StepTime};
use units::{Moment, Window};

/// One run as timed.
#[derive(Clone, Debug)]
pub(crate) struct TimedRun {
    pub(crate) slot: Slot,
    pub(crate) brake: usize,
    pub(crate) change: BedChange,
    pub(crate) steps: Vec<StepTime>,
    /// Setter and spans; `None` when nothing is changed.
    pub(crate) changing: Option<(usize, Vec<Window>)>,
    pub(crate) work: Vec<Worked>,
    /// Takedowns made by then, its own included.
    pub(crate) takedowns: usize,
}

/// One takedown as timed.
#[derive(Clone, Debug)]
pub(crate) struct TimedTakedown {
    pub(crate) brake: usize,
    pub(crate) wanted_by: usize,
    pub(crate) removed: Vec<std::sync::Arc<Stand>>,
    pub(crate) steps: Vec<StepTime>,
    pub(crate) setter: usize,
    pub(crate) spans: Vec<Window>,
}

/// Everything that happened, for lifting into a plan.
#[derive(Clone, Debug, Default)]
pub(crate) struct Log {
    pub(crate) runs: Vec<TimedRun>,
    pub(crate) takedowns: Vec<TimedTakedown>,
    /// Jobs that found no place in time.
    pub(crate) failed: Vec<usize>,
    /// All slots in the order in which they were timed, with the brake; failed ones, too.
    pub(crate) order: Vec<(usize, Slot)>,
    /// End of each promise, kit members taken together.
    pub(crate) completions: Vec<Option<Moment>>,
    /// Seconds worked in overtime shifts.
    pub(crate) overtime: i64,
    /// Seconds off the starts that people were told, and brakes that they were not told.
    pub(crate) moved: i64,
    pub(crate) other_brakes: usize,
}
