//! A change in the making: which stations serve, which come off, which are turned or slid.

use super::fresh::Fresh;
use super::places::Layout;
use super::steps::StationWork;
use super::{BedChange, Custody, Request, Slid, Turned};
use crate::bed::{Bed, Stand};
use crate::compose::Composer;
use crate::keep::Keep;
use crate::options::{Need, ToolingOption};
use crate::stock::Stock;
use model::Brake;
use std::sync::Arc;
use units::{Length, Seconds};

/// What of the old bed may serve the run.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Old {
    /// Stations as they stand, and those that serve when they are turned or slid.
    Altered,
    /// Stations as they stand.
    AsItStands,
    /// None: the bed is laid anew.
    Nothing,
}

/// How a station serves a need.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Fit {
    AsItStands,
    /// From another place.
    Slid,
    /// With another die of its block.
    Turned,
}

/// A change in the making.
pub(super) struct Draft<'a, 's> {
    pub(super) stock: &'a Stock<'s>,
    pub(super) bed: &'a Bed,
    pub(super) request: &'a Request<'a>,
    pub(super) custody: &'a dyn Custody,
    old: Old,
    keep: Keep,
    /// Station on the old bed that serves each need, if any.
    pub(super) serving: Vec<Option<usize>>,
    /// Whether each old station comes off.
    pub(super) off: Vec<bool>,
    /// Old stations that are turned, and the die they will show.
    pub(super) turned: Vec<(usize, usize)>,
    /// Old stations that must be slid to serve.
    pub(super) misplaced: Vec<usize>,
    pub(super) taken: Vec<usize>,
    pub(super) wait: i64,
}

/// How far the middle of a punch that starts at `left` is from the bed's.
pub(crate) fn off_centre(left: Length, punch_length: Length, bed: Length) -> Length {
    (left + left + punch_length - bed).abs().half()
}

/// Whether a station may serve a need where and as it stands.
fn serves(stand: &Stand, need: &Need, brake: &Brake) -> bool {
    serves_but_for_place(stand, need) && in_place(stand, need, brake)
}

/// Whether a station as it is may serve a need, if it stands where it may.
pub(super) fn serves_but_for_place(stand: &Stand, need: &Need) -> bool {
    stand.die == need.die && suits_but_for_die(stand, need)
}

fn suits_but_for_die(stand: &Stand, need: &Need) -> bool {
    stand.punch == need.punch
        && need.punch_span.least <= stand.punch_length
        && stand.punch_length <= need.punch_span.most
        && need.die_least <= stand.die_length
        && (stand.horns || !need.punch_span.horns)
        && need.ways.allow(stand.reversed)
}

fn in_place(stand: &Stand, need: &Need, brake: &Brake) -> bool {
    off_centre(stand.left, stand.punch_length, brake.bed) <= need.off_centre_most
}

/// How a station serves a need, if it can at all. It is turned or slid, not both.
fn fit(stock: &Stock<'_>, stand: &Stand, need: &Need, brake: &Brake) -> Option<Fit> {
    if !suits_but_for_die(stand, need) {
        return None;
    }
    match (stand.die == need.die, in_place(stand, need, brake)) {
        (true, true) => Some(Fit::AsItStands),
        (true, false) => Some(Fit::Slid),
        (false, true) => stock.can_turn(stand, need.die).then_some(Fit::Turned),
        (false, false) => None,
    }
}

impl<'a, 's> Draft<'a, 's> {
    pub(super) fn new(
        stock: &'a Stock<'s>,
        bed: &'a Bed,
        request: &'a Request<'a>,
        custody: &'a dyn Custody,
        (keep, old): (Keep, Old),
    ) -> Draft<'a, 's> {
        let mut draft = Draft {
            stock,
            bed,
            request,
            custody,
            old,
            keep,
            serving: vec![None; request.option.needs.len()],
            off: vec![old == Old::Nothing; bed.stands.len()],
            turned: Vec::new(),
            misplaced: Vec::new(),
            taken: Vec::new(),
            wait: 0,
        };
        if old != Old::Nothing {
            draft.match_needs();
            draft.clear_crashes();
        }
        draft
    }

    /// Gives each need the shortest station that serves it as it stands.
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

    pub(super) fn work(&self) -> StationWork<'a, 's> {
        StationWork {
            stock: self.stock,
            times: &self.request.brake.times,
        }
    }

