//! What a change costs, step by step.

use super::{BedChange, Previous};
use crate::bed::{Bed, Stand};
use crate::options::ToolingOption;
use crate::stock::Stock;
use model::{Approval, Brake, ChangeTimes, StepKind, ZDrive};
use std::sync::Arc;
use units::{Length, Seconds};

/// One step of a change, with the station it is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StepTime {
    /// What.
    pub kind: StepKind,
    /// How long.
    pub time: Seconds,
    /// Index into `removed` for `TakeOff`, into the bed after for `Turn`, `Slide` and `PutOn`.
    pub stand: Option<usize>,
}

/// Steps and times of a change; docs/rules.md section 4. An empty list means nothing is done.
#[must_use]
pub fn change_steps(
    stock: &Stock<'_>,
    brake: &Brake,
    option: &ToolingOption,
    change: &BedChange,
    previous: Option<Previous>,
    programmed: bool,
) -> Vec<StepTime> {
    let (times, rules) = (&brake.times, &stock.shop().rules);
    let other_part = previous.is_none_or(|previous| previous.part != option.part);
    let mut steps = tool_steps(stock, brake, &change.removed, change);
    let mut step = |kind, time: Seconds| {
        if time > Seconds::ZERO {
            steps.push(StepTime {
                kind,
                time,
                stand: None,
            });
        }
    };
    if other_part && brake.gauge.z == ZDrive::Hand {
        let stations = i64::try_from(option.needs.len()).unwrap_or(i64::MAX);
        step(StepKind::Fingers, Seconds(times.fingers.0 * stations));
    }
    let same_height = previous.is_some_and(|previous| previous.tallest == option.tallest);
    if change.shows_other_tools() || !same_height {
        step(StepKind::Guard, times.guard);
    }
    if other_part {
        if option.program.is_none() && !programmed {
            step(StepKind::Programming, rules.programming);
        } else {
            step(StepKind::Program, times.program);
        }
    }
    if other_part || change.shows_other_tools() || !change.slid.is_empty() {
        let pieces = i64::from(rules.first_off_pieces);
        step(
            StepKind::FirstPiece,
            Seconds((pieces * option.cycle_ms + 999) / 1000),
        );
        let approval = match option.approval {
            Approval::Own => rules.approve_own,
            Approval::Inspector => rules.approve_inspector,
            Approval::Customer => rules.approve_customer,
        };
        step(StepKind::Approval, approval);
    }
    steps
}

fn tool_steps(
    stock: &Stock<'_>,
    brake: &Brake,
    removed: &[Arc<Stand>],
    change: &BedChange,
) -> Vec<StepTime> {
    let work = StationWork {
        stock,
        times: &brake.times,
    };
    let stations = removed.len() + change.turned.len() + change.slid.len() + change.inserted.len();
    let mut steps = Vec::with_capacity(stations + 6);
    if stations == 0 {
        return steps;
    }
    let mut step = |kind, time, stand| steps.push(StepTime { kind, time, stand });
    step(StepKind::Prepare, brake.times.base, None);
    let after = &change.bed.stands;
    for (index, stand) in removed.iter().enumerate() {
        step(StepKind::TakeOff, work.off(stand), Some(index));
    }
    for turned in &change.turned {
        let time = work.turn(&after[turned.stand]);
        step(StepKind::Turn, time, Some(turned.stand));
    }
    for slid in &change.slid {
        step(StepKind::Slide, brake.times.station_slide, Some(slid.stand));
    }
    for &index in &change.inserted {
        step(StepKind::PutOn, work.on(&after[index]), Some(index));
    }
    steps
}

/// Times of work on one station.
#[derive(Clone, Copy)]
pub(super) struct StationWork<'a, 's> {
    pub(super) stock: &'a Stock<'s>,
    pub(super) times: &'a ChangeTimes,
}

impl StationWork<'_, '_> {
    /// Taking it off.
    pub(super) fn off(self, stand: &Stand) -> Seconds {
        self.times.station_off + self.handling(stand.sections(), self.times.section_off)
    }

    /// Putting it on.
    pub(super) fn on(self, stand: &Stand) -> Seconds {
        self.on_of(stand.sections())
    }

    /// Putting a station of these sections on.
    pub(super) fn on_of(self, sections: impl Iterator<Item = usize>) -> Seconds {
        self.times.station_on + self.handling(sections, self.times.section_on)
    }

    /// Turning its die block.
    pub(super) fn turn(self, stand: &Stand) -> Seconds {
        self.handling(stand.die_sections.iter().copied(), self.times.section_turn)
    }

    fn handling(self, sections: impl Iterator<Item = usize>, each: Seconds) -> Seconds {
        let mut time = Seconds::ZERO;
        for section in sections {
            time += each;
            if self.stock.is_heavy(section) {
                time += self.times.heavy_section;
            }
        }
        time
    }
}

impl BedChange {
    /// Whether any station is taken off, turned, slid or put on.
    #[must_use]
    pub fn moves_tools(&self) -> bool {
        !self.removed.is_empty() || !self.slid.is_empty() || self.shows_other_tools()
    }

    /// Whether a station is put on or turned.
    fn shows_other_tools(&self) -> bool {
        !self.inserted.is_empty() || !self.turned.is_empty()
    }

    /// Left end of the station at an index on the bed after, before the change.
    #[must_use]
    pub fn left_before(&self, stand: usize) -> Option<Length> {
        let slid = self.slid.iter().find(|slid| slid.stand == stand)?;
        Some(slid.from)
    }

    /// Die that the station at an index on the bed after showed before the change.
    #[must_use]
    pub fn die_before(&self, stand: usize) -> Option<usize> {
        let turned = self.turned.iter().find(|turned| turned.stand == stand)?;
        Some(turned.from)
    }

    /// The steps of a change that only takes stations off.
    #[must_use]
    pub fn takedown_steps(
        stock: &Stock<'_>,
        brake: &Brake,
        removed: &[Arc<Stand>],
    ) -> Vec<StepTime> {
        let nothing_else = BedChange {
            bed: Bed::default(),
            stand_of_need: Vec::new(),
            removed: Vec::new(),
            turned: Vec::new(),
            slid: Vec::new(),
            inserted: Vec::new(),
            wait: 0,
        };
        tool_steps(stock, brake, removed, &nothing_else)
    }
}
