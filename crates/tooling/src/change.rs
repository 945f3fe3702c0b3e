//! From one bed to the next: what comes off, what stays, what goes on, where, and what it costs.
//!
//! One meaning, one home: the search minimises [`change_steps`], and the changeover sheet prints
//! it.

use crate::bed::{Bed, Spot, Stand};
use crate::compose::{Composer, Composition, Span};
use crate::keep::{Keep, serves};
use crate::options::{Need, ToolingOption};
use crate::stock::Stock;
use model::{Approval, Brake, StepKind, ZDrive};
use std::sync::Arc;
use units::{Length, Seconds};

/// Where sections are that are not on this bed.
pub trait Custody {
    /// Whether the section is on the bed that is to be changed.
    fn on_this_bed(&self, section: usize) -> bool;
    /// Seconds until this brake could have the section, zero when it lies free; `None` when it
    /// cannot be had at all.
    fn wait(&self, section: usize) -> Option<i64>;
    /// Whether another brake will want one of the station's sections.
    fn wanted_elsewhere(&self, stand: &Stand) -> bool;
}

/// What a bed is to be changed for.
#[derive(Clone, Copy, Debug)]
pub struct Request<'a> {
    /// The brake.
    pub brake: &'a Brake,
    /// The run's tooling.
    pub option: &'a ToolingOption,
    /// Tooling of the runs after it on this brake, the next first: what they need is left on the
    /// bed where there is room, and new stations are made long enough for them where they can be.
    pub later: &'a [&'a ToolingOption],
}

/// A changed bed.
#[derive(Clone, Debug)]
pub struct BedChange {
    /// The bed after.
    pub bed: Bed,
    /// For each need of the option, the index of its station on the bed after.
    pub stand_of_need: Vec<usize>,
    /// Stations taken off.
    pub removed: Vec<Arc<Stand>>,
    /// Indices on the bed after of the stations put on.
    pub inserted: Vec<usize>,
    /// Seconds until the last section needed can be had.
    pub wait: i64,
}

/// What the brake did before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Previous {
    /// Index of the part.
    pub part: usize,
    /// Tallest punch plus die used.
    pub tallest: Length,
}

/// One step of a change, with the station it is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StepTime {
    /// What.
    pub kind: StepKind,
    /// How long.
    pub time: Seconds,
    /// Index into `removed` for TakeOff, into the bed after for PutOn.
    pub stand: Option<usize>,
}

/// Changes a bed for a run. Stations that serve the run stay where they are; others stay as long
/// as they are in nobody's way, so that what a later run needs need not be put on again. `None`
/// when the sections cannot be had.
#[must_use]
pub fn change(
    stock: &Stock<'_>,
    composer: &mut Composer,
    bed: &Bed,
    request: &Request<'_>,
    custody: &dyn Custody,
) -> Option<BedChange> {
    change_keeping(stock, composer, bed, request, custody, Keep::Serving)
}

/// [`change`] by another rule of keeping, to measure what that rule is worth.
#[must_use]
pub fn change_keeping(
    stock: &Stock<'_>,
    composer: &mut Composer,
    bed: &Bed,
    request: &Request<'_>,
    custody: &dyn Custody,
    keep: Keep,
) -> Option<BedChange> {
    let keep_all = Draft::new(stock, bed, request, custody, (keep, true));
    if let Some(change) = keep_all.finish(composer) {
        return Some(change);
    }
    // Stations that serve the run may stand where nothing else fits beside them: lay the bed anew.
    Draft::new(stock, bed, request, custody, (keep, false)).finish(composer)
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
    if !change.inserted.is_empty() || !same_height {
        step(StepKind::Guard, times.guard);
    }
    if other_part {
        if option.program.is_none() && !programmed {
            step(StepKind::Programming, rules.programming);
        } else {
            step(StepKind::Program, times.program);
        }
    }
    if other_part || !change.inserted.is_empty() {
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
    let times = &brake.times;
    let mut steps = Vec::with_capacity(removed.len() + change.inserted.len() + 6);
    if removed.is_empty() && change.inserted.is_empty() {
        return steps;
    }
    steps.push(StepTime {
        kind: StepKind::Prepare,
        time: times.base,
        stand: None,
    });
    let weigh = |stand: &Stand, station: Seconds, section: Seconds| {
        let mut time = station;
        for index in stand.sections() {
            time += section;
            if stock.is_heavy(index) {
                time += times.heavy_section;
            }
        }
        time
    };
    for (index, stand) in removed.iter().enumerate() {
        let time = weigh(stand, times.station_off, times.section_off);
        steps.push(StepTime {
            kind: StepKind::TakeOff,
            time,
            stand: Some(index),
        });
    }
    for &index in &change.inserted {
        let time = weigh(
            &change.bed.stands[index],
            times.station_on,
            times.section_on,
        );
        steps.push(StepTime {
            kind: StepKind::PutOn,
            time,
            stand: Some(index),
        });
    }
    steps
}

impl BedChange {
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
            inserted: Vec::new(),
            wait: 0,
        };
        tool_steps(stock, brake, removed, &nothing_else)
    }
}

