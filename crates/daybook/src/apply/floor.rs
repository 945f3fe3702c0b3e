//! The floor as it is described, brakes down, sections out.

use super::Stamp;
use crate::floor_entry::{DownEntry, RunningEntry, StationEntry};
use crate::happening::Happening;
use crate::state::{Doing, RunOn, SectionOut, State};
use model::{BedStation, BrakeDown, Floor, RunningOrder};
use std::collections::BTreeSet;
use units::{BrakeId, Moment, SectionId, Window};

impl State {
    pub(super) fn apply_floor(&mut self, happening: &Happening, stamp: Stamp<'_>) {
        match happening {
            Happening::FloorDescribed {
                stations,
                running,
                down,
            } => self.describe_floor(stations, running, down, stamp),
            Happening::BedDescribed { brake, stations } => {
                self.describe_bed_of(brake, stations, stamp);
            }
            Happening::BrakeDown {
                brake,
                from,
                until,
                why,
            } => self.take_down(brake, (*from, *until), why, stamp),
            Happening::BrakeUp { brake } => {
                self.downs.retain(|down| down.brake != *brake);
                self.touch(brake, stamp);
                self.wanted(stamp);
            }
            Happening::SectionOut { section, why } => {
                let since = stamp.at;
                let why = why.clone();
                self.sections_out
                    .insert(section.clone(), SectionOut { since, why });
                self.take_off(section, stamp);
                self.unfit(stamp);
            }
            Happening::SectionBack { section } => {
                self.sections_out.remove(section);
                self.wanted(stamp);
            }
            _ => {}
        }
    }

    fn describe_bed_of(&mut self, brake: &BrakeId, stations: &[StationEntry], stamp: Stamp<'_>) {
        let before = self.beds.clone();
        let changing = matches!(self.doing(brake), Doing::ChangingOver(_));
        self.lay(brake, stations, stamp);
        if changing {
            self.set_doing(brake, Doing::Idle, stamp);
        } else {
            self.touch(brake, stamp);
        }
        if changing || self.beds != before {
            self.unfit(stamp);
        }
    }

    fn take_down(
        &mut self,
        brake: &BrakeId,
        (start, end): (Moment, Moment),
        why: &str,
        stamp: Stamp<'_>,
    ) {
        self.downs.retain(|down| down.brake != *brake);
        self.downs.push(BrakeDown {
            brake: brake.clone(),
            window: Window { start, end },
            reason: why.to_owned(),
        });
        self.touch(brake, stamp);
        self.wanted(stamp);
    }

    fn describe_floor(
        &mut self,
        stations: &[StationEntry],
        running: &[RunningEntry],
        down: &[DownEntry],
        stamp: Stamp<'_>,
    ) {
        self.described = floor_of(stations, running, down);
        let before = std::mem::take(&mut self.on_brake);
        let mut brakes: BTreeSet<BrakeId> = before.keys().cloned().collect();
        for (brake, on) in before {
            let Doing::Running(run) = on.doing else {
                continue;
            };
            let goes_on = running
                .iter()
                .any(|row| row.brake == brake && row.order == run.order);
            self.book(
                &run.order,
                if goes_on { 0 } else { run.good },
                run.scrap,
                stamp,
            );
        }
        self.beds.clear();
        brakes.extend(stations.iter().map(|station| station.brake.clone()));
        brakes.extend(running.iter().map(|row| row.brake.clone()));
        brakes.extend(down.iter().map(|row| row.brake.clone()));
        for brake in &brakes {
            let bed: Vec<StationEntry> = stations
                .iter()
                .filter(|station| station.brake == *brake)
                .cloned()
                .collect();
            self.lay(brake, &bed, stamp);
            self.set_doing(brake, Doing::Idle, stamp);
        }
        for row in running {
            self.take_running(row, stamp);
        }
        self.downs = down.iter().map(BrakeDown::from).collect();
        self.unfit(stamp);
    }

    /// An order in progress as the floor's description has it; one that is closed, or that is tied
    /// to another brake, is not.
    fn take_running(&mut self, row: &RunningEntry, stamp: Stamp<'_>) {
        let Some(order) = self.open_order(&row.order) else {
            return;
        };
        let tied = order.order.brake.as_ref();
        let elsewhere = tied.is_some_and(|tied| *tied != row.brake);
        let quantity = self.pieces_free(order);
        if elsewhere || quantity == 0 {
            return;
        }
        let run = RunOn {
            of: None,
            made_from: 0,
            order: row.order.clone(),
            quantity,
            good: row.pieces_done.saturating_sub(order.done).min(quantity),
            scrap: 0,
            // Which of them bend is not said.
            stations: self.beds.get(&row.brake).cloned().unwrap_or_default(),
            started: stamp.at,
            paused: None,
            paused_seconds: 0,
            planned_cycle_ms: 0,
            planned_pause_seconds: 0,
            planned_end: None,
        };
        self.set_doing(&row.brake, Doing::Running(Box::new(run)), stamp);
        self.touch_order(&row.order, stamp);
    }

    /// Sets what stands on a bed. A section stands in one place: a station elsewhere that had one of
    /// these is not there any more, and sections out of service are on no bed.
    pub(super) fn lay(&mut self, brake: &BrakeId, stations: &[StationEntry], stamp: Stamp<'_>) {
        let bed: Vec<BedStation> = stations
            .iter()
            .map(BedStation::from)
            .filter_map(|station| self.in_service(station))
            .collect();
        let here: BTreeSet<&SectionId> = bed.iter().flat_map(BedStation::sections).collect();
        let mut robbed = Vec::new();
        for (other, stations) in &mut self.beds {
            let before = stations.len();
            if other != brake {
                stations.retain(|station| !station.sections().any(|id| here.contains(id)));
            }
            if stations.len() < before {
                robbed.push(other.clone());
            }
        }
        for other in robbed {
            self.touch(&other, stamp);
        }
        self.beds.insert(brake.clone(), bed);
    }

    fn in_service(&self, mut station: BedStation) -> Option<BedStation> {
        let good = |id: &SectionId| !self.sections_out.contains_key(id);
        station.punch_sections.retain(good);
        station.die_sections.retain(good);
        let whole = !station.punch_sections.is_empty() && !station.die_sections.is_empty();
        whole.then_some(station)
    }

    /// Takes a section off its bed. The others of its row are taken to be pushed together to the
    /// left; a station without punch or die is none.
    fn take_off(&mut self, section: &SectionId, stamp: Stamp<'_>) {
        let holds = |bed: &Vec<BedStation>| {
            let mut sections = bed.iter().flat_map(BedStation::sections);
            sections.any(|id| id == section)
        };
        let brake = self.beds.iter().find(|(_, bed)| holds(bed));
        let Some(brake) = brake.map(|(brake, _)| brake.clone()) else {
            return;
        };
        let bed = self.beds.remove(&brake).unwrap_or_default();
        let left = bed
            .into_iter()
            .filter_map(|station| self.in_service(station));
        let left = left.collect();
        self.beds.insert(brake.clone(), left);
        self.touch(&brake, stamp);
    }
}

fn floor_of(stations: &[StationEntry], running: &[RunningEntry], down: &[DownEntry]) -> Floor {
    Floor {
        stations: stations.iter().map(BedStation::from).collect(),
        running: running
            .iter()
            .map(|row| RunningOrder {
                brake: row.brake.clone(),
                order: row.order.clone(),
                pieces_done: row.pieces_done,
            })
            .collect(),
        down: down.iter().map(BrakeDown::from).collect(),
    }
}
