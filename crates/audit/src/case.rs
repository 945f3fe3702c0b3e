//! The case before the judge: the plan laid beside the shop, and what several rules must know.

use crate::bed::{Bed, Placed};
use crate::clock;
use crate::hours::Hours;
use crate::lookup::Lookup;
use crate::made::{Made, make};
use crate::numbers::nm;
use crate::replay::Replay;
use crate::shares::{Share, Shares, cut};
use model::{Brake, BrakePlan, Material, Part, Plan, Run, Shop, Takedown, Violation, WorkOrder};
use std::collections::{BTreeMap, BTreeSet};
use units::{BrakeId, Moment, OrderId, PartId};

/// The plan laid beside the shop.
pub(crate) struct Case<'a> {
    pub(crate) shop: &'a Shop,
    pub(crate) plan: &'a Plan,
    /// The plan that it follows, when the judge was given one.
    pub(crate) before: Option<&'a Plan>,
    pub(crate) lookup: Lookup<'a>,
    pub(crate) hours: Hours<'a>,
    /// Runs, brake by brake in plan order.
    pub(crate) runs: Vec<RunCase<'a>>,
    /// Takedowns, brake by brake in plan order.
    pub(crate) takedowns: Vec<TakedownCase<'a>>,
    /// What each order's pieces left must become.
    pub(crate) shares: BTreeMap<&'a OrderId, Shares>,
    /// Runs of each order, as places in `runs`.
    pub(crate) runs_of: BTreeMap<&'a OrderId, Vec<usize>>,
    /// Pieces of each order listed as unplaced.
    pub(crate) unplaced: BTreeMap<&'a OrderId, u64>,
    /// Where each place named in violations stands in the plan.
    ranks: BTreeMap<String, usize>,
}

/// A run with everything its ids stand for.
pub(crate) struct RunCase<'a> {
    pub(crate) run: &'a Run,
    pub(crate) brake_id: &'a BrakeId,
    pub(crate) brake: Option<&'a Brake>,
    pub(crate) order: Option<&'a WorkOrder>,
    /// The order's part, whatever the run says.
    pub(crate) part: Option<&'a Part>,
    pub(crate) material: Option<&'a Material>,
    /// The run before on this brake, as a place in `Case::runs`.
    pub(crate) previous: Option<usize>,
    /// Whether the part has run earlier on this brake in this plan.
    pub(crate) ran_before: bool,
    /// Whether this is the brake's order in progress.
    pub(crate) in_progress: bool,
    /// The share of the order it makes, when it makes one.
    pub(crate) share: Option<Share>,
    /// Hits whose number and station are known.
    pub(crate) bends: Vec<Made<'a>>,
    /// The bed through its changeover.
    pub(crate) bed: Replay<'a>,
}

/// A takedown with the bed through it.
pub(crate) struct TakedownCase<'a> {
    pub(crate) takedown: &'a Takedown,
    pub(crate) at: String,
    pub(crate) brake_id: &'a BrakeId,
    pub(crate) brake: Option<&'a Brake>,
    pub(crate) bed: Replay<'a>,
}

impl<'a> Case<'a> {
    /// Lays the plan beside the shop.
    pub(crate) fn open(shop: &'a Shop, plan: &'a Plan, before: Option<&'a Plan>) -> Case<'a> {
        let mut case = Case {
            shop,
            plan,
            before,
            lookup: Lookup::of(shop),
            hours: Hours::of(shop),
            runs: Vec::new(),
            takedowns: Vec::new(),
            shares: BTreeMap::new(),
            runs_of: BTreeMap::new(),
            unplaced: BTreeMap::new(),
            ranks: BTreeMap::new(),
        };
        case.rank("plan");
        for line in &plan.brakes {
            case.rank(line.brake.as_str());
            case.open_line(line);
        }
        for order in &shop.orders {
            let left = shop.pieces_left(order);
            case.shares
                .insert(&order.id, cut(order, order.quantity.saturating_sub(left)));
        }
        for unplaced in &plan.unplaced {
            *case.unplaced.entry(&unplaced.order).or_default() += u64::from(unplaced.quantity);
        }
        case.match_shares();
        case
    }

    /// A moment as people read it.
    pub(crate) fn show(&self, at: Moment) -> String {
        clock::show(self.shop.zone, at)
    }

    /// The moment by which every run must end: `from` and the horizon.
    pub(crate) fn until(&self) -> Moment {
        Moment(
            self.plan
                .from
                .0
                .saturating_add(i64::from(self.shop.rules.horizon_days) * 86_400),
        )
    }

    /// Whether a span is one and lies between the plan's start and its horizon. Only then is it
    /// walked through calendars, which bounds the walk.
    pub(crate) fn within_plan(&self, start: Moment, end: Moment) -> bool {
        self.plan.from <= start && start <= end && end <= self.until()
    }

    /// Puts violations in plan order, those of one place in the order of the rules.
    pub(crate) fn sort_in_plan_order(&self, violations: &mut [Violation]) {
        violations.sort_by_key(|v| self.ranks.get(&v.at).copied().unwrap_or(usize::MAX));
    }

    fn rank(&mut self, at: &str) {
        let next = self.ranks.len();
        self.ranks.entry(at.to_owned()).or_insert(next);
    }

    /// Replays one brake: runs in the plan's order, each takedown before the first run whose change
    /// does not start earlier.
    fn open_line(&mut self, line: &'a BrakePlan) {
        let floor = self
            .shop
            .floor
            .stations
            .iter()
            .filter(|station| station.brake == line.brake);
        let mut bed: Bed<'a> = floor.map(Placed::from_floor).collect();
        bed.sort_by_key(|station| station.left);
        let mut takedowns: Vec<_> = line.takedowns.iter().enumerate().collect();
        takedowns.sort_by_key(|(_, takedown)| takedown.start);
        let mut waiting = takedowns.into_iter().peekable();

        let mut previous = None;
        let mut parts: BTreeSet<&'a PartId> = BTreeSet::new();
        for run in &line.runs {
            while let Some((number, takedown)) =
                waiting.next_if(|(_, takedown)| takedown.start <= run.changeover.start)
            {
                bed = self.open_takedown(line, number, takedown, &bed);
            }
            let replayed = Replay::of_changeover(&bed, &run.changeover);
            bed.clone_from(&replayed.after);
            let mut case = self.run_case(line, run, replayed, previous);
            case.ran_before = !parts.insert(case.part_id());
            self.rank(&run.name);
            self.runs_of
                .entry(&run.order)
                .or_default()
                .push(self.runs.len());
            previous = Some(self.runs.len());
            self.runs.push(case);
        }
        for (number, takedown) in waiting {
            bed = self.open_takedown(line, number, takedown, &bed);
        }
    }

    fn open_takedown(
        &mut self,
        line: &'a BrakePlan,
        number: usize,
        takedown: &'a Takedown,
        bed: &Bed<'a>,
    ) -> Bed<'a> {
        let bed = Replay::of_takedown(bed, takedown);
        let after = bed.after.clone();
        let at = format!("{} takedown {}", line.brake, number + 1);
        self.rank(&at);
        let brake = self.lookup.brakes.get(&line.brake).copied();
        self.takedowns.push(TakedownCase {
            takedown,
            at,
            brake_id: &line.brake,
            brake,
            bed,
        });
        after
    }