/// A change in the making.
struct Draft<'a, 's> {
    stock: &'a Stock<'s>,
    bed: &'a Bed,
    request: &'a Request<'a>,
    custody: &'a dyn Custody,
    keep: Keep,
    /// Station on the old bed that serves each need, if any.
    serving: Vec<Option<usize>>,
    /// Whether each old station comes off.
    off: Vec<bool>,
    taken: Vec<usize>,
    wait: i64,
}

/// A new station before it has a place.
struct Fresh {
    need: usize,
    punch_sections: Vec<usize>,
    die_sections: Vec<usize>,
    reversed: bool,
    off_centre_most: Length,
}

impl<'a, 's> Draft<'a, 's> {
    fn new(
        stock: &'a Stock<'s>,
        bed: &'a Bed,
        request: &'a Request<'a>,
        custody: &'a dyn Custody,
        (keep, keep_all): (Keep, bool),
    ) -> Draft<'a, 's> {
        let mut draft = Draft {
            stock,
            bed,
            request,
            custody,
            keep,
            serving: vec![None; request.option.needs.len()],
            off: vec![!keep_all; bed.stands.len()],
            taken: Vec::new(),
            wait: 0,
        };
        if keep_all {
            draft.match_needs();
            draft.clear_crashes();
        }
        draft
    }

    /// Gives each need the shortest station that serves it.
    fn match_needs(&mut self) {
        for (index, need) in self.request.option.needs.iter().enumerate() {
            self.serving[index] = (0..self.bed.stands.len())
                .filter(|&stand| !self.serving.contains(&Some(stand)))
                .filter(|&stand| serves(&self.bed.stands[stand], need, self.request.brake))
                .min_by_key(|&stand| self.bed.stands[stand].length());
        }
    }

    /// An idle station whose tools would touch at this run's deepest ram position comes off.
    fn clear_crashes(&mut self) {
        let option = self.request.option;
        let clearance = self.stock.shop().rules.crash_clearance;
        for (index, stand) in self.bed.stands.iter().enumerate() {
            let used = self.serving.contains(&Some(index));
            if !used && !option.clears(None, stand.closed, stand.free_depth, clearance) {
                self.off[index] = true;
            }
        }
    }

