//! A section is on one brake at a time, and once on its bed.

use super::{Rule, broken};
use crate::bed::{Bed, Placed};
use crate::case::Case;
use crate::replay::Replay;
use model::Violation;
use std::collections::{BTreeMap, BTreeSet};
use units::{BrakeId, Moment, SectionId};

pub(super) const TWO_BRAKES: Rule = (
    "A155",
    "section-on-two-brakes",
    "a section belongs to two brakes at the same time",
);
pub(super) const TWICE: Rule = (
    "A156",
    "section-twice-on-bed",
    "a section stands twice on one bed",
);

/// A brake has a section from the first second of the change that puts it on to the last of the
/// one that takes it off.
struct Custody<'c> {
    brake: &'c BrakeId,
    at: String,
    from: Moment,
    to: Moment,
}

/// Custodies of each section, and those that have not ended, by brake.
#[derive(Default)]
struct Ledger<'c> {
    closed: BTreeMap<&'c SectionId, Vec<Custody<'c>>>,
    open: BTreeMap<(&'c SectionId, &'c BrakeId), (String, Moment)>,
}

impl<'c> Ledger<'c> {
    fn take(&mut self, stations: &Bed<'c>, brake: &'c BrakeId, at: &str, from: Moment) {
        for section in stations.iter().flat_map(Placed::sections) {
            self.open
                .entry((section, brake))
                .or_insert_with(|| (at.to_owned(), from));
        }
    }

    fn release(&mut self, stations: &Bed<'c>, brake: &'c BrakeId, to: Moment) {
        for section in stations.iter().flat_map(Placed::sections) {
            if let Some((at, from)) = self.open.remove(&(section, brake)) {
                let custody = Custody {
                    brake,
                    at,
                    from,
                    to,
                };
                self.closed.entry(section).or_default().push(custody);
            }
        }
    }

    /// Ends what is still open at the end of all time.
    fn close(mut self) -> BTreeMap<&'c SectionId, Vec<Custody<'c>>> {
        for ((section, brake), (at, from)) in self.open {
            let custody = Custody {
                brake,
                at,
                from,
                to: Moment(i64::MAX),
            };
            self.closed.entry(section).or_default().push(custody);
        }
        self.closed
    }
}

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    let mut ledger = Ledger::default();
    for station in &case.shop.floor.stations {
        let bed = vec![Placed::from_floor(station)];
        ledger.take(
            &bed,
            &station.brake,
            station.brake.as_str(),
            Moment(i64::MIN),
        );
    }
    for (brake, at, bed, start, end) in changes_in_order(case) {
        ledger.release(&bed.removed, brake, end);
        ledger.take(&bed.inserted, brake, at, start);
        check_bed(at, bed, out);
    }
    for (section, mut custodies) in ledger.close() {
        custodies.sort_by_key(|custody| (custody.from, custody.to));
        check_section(case, section, &custodies, out);
    }
}

type Change<'c, 'a> = (&'a BrakeId, &'c str, &'c Replay<'a>, Moment, Moment);

/// Takedowns and changeovers, brake by brake in the order they were replayed.
fn changes_in_order<'c, 'a>(case: &'c Case<'a>) -> Vec<Change<'c, 'a>> {
    let mut changes = Vec::new();
    for takedown in &case.takedowns {
        let plan = takedown.takedown;
        changes.push((
            takedown.brake_id,
            takedown.at.as_str(),
            &takedown.bed,
            plan.start,
            plan.end,
        ));
    }
    for run in &case.runs {
        let plan = &run.run.changeover;
        changes.push((
            run.brake_id,
            run.run.name.as_str(),
            &run.bed,
            plan.start,
            plan.end,
        ));
    }
    // Stable: takedowns come first in a tie, as they do in the replay.
    changes.sort_by_key(|(_, _, _, start, _)| *start);
    changes
}

fn check_bed(at: &str, bed: &Replay, out: &mut Vec<Violation>) {
    let put_on: BTreeSet<_> = bed.inserted.iter().flat_map(Placed::sections).collect();
    let mut seen = BTreeSet::new();
    for section in bed.after.iter().flat_map(Placed::sections) {
        if !seen.insert(section) && put_on.contains(section) {
            broken(
                out,
                &TWICE,
                at,
                format!("section {section} stands in two places"),
            );
        }
    }
}

fn check_section(
    case: &Case,
    section: &SectionId,
    custodies: &[Custody],
    out: &mut Vec<Violation>,
) {
    for (index, first) in custodies.iter().enumerate() {
        let later = custodies.iter().skip(index + 1);
        for second in later.take_while(|second| second.from < first.to) {
            if first.brake == second.brake {
                continue;
            }
            let free = if first.to == Moment(i64::MAX) {
                "never takes it off".to_owned()
            } else {
                format!("has it until {}", case.show(first.to))
            };
            let taken = if second.from == Moment(i64::MIN) {
                "has it on its bed already".to_owned()
            } else {
                format!("puts it on {}", case.show(second.from))
            };
            let text = format!(
                "section {section}: {} {free}, {} {taken}",
                first.brake, second.brake
            );
            broken(out, &TWO_BRAKES, &second.at, text);
        }
    }
}
