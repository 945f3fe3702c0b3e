//! Beds, brakes and sections.

use super::check_why;
use crate::floor_entry::StationEntry;
use crate::happening::Happening;
use crate::refusal::Refusal;
use crate::state::{Doing, State};
use documents::Cells;
use model::BedStation;
use units::{BrakeId, Moment, SectionId};

impl State {
    pub(super) fn describe_bed(
        &self,
        brake: &BrakeId,
        rows: &[Cells],
    ) -> Result<Vec<Happening>, Refusal> {
        self.known_brake(brake)?;
        let base = self.base_or_refusal()?;
        let read = base.read_bed("request", brake, rows);
        let bed = read.map_err(Refusal::invalid)?;
        let mut sections = bed.iter().flat_map(BedStation::sections);
        if let Some(out) = sections.find(|id| self.sections_out.contains_key(*id)) {
            return Err(Refusal::conflict(format!(
                "section {out} is out of service; take it off the bed, or report it fit for use first"
            )));
        }
        let same = self
            .beds
            .get(brake)
            .map_or(bed.is_empty(), |now| *now == bed);
        if same && !matches!(self.doing(brake), Doing::ChangingOver(_)) {
            return Ok(Vec::new());
        }
        Ok(vec![Happening::BedDescribed {
            brake: brake.clone(),
            stations: bed.iter().map(StationEntry::from).collect(),
        }])
    }

    pub(super) fn brake_down(
        &self,
        brake: &BrakeId,
        from: Moment,
        until: Moment,
        why: &str,
        now: Moment,
    ) -> Result<Vec<Happening>, Refusal> {
        self.known_brake(brake)?;
        check_why(why)?;
        if until <= now || until <= from {
            return Err(Refusal::unusable(format!(
                "brake {brake} would be up again before it is down; give an end after now and after \
                 the start"
            )));
        }
        let over = |end: Moment| end <= now;
        let before = self
            .downs
            .iter()
            .find(|down| down.brake == *brake && !over(down.window.end));
        // Down twice is one down with a new end.
        let start = before.map_or(from, |before| before.window.start.min(from));
        let why = match before {
            Some(before) if why.is_empty() => before.reason.clone(),
            _ => why.to_owned(),
        };
        let same = before.is_some_and(|before| {
            before.window.start == start && before.window.end == until && before.reason == why
        });
        if same {
            return Ok(Vec::new());
        }
        Ok(vec![Happening::BrakeDown {
            brake: brake.clone(),
            from: start,
            until,
            why,
        }])
    }

    pub(super) fn brake_up(&self, brake: &BrakeId, now: Moment) -> Result<Vec<Happening>, Refusal> {
        self.known_brake(brake)?;
        let is_down = self
            .downs
            .iter()
            .any(|down| down.brake == *brake && down.window.end > now);
        if !is_down {
            return Ok(Vec::new());
        }
        let brake = brake.clone();
        Ok(vec![Happening::BrakeUp { brake }])
    }

    pub(super) fn section_out(
        &self,
        section: &SectionId,
        why: &str,
    ) -> Result<Vec<Happening>, Refusal> {
        check_why(why)?;
        self.known_section(section)?;
        if self.sections_out.contains_key(section) {
            return Ok(Vec::new());
        }
        Ok(vec![Happening::SectionOut {
            section: section.clone(),
            why: why.to_owned(),
        }])
    }

    pub(super) fn section_back(&self, section: &SectionId) -> Result<Vec<Happening>, Refusal> {
        if !self.sections_out.contains_key(section) {
            self.known_section(section)?;
            return Ok(Vec::new());
        }
        let section = section.clone();
        Ok(vec![Happening::SectionBack { section }])
    }

    fn known_section(&self, section: &SectionId) -> Result<(), Refusal> {
        let base = self.base_or_refusal()?;
        if base.shop().section(section).is_some() {
            return Ok(());
        }
        Err(Refusal::missing(format!(
            "no section {section}; use an id of sections.csv"
        )))
    }
}