    fn run_case(
        &self,
        line: &'a BrakePlan,
        run: &'a Run,
        bed: Replay<'a>,
        previous: Option<usize>,
    ) -> RunCase<'a> {
        let brake = self.lookup.brakes.get(&line.brake).copied();
        let order = self.lookup.orders.get(&run.order).copied();
        let part_id = order.map_or(&run.part, |order| &order.part);
        let part = self.lookup.parts.get(part_id).copied();
        let material = part
            .and_then(|part| self.lookup.materials.get(&part.material))
            .copied();
        let running = &self.shop.floor.running;
        let in_progress = previous.is_none()
            && running
                .iter()
                .any(|entry| entry.brake == line.brake && entry.order == run.order);
        let mut case = RunCase {
            run,
            brake_id: &line.brake,
            brake,
            order,
            part,
            material,
            previous,
            ran_before: false,
            in_progress,
            share: None,
            bends: Vec::new(),
            bed,
        };
        case.bends = run
            .bends
            .iter()
            .filter_map(|used| make(self.shop, &self.lookup, &case, used))
            .collect();
        case
    }

    /// Gives each run the share it makes. Exact matches first, so that one wrong number in a run is
    /// told as just that and does not take another run's share.
    fn match_shares(&mut self) {
        type Fits = fn(&Run, &Share) -> bool;
        const BY: [Fits; 4] = [
            |run, share| run.ready == share.ready && run.due == share.due,
            |run, share| run.due == share.due,
            |run, share| run.ready == share.ready,
            |_, _| true,
        ];
        for (order, places) in &self.runs_of {
            let Some(shares) = self.shares.get(order) else {
                continue;
            };
            let mut free = shares.placeable.clone();
            for fits in BY {
                for place in places {
                    let case = &mut self.runs[*place];
                    if case.share.is_some() {
                        continue;
                    }
                    let run = case.run;
                    let found = free
                        .iter()
                        .position(|share| share.quantity == run.quantity && fits(run, share));
                    case.share = found.map(|index| free.remove(index));
                }
            }
        }
    }
}

impl<'a> RunCase<'a> {
    /// The order's part, or what the run says when the order is not known.
    pub(crate) fn part_id(&self) -> &'a PartId {
        self.order.map_or(&self.run.part, |order| &order.part)
    }

    /// Due at bending, by the share it makes.
    pub(crate) fn due(&self) -> Moment {
        self.share.map_or(self.run.due, |share| share.due)
    }

    /// Mass of a piece in kilograms.
    pub(crate) fn mass(&self) -> Option<f64> {
        let (part, material) = (self.part?, self.material?);
        let area = part.blank.0.metres() * part.blank.1.metres();
        Some(area * part.thickness.metres() * material.density)
    }

    /// People the part needs.
    pub(crate) fn crew(&self, case: &Case) -> Option<usize> {
        let part = self.part?;
        let by_mass = || {
            let heavy =
                !crate::numbers::at_most(self.mass()?, case.shop.rules.one_person_mass.get());
            Some(if heavy { 2 } else { 1 })
        };
        match part.crew {
            Some(crew) => Some(usize::from(crew.max(1))),
            None => by_mass(),
        }
    }

    /// The hit of this number of a bend, as made in this run.
    pub(crate) fn made(&self, bend: u8, hit: u8) -> Option<&Made<'a>> {
        self.bends
            .iter()
            .find(|made| made.used.bend == bend && made.used.hit == hit)
    }

    /// Places in `Run::bed` of the stations the part uses.
    pub(crate) fn stations_used(&self) -> BTreeSet<usize> {
        self.bends.iter().map(|made| made.used.station).collect()
    }

    /// The tallest tools used, punch and die, in nanometres.
    pub(crate) fn tallest(&self) -> Option<i128> {
        self.bends
            .iter()
            .map(|made| nm(made.punch.height) + nm(made.die.height))
            .max()
    }
}
