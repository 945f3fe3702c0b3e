//! The whole state as one text, so that a log need not be read from its start.
//!
//! It is a short cut and never the truth: whoever finds one of another program's version, or one that
//! cannot be read, reads the log instead. The same state is always the same text.

use crate::floor_entry::{DownEntry, RunningEntry, StationEntry};
use crate::happening::{Calibrated, Source, Unreadable};
use crate::order_entry::OrderEntry;
use crate::pins::Pin;
use crate::policy::Policy;
use crate::state::{
    ActualChange, ActualRun, Actuals, EventNumber, Factor, Offer, OnBrake, OrderState, Proposal,
    Published, SectionOut, State,
};
use crate::text::{Text, one};
use model::{BedStation, BrakeDown, Floor, RunningOrder, WorkOrder};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use units::{BrakeId, Moment, OrderId, SectionId};

/// An order with what became of it.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct KeptOrder {
    order: OrderEntry,
    source: Source,
    version: EventNumber,
    arrived: u64,
    #[serde(default, skip_serializing_if = "is_zero")]
    done: u32,
    #[serde(default, skip_serializing_if = "is_zero")]
    scrap: u32,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    withdrawn: bool,
    /// Whether the folder had it just so when it was taken from it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    as_imported: bool,
}

#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for it
fn is_zero(count: &u32) -> bool {
    *count == 0
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct KeptPin {
    #[serde(with = "one")]
    order: OrderId,
    #[serde(with = "one")]
    brake: BrakeId,
    place: Option<u32>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct KeptFloor {
    stations: Vec<StationEntry>,
    running: Vec<RunningEntry>,
    down: Vec<DownEntry>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Kept {
    format: String,
    number: EventNumber,
    #[serde(with = "one")]
    at: Moment,
    revision: Option<u64>,
    orders: Vec<KeptOrder>,
    pins: Vec<KeptPin>,
    /// Those that are not as they came in last.
    imported: Vec<OrderEntry>,
    described: KeptFloor,
    beds: BTreeMap<Text<BrakeId>, Vec<StationEntry>>,
    on_brake: BTreeMap<Text<BrakeId>, OnBrake>,
    downs: Vec<DownEntry>,
    sections_out: BTreeMap<Text<SectionId>, SectionOut>,
    proposals: Vec<Proposal>,
    published: Option<Published>,
    begun: BTreeSet<String>,
    going_on: BTreeMap<Text<BrakeId>, Text<OrderId>>,
    taken_down: BTreeSet<(Text<BrakeId>, u32)>,
    policy: Policy,
    policy_version: EventNumber,
    factors: Vec<(Text<BrakeId>, Calibrated, Factor)>,
    offers: Vec<(Text<BrakeId>, Calibrated, Offer)>,
    changes: Vec<ActualChange>,
    runs: Vec<ActualRun>,
    plan_wanted_since: EventNumber,
    unfit_since: EventNumber,
}

impl State {
    /// Which program's checkpoints this one reads: its own version's. What follows from an event may
    /// be worked out otherwise in another, and then the log has to be read.
    pub const CHECKPOINT_FORMAT: &'static str =
        concat!("brakewright.state/1 ", env!("CARGO_PKG_VERSION"));

    /// The state as one text, without the shop's files, which follow from the revision. The same
    /// state gives the same text.
    ///
    /// # Errors
    /// [`Unreadable`] when a moment lies beyond what RFC 3339 can say, which no command brings.
    pub fn to_checkpoint(&self) -> Result<String, Unreadable> {
        let text = serde_json::to_string(&kept(self));
        text.map_err(|error| Unreadable(error.to_string()))
    }

    /// The state of a text that [`State::to_checkpoint`] made. It wants its files: see
    /// [`State::wants_base`].
    ///
    /// # Errors
    /// [`Unreadable`] when another version of the program made it, or it is damaged.
    pub fn from_checkpoint(text: &str) -> Result<State, Unreadable> {
        let kept: Kept =
            serde_json::from_str(text).map_err(|error| Unreadable(error.to_string()))?;
        if kept.format != State::CHECKPOINT_FORMAT {
            return Err(Unreadable(format!("its format is {}", kept.format)));
        }
        Ok(state(kept))
    }
}

fn kept(state: &State) -> Kept {
    let as_it_came = |id: &OrderId, imported: &Arc<WorkOrder>| {
        let order = state.orders.get(id);
        order.is_some_and(|order| order.order == *imported)
    };
    let orders = state.orders.iter().map(|(id, order)| KeptOrder {
        order: OrderEntry::from(order.order.as_ref()),
        source: order.source,
        version: order.version,
        arrived: order.arrived,
        done: order.done,
        scrap: order.scrap,
        withdrawn: order.withdrawn,
        as_imported: state
            .imported
            .get(id)
            .is_some_and(|imported| as_it_came(id, imported)),
    });
    let imported = state.imported.iter();
    let imported = imported.filter(|(id, imported)| !as_it_came(id, imported));
    Kept {
        format: State::CHECKPOINT_FORMAT.to_owned(),
        number: state.number,
        at: state.at,
        revision: state.revision,
        orders: orders.collect(),
        pins: state.pins.iter().map(kept_pin).collect(),
        imported: imported.map(|(_, order)| order.as_ref().into()).collect(),
        described: KeptFloor {
            stations: entries(&state.described.stations),
            running: entries(&state.described.running),
            down: entries(&state.described.down),
        },
        beds: keyed(&state.beds, |stations| entries(stations)),
        on_brake: keyed(&state.on_brake, OnBrake::clone),
        downs: entries(&state.downs),
        sections_out: keyed(&state.sections_out, SectionOut::clone),
        proposals: state.proposals.values().cloned().collect(),
        published: state.published.clone(),
        begun: state.begun.clone(),
        going_on: keyed(&state.going_on, |order| Text(order.clone())),
        taken_down: state
            .taken_down
            .iter()
            .map(|(brake, takedown)| (Text(brake.clone()), *takedown))
            .collect(),
        policy: state.policy.clone(),
        policy_version: state.policy_version,
        factors: calibrated(&state.factors),
        offers: calibrated(&state.offers),
        changes: state.actuals.changes.iter().map(unshared).collect(),
        runs: state.actuals.runs.iter().map(unshared).collect(),
        plan_wanted_since: state.plan_wanted_since,
        unfit_since: state.unfit_since,
    }
}

fn state(kept: Kept) -> State {
    let mut state = State {
        number: kept.number,
        at: kept.at,
        revision: kept.revision,
        pins: kept.pins.into_iter().map(pin).collect(),
        described: Floor {
            stations: nouns(&kept.described.stations),
            running: kept.described.running.iter().map(running).collect(),
            down: nouns(&kept.described.down),
        },
        beds: unkeyed(kept.beds, |stations| {
            nouns::<StationEntry, BedStation>(&stations)
        }),
        on_brake: unkeyed(kept.on_brake, |on| on),
        downs: nouns::<DownEntry, BrakeDown>(&kept.downs),
        sections_out: unkeyed(kept.sections_out, |out| out),
        proposals: kept
            .proposals
            .into_iter()
            .map(|proposal| (proposal.plan, proposal))
            .collect(),
        published: kept.published,
        begun: kept.begun,
        going_on: unkeyed(kept.going_on, |order| order.0),
        taken_down: kept
            .taken_down
            .into_iter()
            .map(|(brake, takedown)| (brake.0, takedown))
            .collect(),
        policy: kept.policy,
        policy_version: kept.policy_version,
        factors: uncalibrated(kept.factors),
        offers: uncalibrated(kept.offers),
        actuals: Actuals {
            changes: kept.changes.into_iter().map(Arc::new).collect(),
            runs: kept.runs.into_iter().map(Arc::new).collect(),
        },
        plan_wanted_since: kept.plan_wanted_since,
        unfit_since: kept.unfit_since,
        ..State::default()
    };
    for entry in &kept.imported {
        let order = WorkOrder::from(entry);
        state.imported.insert(order.id.clone(), Arc::new(order));
    }
    for kept in kept.orders {
        let order = Arc::new(WorkOrder::from(&kept.order));
        let id = order.id.clone();
        if kept.as_imported {
            state.imported.insert(id.clone(), Arc::clone(&order));
        }
        // Every order that ever came in stands in the queue.
        state.queue.insert(kept.arrived, id.clone());
        let order = OrderState {
            order,
            source: kept.source,
            version: kept.version,
            arrived: kept.arrived,
            done: kept.done,
            scrap: kept.scrap,
            withdrawn: kept.withdrawn,
        };
        state.orders.insert(id, order);
    }
    state
}

fn kept_pin((order, pin): (&OrderId, &Pin)) -> KeptPin {
    KeptPin {
        order: order.clone(),
        brake: pin.brake.clone(),
        place: pin.place,
    }
}

fn pin(kept: KeptPin) -> (OrderId, Pin) {
    let pin = Pin {
        brake: kept.brake,
        place: kept.place,
    };
    (kept.order, pin)
}

fn running(entry: &RunningEntry) -> RunningOrder {
    RunningOrder {
        brake: entry.brake.clone(),
        order: entry.order.clone(),
        pieces_done: entry.pieces_done,
    }
}

fn entries<N, E: for<'n> From<&'n N>>(nouns: &[N]) -> Vec<E> {
    nouns.iter().map(E::from).collect()
}

fn nouns<E, N: for<'e> From<&'e E>>(entries: &[E]) -> Vec<N> {
    entries.iter().map(N::from).collect()
}

fn keyed<K: Clone + Ord, V, W>(
    map: &BTreeMap<K, V>,
    kept: impl Fn(&V) -> W,
) -> BTreeMap<Text<K>, W> {
    let pair = |(key, value): (&K, &V)| (Text(key.clone()), kept(value));
    map.iter().map(pair).collect()
}

fn unkeyed<K: Ord, V, W>(map: BTreeMap<Text<K>, V>, value: impl Fn(V) -> W) -> BTreeMap<K, W> {
    let pair = |(key, kept): (Text<K>, V)| (key.0, value(kept));
    map.into_iter().map(pair).collect()
}

type ByWhat<V> = BTreeMap<(BrakeId, Calibrated), V>;

fn calibrated<V: Clone>(map: &ByWhat<V>) -> Vec<(Text<BrakeId>, Calibrated, V)> {
    map.iter()
        .map(|((brake, what), value)| (Text(brake.clone()), what.clone(), value.clone()))
        .collect()
}

fn uncalibrated<V>(list: Vec<(Text<BrakeId>, Calibrated, V)>) -> ByWhat<V> {
    list.into_iter()
        .map(|(brake, what, value)| ((brake.0, what), value))
        .collect()
}

fn unshared<T: Clone>(shared: &Arc<T>) -> T {
    shared.as_ref().clone()
}

/// Stations, as their entries.
pub(crate) mod stations {
    use super::{entries, nouns};
    use crate::floor_entry::StationEntry;
    use model::BedStation;
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    pub(crate) fn serialize<S: Serializer>(
        stations: &[BedStation],
        to: S,
    ) -> Result<S::Ok, S::Error> {
        entries::<_, StationEntry>(stations).serialize(to)
    }
    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(
        from: D,
    ) -> Result<Vec<BedStation>, D::Error> {
        let entries = Vec::<StationEntry>::deserialize(from)?;
        Ok(nouns(&entries))
    }
}

/// Seconds by kind of step.
pub(crate) mod steps {
    use crate::happening::StepSeconds;
    use model::StepKind;
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    pub(crate) fn serialize<S: Serializer>(
        steps: &[(StepKind, i64)],
        to: S,
    ) -> Result<S::Ok, S::Error> {
        let one = |&(step, seconds): &(StepKind, i64)| StepSeconds { step, seconds };
        steps.iter().map(one).collect::<Vec<_>>().serialize(to)
    }
    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(
        from: D,
    ) -> Result<Vec<(StepKind, i64)>, D::Error> {
        let steps = Vec::<StepSeconds>::deserialize(from)?;
        let one = |step: StepSeconds| (step.step, step.seconds);
        Ok(steps.into_iter().map(one).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn another_version_and_damage_are_refused() {
        let text = State::new().to_checkpoint().expect("written");
        assert_eq!(State::from_checkpoint(&text), Ok(State::new()));
        let other = text.replace("brakewright.state/1 ", "brakewright.state/0 ");
        let other = State::from_checkpoint(&other);
        assert!(other.is_err_and(|error| error.0.contains("state/0")));
        assert!(State::from_checkpoint(&text[..text.len() / 2]).is_err());
        let more = text.replacen('{', "{\"mood\":1,", 1);
        assert!(State::from_checkpoint(&more).is_err());
    }
}