    fn idle(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.bed.stands.len())
            .filter(|&stand| !self.off[stand] && !self.serving.contains(&Some(stand)))
    }

    /// How many runs from now the station serves again; `usize::MAX` when never.
    fn next_use(&self, stand: usize) -> usize {
        let (stand, brake) = (&self.bed.stands[stand], self.request.brake);
        let needed = |need: &Need| match self.keep {
            Keep::Serving => serves(stand, need, brake),
            Keep::NeededSoonest => stand.punch == need.punch && stand.die == need.die,
            Keep::Blind => false,
        };
        let mut later = self.request.later.iter();
        later
            .position(|option| option.needs.iter().any(needed))
            .unwrap_or(usize::MAX)
    }

    fn finish(mut self, composer: &mut Composer) -> Option<BedChange> {
        // The narrowest window chooses first: what it leaves serves the wider ones more often.
        let overhang = self.stock.shop().rules.station_overhang;
        let window = |need: &Need| need.punch_span.within(overhang).most - need.punch_span.least;
        let mut missing: Vec<usize> = (0..self.serving.len())
            .filter(|&need| self.serving[need].is_none())
            .collect();
        missing.sort_by_key(|&need| window(&self.request.option.needs[need]));
        let mut fresh = Vec::with_capacity(missing.len());
        for need in missing {
            fresh.push(self.make_up(composer, need)?);
        }
        fresh.sort_by_key(|station| station.need);
        self.let_go_what_others_want();
        let places = self.find_places(&fresh)?;
        self.assemble(fresh, &places)
    }

    /// Chooses the sections of a new station: long enough for the runs after it as well, where one
    /// length can serve them all.
    fn make_up(&mut self, composer: &mut Composer, index: usize) -> Option<Fresh> {
        let need = &self.request.option.needs[index];
        let mut wide = need.clone();
        let mut choice = self.choose(composer, &wide)?;
        let later = match self.keep {
            Keep::Serving => self.request.later,
            Keep::NeededSoonest | Keep::Blind => &[],
        };
        for option in later {
            let same = option
                .needs
                .iter()
                .find(|n| n.punch == need.punch && n.die == need.die);
            let Some(shared) = same.and_then(|later| wide.shared_with(later)) else {
                break;
            };
            if shared != wide {
                let Some(better) = self.choose(composer, &shared) else {
                    break;
                };
                if better.wait > choice.wait {
                    break;
                }
                choice = better;
                wide = shared;
            }
        }
        for stand in choice.free_first {
            self.off[stand] = true;
        }
        self.wait = self.wait.max(choice.wait);
        self.taken
            .extend(choice.punch_sections.iter().chain(&choice.die_sections));
        if !wide.ways.plain {
            choice.punch_sections.reverse();
        }
        Some(Fresh {
            need: index,
            punch_sections: choice.punch_sections,
            die_sections: choice.die_sections,
            reversed: !wide.ways.plain,
            off_centre_most: wide.off_centre_most,
        })
    }

    fn choose(&self, composer: &mut Composer, need: &Need) -> Option<Choice> {
        let overhang = self.stock.shop().rules.station_overhang;
        let punch = self.choose_half(composer, need.punch, need.punch_span.within(overhang))?;
        let die_span = Span {
            least: need.die_least,
            most: Length::UNLIMITED,
            horns: false,
        };
        let die = self.choose_half(composer, need.die, die_span.within(overhang))?;
        let mut free_first = punch.free_first;
        free_first.extend(die.free_first);
        Some(Choice {
            punch_sections: punch.sections,
            die_sections: die.sections,
            free_first,
            wait: punch.wait.max(die.wait),
        })
    }

    /// The composition that is soonest at hand and disturbs least.
    fn choose_half(&self, composer: &mut Composer, profile: usize, span: Span) -> Option<Half> {
        let compositions = composer.compositions(self.stock, profile, span);
        let mut best: Option<Half> = None;
        for composition in compositions.iter() {
            let Some(half) = self.gather(composition) else {
                continue;
            };
            // Fewest sections come first: one that disturbs nothing cannot be bettered.
            let undisturbing = half.wait == 0 && half.free_first.is_empty();
            if best.as_ref().is_none_or(|best| half.cost < best.cost) {
                best = Some(half);
            }
            if undisturbing {
                break;
            }
        }
        best
    }

    /// Physical sections for a composition, from where they are soonest at hand.
    fn gather(&self, composition: &Composition) -> Option<Half> {
        let mut half = Half {
            sections: Vec::new(),
            free_first: Vec::new(),
            wait: 0,
            cost: 0,
        };
        let piece = self.request.brake.times.section_on.0;
        for &class in &composition.classes {
            let (cost, section, from) = self
                .stock
                .class(class)
                .members
                .iter()
                .copied()
                .filter(|section| !self.taken.contains(section) && !half.sections.contains(section))
                .filter_map(|section| self.reach(section, &half.free_first))
                .min_by_key(|&(cost, section, _)| (cost, section))?;
            half.sections.push(section);
            half.cost += piece;
            match from {
                From::OwnBed(stand) => {
                    if !half.free_first.contains(&stand) {
                        half.free_first.push(stand);
                        half.cost += cost;
                    }
                }
                From::Elsewhere => {
                    half.wait = half.wait.max(cost);
                }
            }
        }
        half.cost += half.wait;
        Some(half)
    }

    fn reach(&self, section: usize, freed: &[usize]) -> Option<(i64, usize, From)> {
        let own = self
            .bed
            .stands
            .iter()
            .position(|stand| stand.holds(section));
        let Some(stand) = own else {
            return self
                .custody
                .wait(section)
                .map(|wait| (wait, section, From::Elsewhere));
        };
        if self.serving.contains(&Some(stand)) {
            return None;
        }
        let times = &self.request.brake.times;
        let cost = if self.off[stand] || freed.contains(&stand) {
            0
        } else if self.next_use(stand) == usize::MAX {
            times.station_off.0
        } else {
            times.station_off.0 + times.station_on.0 + times.base.0
        };
        Some((cost, section, From::OwnBed(stand)))
    }

    fn let_go_what_others_want(&mut self) {
        if self.keep != Keep::Serving {
            return;
        }
        let idle: Vec<usize> = self.idle().collect();
        for stand in idle {
            if self.next_use(stand) == usize::MAX
                && self.custody.wanted_elsewhere(&self.bed.stands[stand])
            {
                self.off[stand] = true;
            }
        }
    }

    /// Places for the new stations; while they do not fit, the idle station needed latest goes.
    fn find_places(&mut self, fresh: &[Fresh]) -> Option<Vec<Length>> {
        let sum = |sections: &[usize]| -> Length {
            sections
                .iter()
                .map(|&section| self.stock.section_length(section))
                .sum()
        };
        let spots: Vec<Spot> = fresh
            .iter()
            .map(|station| Spot {
                length: sum(&station.punch_sections).max(sum(&station.die_sections)),
                punch_length: sum(&station.punch_sections),
                off_centre_most: station.off_centre_most,
            })
            .collect();
        loop {
            let kept: Vec<(Length, Length)> = (0..self.bed.stands.len())
                .filter(|&stand| !self.off[stand])
                .map(|stand| (self.bed.stands[stand].left, self.bed.stands[stand].right()))
                .collect();
            let gap = self.stock.shop().rules.station_gap;
            if let Some(places) = Bed::place(&kept, self.request.brake.bed, gap, &spots) {
                return Some(places);
            }
            let latest = self
                .idle()
                .max_by_key(|&stand| (self.next_use(stand), stand))?;
            self.off[latest] = true;
        }
    }

    fn assemble(self, fresh: Vec<Fresh>, places: &[Length]) -> Option<BedChange> {
        let mut stands: Vec<(Arc<Stand>, Option<usize>, bool)> = Vec::new();
        let mut removed = Vec::new();
        for (index, stand) in self.bed.stands.iter().enumerate() {
            if self.off[index] {
                removed.push(Arc::clone(stand));
            } else {
                let need = self.serving.iter().position(|&s| s == Some(index));
                stands.push((Arc::clone(stand), need, false));
            }
        }
        for (station, &left) in fresh.into_iter().zip(places) {
            let need = &self.request.option.needs[station.need];
            let stand = Stand::assemble(
                self.stock,
                (need.punch, need.die),
                station.reversed,
                left,
                station.punch_sections,
                station.die_sections,
            )?;
            stands.push((Arc::new(stand), Some(station.need), true));
        }
        stands.sort_by_key(|(stand, _, _)| stand.left);
        let mut stand_of_need = vec![0; self.serving.len()];
        let mut inserted = Vec::new();
        for (index, (_, need, is_new)) in stands.iter().enumerate() {
            if let Some(need) = need {
                stand_of_need[*need] = index;
            }
            if *is_new {
                inserted.push(index);
            }
        }
        let bed = Bed {
            stands: stands.into_iter().map(|(stand, _, _)| stand).collect(),
        };
        Some(BedChange {
            bed,
            stand_of_need,
            removed,
            inserted,
            wait: self.wait,
        })
    }
}

enum From {
    OwnBed(usize),
    Elsewhere,
}

struct Half {
    sections: Vec<usize>,
    free_first: Vec<usize>,
    wait: i64,
    cost: i64,
}

struct Choice {
    punch_sections: Vec<usize>,
    die_sections: Vec<usize>,
    free_first: Vec<usize>,
    wait: i64,
}
