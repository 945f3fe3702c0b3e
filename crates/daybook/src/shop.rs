//! The shop to plan now: the files, the open orders, the floor as it is.

use crate::happening::Calibrated;
use crate::pins::part_shared_places;
use crate::state::{Doing, OrderState, RunOn, State};
use model::{
    BlankLot, BrakeDown, ChangeTimes, Floor, RunningOrder, SectionStatus, Shop, StepKind, WorkOrder,
};
use units::{BrakeId, Moment, OrderId, Seconds, Window};

/// When blanks come that nobody has announced: beyond every horizon, within what files can say.
const NEVER: Moment = Moment(7_258_032_000 - 86_400);

impl State {
    /// The shop to plan now, when its files are there. It is one that could have been read from a
    /// folder:
    ///
    /// - Orders stand by arrival; those that are done or withdrawn are left out, and an order that
    ///   waits for one of them waits no more. Kits keep.
    /// - Pieces of finished runs are taken off the quantity, and off the earliest deliveries and
    ///   blank lots. Spoiled pieces used blanks as well: where lots are named, pieces whose blanks
    ///   were spoiled have none until more are announced; where none are named, more are taken to be
    ///   on hand.
    /// - A run under way is an order in progress, with its good pieces. It may be bent now, whatever
    ///   was said of its blanks, its ready time or the order before it. Of an order that runs on
    ///   several brakes the run that began first is in progress; the pieces of the others count as
    ///   done, and their brakes are down until those runs should end.
    /// - Sections out of service are so, and on no bed. Brakes are down as reported, as far as it is
    ///   not over. `as_of` is the moment of the last event.
    /// - Pins are in their orders' brake and place, unless the order is being bent elsewhere. Where
    ///   two orders would have one place, those of the brake are numbered anew, in the same order.
    /// - Calibrations in force are in the brakes' times and in the proven setups.
    #[must_use]
    pub fn shop(&self) -> Option<Shop> {
        self.shop_without(&[])
    }

    /// [`State::shop`], with the runs of some orders set aside: they count as not begun, but for
    /// their good pieces, which count as done. It is for runs that planning finds to have no setup
    /// on their bed (finding D390), which the judge would refuse as in progress. A run whose
    /// stations are no longer all on the bed is set aside in any case.
    #[must_use]
    pub fn shop_without(&self, aside: &[OrderId]) -> Option<Shop> {
        let base = self.base()?.shop();
        let as_of = base
            .as_of
            .map_or(self.at, |described| described.max(self.at));
        let mut shop = Shop {
            name: base.name.clone(),
            zone: base.zone,
            as_of: Some(as_of),
            rules: base.rules.clone(),
            calendars: base.calendars.clone(),
            brakes: base.brakes.clone(),
            materials: base.materials.clone(),
            profiles: base.profiles.clone(),
            sections: base.sections.clone(),
            parts: base.parts.clone(),
            deductions: base.deductions.clone(),
            setups: base.setups.clone(),
            orders: Vec::new(),
            people: base.people.clone(),
            floor: Floor::default(),
        };
        for section in &mut shop.sections {
            if self.sections_out.contains_key(&section.id) {
                section.status = SectionStatus::Out;
            }
        }
        for order in self.arrived().filter(|order| order.is_open()) {
            let standing = self.standing(order, aside);
            if standing.made < order.order.quantity {
                let now = self.order_now(order, &standing, aside, as_of);
                if let Some((brake, run)) = standing.first {
                    shop.floor.running.push(RunningOrder {
                        brake: brake.clone(),
                        order: now.id.clone(),
                        pieces_done: run.good.min(now.quantity),
                    });
                }
                shop.orders.push(now);
            }
            let occupied = |(brake, run): &(&BrakeId, &RunOn)| occupied(brake, run, as_of);
            shop.floor.down.extend(standing.others.iter().map(occupied));
        }
        part_shared_places(&mut shop.orders);
        for brake in &base.brakes {
            let bed = self.beds.get(&brake.id);
            shop.floor
                .stations
                .extend(bed.into_iter().flatten().cloned());
        }
        let over = |down: &&BrakeDown| down.window.end > as_of;
        let known = |down: &&BrakeDown| base.brake(&down.brake).is_some();
        let downs = self.downs.iter().filter(over).filter(known).cloned();
        shop.floor.down.extend(downs);
        self.calibrate(&mut shop);
        Some(shop)
    }