    pub(super) fn idle(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.bed.stands.len())
            .filter(|&stand| !self.off[stand] && !self.serving.contains(&Some(stand)))
    }

    /// How many runs from now the station serves again as it stands; `usize::MAX` when never.
    pub(super) fn next_use(&self, stand: usize) -> usize {
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

    /// Whether a station is turned, or slid to serve.
    pub(super) fn alters(&self) -> bool {
        !self.turned.is_empty() || !self.misplaced.is_empty()
    }

    pub(super) fn finish(&mut self, composer: &mut Composer) -> Option<BedChange> {
        // The narrowest window chooses first: what it leaves serves the wider ones more often.
        let overhang = self.stock.shop().rules.station_overhang;
        let window = |need: &Need| need.punch_span.within(overhang).most - need.punch_span.least;
        let mut missing: Vec<usize> = (0..self.serving.len())
            .filter(|&need| self.serving[need].is_none())
            .collect();
        missing.sort_by_key(|&need| window(&self.request.option.needs[need]));
        let mut fresh = Vec::with_capacity(missing.len());
        for need in missing {
            fresh.extend(self.provide(composer, need)?);
        }
        fresh.sort_by_key(|station: &Fresh| station.need);
        self.let_go_what_others_want();
        let layout = self.find_places(&fresh)?;
        self.assemble(fresh, &layout)
    }

    /// A station for a need that none serves as it stands: a new one, or one that is there and is
    /// turned or slid, where that takes less. `Some(None)` for the latter, `None` when there is
    /// neither.
    #[allow(clippy::option_option)] // said in words just above
    fn provide(&mut self, composer: &mut Composer, index: usize) -> Option<Option<Fresh>> {
        let need = &self.request.option.needs[index];
        let choice = self.choose(composer, need);
        if let Some((cost, stand, fit)) = self.cheapest_alteration(need)
            && choice
                .as_ref()
                .is_none_or(|choice| cost <= self.cost_of(choice))
        {
            self.serving[index] = Some(stand);
            self.off[stand] = false;
            match fit {
                Fit::Turned => self.turned.push((stand, need.die)),
                Fit::Slid => self.misplaced.push(stand),
                Fit::AsItStands => {}
            }
            return Some(None);
        }
        Some(Some(self.make_up(composer, index, choice?)))
    }

    /// The station that serves a need when turned or slid, and the seconds that costs.
    fn cheapest_alteration(&self, need: &Need) -> Option<(Seconds, usize, Fit)> {
        if self.old != Old::Altered {
            return None;
        }
        (0..self.bed.stands.len())
            .filter_map(|index| {
                let stand = &self.bed.stands[index];
                let fit = fit(self.stock, stand, need, self.request.brake)?;
                let free = !self.serving.contains(&Some(index))
                    && stand
                        .sections()
                        .all(|section| !self.taken.contains(&section));
                free.then(|| (self.cost_of_altering(index, fit), index, fit))
            })
            .min_by_key(|&(cost, index, _)| (cost, self.bed.stands[index].length(), index))
    }

    fn cost_of_altering(&self, index: usize, fit: Fit) -> Seconds {
        let (stand, times) = (&self.bed.stands[index], &self.request.brake.times);
        let mut cost = match fit {
            Fit::AsItStands => Seconds::ZERO,
            Fit::Slid => times.station_slide,
            Fit::Turned => {
                let turn = self.work().turn(stand);
                let back = if self.next_use(index) == usize::MAX {
                    Seconds::ZERO
                } else {
                    // A later run wants it turned back.
                    turn + times.base + times.guard
                };
                turn + times.guard + back
            }
        };
        if self.off[index] {
            cost = cost - self.work().off(stand);
        }
        cost
    }

    /// Runs after this one that new stations are made for as well.
    pub(super) fn made_for(&self) -> &'a [&'a ToolingOption] {
        match self.keep {
            Keep::Serving => self.request.later,
            Keep::NeededSoonest | Keep::Blind => &[],
        }
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

    /// Seconds lost when a station comes off: now, and when a later run wants it again.
    pub(super) fn loss(&self, index: usize) -> Seconds {
        let stand = &self.bed.stands[index];
        let off = self.work().off(stand);
        if self.next_use(index) == usize::MAX {
            off
        } else {
            off + self.work().on(stand)
        }
    }

    fn assemble(&self, fresh: Vec<Fresh>, layout: &Layout) -> Option<BedChange> {
        let mut stands: Vec<Placed> = Vec::with_capacity(self.bed.stands.len() + fresh.len());
        let mut removed = Vec::new();
        for (index, stand) in self.bed.stands.iter().enumerate() {
            if self.off[index] {
                removed.push(Arc::clone(stand));
                continue;
            }
            let need = self.serving.iter().position(|&s| s == Some(index));
            stands.push(self.stays(index, need, layout)?);
        }
        for (station, &left) in fresh.into_iter().zip(&layout.places) {
            let need = &self.request.option.needs[station.need];
            let stand = Stand::assemble(
                self.stock,
                (need.punch, need.die),
                station.reversed,
                left,
                station.punch_sections,
                station.die_sections,
            )?;
            stands.push(Placed {
                stand: Arc::new(stand),
                need: Some(station.need),
                how: How::PutOn,
            });
        }
        stands.sort_by_key(|placed| placed.stand.left);
        Some(self.written_down(stands, removed))
    }

    /// A station that stays on the bed, as it stands after the change.
    fn stays(&self, index: usize, need: Option<usize>, layout: &Layout) -> Option<Placed> {
        let stand = &self.bed.stands[index];
        if let Some(&(_, left)) = layout.slid.iter().find(|(slid, _)| *slid == index) {
            let slid = Stand {
                left,
                ..stand.as_ref().clone()
            };
            return Some(Placed {
                stand: Arc::new(slid),
                need,
                how: How::Slid(stand.left),
            });
        }
        if let Some(&(_, die)) = self.turned.iter().find(|(turned, _)| *turned == index) {
            return Some(Placed {
                stand: Arc::new(stand.turned(self.stock, die)?),
                need,
                how: How::Turned(stand.die),
            });
        }
        Some(Placed {
            stand: Arc::clone(stand),
            need,
            how: How::Kept,
        })
    }

    fn written_down(&self, stands: Vec<Placed>, removed: Vec<Arc<Stand>>) -> BedChange {
        let mut change = BedChange {
            bed: Bed::default(),
            stand_of_need: vec![0; self.serving.len()],
            removed,
            turned: Vec::new(),
            slid: Vec::new(),
            inserted: Vec::new(),
            wait: self.wait,
        };
        for (stand, placed) in stands.iter().enumerate() {
            if let Some(need) = placed.need {
                change.stand_of_need[need] = stand;
            }
            match placed.how {
                How::Kept => {}
                How::Turned(from) => change.turned.push(Turned { stand, from }),
                How::Slid(from) => change.slid.push(Slid { stand, from }),
                How::PutOn => change.inserted.push(stand),
            }
        }
        // Slid in this order, none has to pass where another still stands: those that go left from
        // the left, those that go right from the right.
        let (mut slid, mut right): (Vec<Slid>, Vec<Slid>) = change
            .slid
            .into_iter()
            .partition(|slid| stands[slid.stand].stand.left < slid.from);
        right.reverse();
        slid.append(&mut right);
        change.slid = slid;
        change.bed.stands = stands.into_iter().map(|placed| placed.stand).collect();
        change
    }

    /// Whether laying the bed anew might take less than the sliding of a change: it takes every
    /// serving station off and on again, of two sections at least.
    pub(super) fn sliding_may_cost_more(&self, change: &BedChange) -> bool {
        if change.slid.is_empty() {
            return false;
        }
        let times = &self.request.brake.times;
        let least_on = times.station_on + times.section_on + times.section_on;
        let serving = self.serving.iter().flatten();
        let least: Seconds = serving
            .map(|&stand| self.work().off(&self.bed.stands[stand]) + least_on)
            .sum();
        self.sliding(change) > least
    }

    fn sliding(&self, change: &BedChange) -> Seconds {
        let slides = change.slid.iter();
        slides.map(|_| self.request.brake.times.station_slide).sum()
    }

    /// Seconds of work with tools, of waiting, and of putting on again what a later run wants.
    pub(super) fn price(&self, change: &BedChange) -> Seconds {
        let work = self.work();
        let after = &change.bed.stands;
        let old = self.bed.stands.iter().enumerate();
        let off = old.filter(|(_, stand)| change.removed.iter().any(|off| Arc::ptr_eq(off, stand)));
        let off = off.map(|(index, stand)| {
            if self.serving.contains(&Some(index)) {
                work.off(stand)
            } else {
                self.loss(index)
            }
        });
        let off: Seconds = off.sum();
        let turned: Seconds = change
            .turned
            .iter()
            .map(|t| work.turn(&after[t.stand]))
            .sum();
        let on: Seconds = change.inserted.iter().map(|&at| work.on(&after[at])).sum();
        let guard = if change.inserted.is_empty() && change.turned.is_empty() {
            Seconds::ZERO
        } else {
            self.request.brake.times.guard
        };
        off + turned + self.sliding(change) + on + guard + Seconds(change.wait)
    }
}

/// A station on its place on the bed after.
struct Placed {
    stand: Arc<Stand>,
    need: Option<usize>,
    how: How,
}

/// How a station came to stand as it does.
enum How {
    Kept,
    /// From this die.
    Turned(usize),
    /// From this left end.
    Slid(Length),
    PutOn,
}