    /// What of an order is made, spoiled and being bent.
    fn standing(&self, order: &OrderState, aside: &[OrderId]) -> Standing<'_> {
        let mut standing = Standing {
            made: order.done,
            spoiled: order.scrap,
            first: None,
            others: Vec::new(),
        };
        let is_aside = aside.contains(&order.order.id);
        for (brake, run) in self.runs_of(&order.order.id) {
            standing.spoiled = standing.spoiled.saturating_add(run.scrap);
            if is_aside || !self.can_go_on(brake, run) {
                standing.made += run.good;
            } else if standing.first.is_none() {
                standing.first = Some((brake, run));
            } else {
                standing.made += run.quantity;
                standing.others.push((brake, run));
            }
        }
        standing
    }

    /// Whether the stations of a run stand on its bed.
    fn can_go_on(&self, brake: &BrakeId, run: &RunOn) -> bool {
        let bed = self.beds.get(brake).map_or(&[][..], Vec::as_slice);
        run.stations.iter().all(|station| bed.contains(station))
    }

    /// An open order with what is left of it.
    fn order_now(
        &self,
        order: &OrderState,
        standing: &Standing<'_>,
        aside: &[OrderId],
        as_of: Moment,
    ) -> WorkOrder {
        let mut now = order.order.as_ref().clone();
        let bent_on = standing.first.map(|(brake, _)| brake);
        self.lay_pin(&mut now, bent_on);
        let waits = |id: &OrderId| {
            let before = self.open_order(id);
            before.is_some_and(|before| self.standing(before, aside).made < before.order.quantity)
        };
        now.after = now.after.filter(waits);
        now.quantity = now.quantity.saturating_sub(standing.made).max(1);
        ship_less(&mut now, standing.made);
        use_blanks(&mut now, standing.made.saturating_add(standing.spoiled));
        if let Some((_, run)) = standing.first {
            now.after = None;
            now.ready = now.ready.min(as_of);
            bring_blanks(&mut now, run.good, as_of);
        }
        now
    }

    fn calibrate(&self, shop: &mut Shop) {
        for ((brake, what), factor) in &self.factors {
            match what {
                Calibrated::Step(step) => {
                    let brakes = shop.brakes.iter_mut();
                    for brake in brakes.filter(|known| known.id == *brake) {
                        scale(&mut brake.times, *step, factor.factor);
                    }
                }
                Calibrated::Part(part) => {
                    let setups = shop.setups.iter_mut();
                    for setup in setups.filter(|s| s.part == *part && s.brake == *brake) {
                        setup.seconds_a_piece = Some(tenths(factor.factor));
                    }
                }
            }
        }
    }

    /// Whether something is going on at a brake.
    pub(crate) fn is_busy(&self, brake: &BrakeId) -> bool {
        !matches!(self.doing(brake), Doing::Idle)
    }
}

/// What of an order is not to be planned, and its runs under way.
struct Standing<'s> {
    /// Pieces that count as done.
    made: u32,
    /// Spoiled pieces.
    spoiled: u32,
    /// The run in progress.
    first: Option<(&'s BrakeId, &'s RunOn)>,
    /// Further runs, on other brakes.
    others: Vec<(&'s BrakeId, &'s RunOn)>,
}

/// A brake that bends a second run of an order, until that should end.
fn occupied(brake: &BrakeId, run: &RunOn, as_of: Moment) -> BrakeDown {
    let pieces = run.quantity.saturating_sub(run.good);
    let seconds = i64::from(pieces).saturating_mul(run.planned_cycle_ms) / 1_000;
    let by_pieces = as_of + Seconds(seconds.clamp(60, 30 * 86_400));
    let end = run
        .planned_end
        .map_or(by_pieces, |planned| planned.max(by_pieces));
    BrakeDown {
        brake: brake.clone(),
        window: Window {
            start: run.started.min(as_of),
            end,
        },
        reason: format!("bending {}", run.order),
    }
}

/// Takes pieces that are made off the earliest deliveries.
fn ship_less(order: &mut WorkOrder, made: u32) {
    let mut made = made;
    for delivery in &mut order.deliveries {
        let taken = delivery.quantity.min(made);
        delivery.quantity -= taken;
        made -= taken;
    }
    order.deliveries.retain(|delivery| delivery.quantity > 0);
}

/// Takes used blanks off the earliest lots. An order whose lots are used up keeps one blank that
/// never comes, as one without lots would have all its blanks.
fn use_blanks(order: &mut WorkOrder, used: u32) {
    if order.blanks.is_empty() {
        return;
    }
    let mut used = used;
    for lot in &mut order.blanks {
        let taken = lot.quantity.min(used);
        lot.quantity -= taken;
        used -= taken;
    }
    order.blanks.retain(|lot| lot.quantity > 0);
    if order.blanks.is_empty() {
        order.blanks.push(BlankLot {
            quantity: 1,
            available: NEVER,
        });
    }
}

/// The blanks being bent are there, whatever was announced: those of the next piece and of all
/// before it.
fn bring_blanks(order: &mut WorkOrder, good: u32, as_of: Moment) {
    let mut before = 0_u32;
    for lot in &mut order.blanks {
        if before > good || lot.available == NEVER {
            break;
        }
        lot.available = lot.available.min(as_of);
        before = before.saturating_add(lot.quantity);
    }
}

/// Multiplies a brake's times for one kind of step. More for heavy sections is left as it is: it is
/// shared by several kinds.
fn scale(times: &mut ChangeTimes, step: StepKind, factor: f64) {
    let by = |time: &mut Seconds| {
        #[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss)]
        let scaled = (time.0 as f64 * factor).round() as i64;
        time.0 = scaled.clamp(0, 86_400);
    };
    match step {
        StepKind::Prepare => by(&mut times.base),
        StepKind::TakeOff => {
            by(&mut times.station_off);
            by(&mut times.section_off);
        }
        StepKind::Turn => by(&mut times.section_turn),
        StepKind::Slide => by(&mut times.station_slide),
        StepKind::PutOn => {
            by(&mut times.station_on);
            by(&mut times.section_on);
        }
        StepKind::Fingers => by(&mut times.fingers),
        StepKind::Guard => by(&mut times.guard),
        StepKind::Program => by(&mut times.program),
        // Rules of the whole shop, not of a brake.
        StepKind::Programming | StepKind::FirstPiece | StepKind::Approval => {}
    }
}

/// Whether a step's time is a brake's own.
pub(crate) fn is_of_brake(step: StepKind) -> bool {
    !matches!(
        step,
        StepKind::Programming | StepKind::FirstPiece | StepKind::Approval
    )
}

/// Seconds with one decimal, as files have them.
fn tenths(seconds: f64) -> f64 {
    ((seconds * 10.0).round() / 10.0).clamp(0.1, 86_400.0)
}
