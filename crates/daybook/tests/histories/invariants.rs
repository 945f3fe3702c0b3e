//! What holds after each event.

use daybook::{Happening, OrderStatus, State};
use std::collections::{BTreeMap, BTreeSet};
use units::BrakeId;

pub(crate) fn hold(before: &State, after: &State, happening: &Happening, what: &str) {
    let what = format!("{what}: after {happening:?}");
    pieces(after, &what);
    versions(before, after, &what);
    sections(after, &what);
    runs(after, &what);
    pins(after, &what);
}

fn pieces(state: &State, what: &str) {
    for (id, order) in &state.orders {
        let runs = state.runs_of(id);
        let taken: u32 = runs.iter().map(|(_, run)| run.quantity).sum();
        assert!(order.done + taken <= order.order.quantity, "{what}: {id}");
        for (_, run) in &runs {
            assert!(run.good <= run.quantity && run.quantity > 0, "{what}: {id}");
        }
        let line = state.order_line(order);
        assert!(line.done <= line.quantity, "{what}: {id}");
        if line.status == OrderStatus::Done {
            assert_eq!(line.done, line.quantity, "{what}: {id}");
        }
        assert_eq!(
            line.status == OrderStatus::Running,
            !runs.is_empty(),
            "{what}: {id}"
        );
    }
}

/// Versions never fall, and whatever reads differently has risen to this event.
fn versions(before: &State, after: &State, what: &str) {
    assert_eq!(before.number + 1, after.number, "{what}");
    for (id, order) in &after.orders {
        let old = before.orders.get(id);
        let was = old.map_or(0, |old| old.version);
        assert!(
            order.version >= was && order.version <= after.number,
            "{what}: {id}"
        );
        if old.map(|old| before.order_line(old)) != Some(after.order_line(order)) {
            assert_eq!(order.version, after.number, "{what}: {id}");
        }
    }
    for (brake, on) in &after.on_brake {
        let was = before.brake_version(brake);
        assert!(
            on.version >= was && on.version <= after.number,
            "{what}: {brake}"
        );
        let same = before.on_brake.get(brake).map(|on| &on.doing) == Some(&on.doing);
        assert!(same || on.version == after.number, "{what}: {brake}");
    }
    assert!(
        before
            .on_brake
            .keys()
            .all(|brake| after.on_brake.contains_key(brake))
    );
}

fn sections(state: &State, what: &str) {
    let mut seen = BTreeSet::new();
    for (brake, bed) in &state.beds {
        for station in bed {
            assert_eq!(station.brake, *brake, "{what}");
            assert!(!station.punch_sections.is_empty(), "{what}: {brake}");
            assert!(!station.die_sections.is_empty(), "{what}: {brake}");
            for section in station.sections() {
                assert!(seen.insert(section), "{what}: {section} twice");
                assert!(
                    !state.sections_out.contains_key(section),
                    "{what}: {section}"
                );
            }
        }
    }
}

fn runs(state: &State, what: &str) {
    for (brake, run) in state.runs() {
        let order = state.orders.get(&run.order);
        let order = order.unwrap_or_else(|| panic!("{what}: {} of {brake}", run.order));
        assert!(!order.withdrawn, "{what}: {brake}");
        let tied = order.order.brake.as_ref();
        let pinned = state.pin(&run.order).is_some_and(|pin| pin.brake == *brake);
        let there = pinned || tied.is_none_or(|tied| tied == brake);
        assert!(there, "{what}: {brake}");
    }
    assert!(state.plan_wanted_since <= state.number, "{what}");
    assert!(state.unfit_since <= state.plan_wanted_since, "{what}");
}

/// Pins are of open orders, and the places on a brake count from 1 without a gap.
fn pins(state: &State, what: &str) {
    let mut places: BTreeMap<&BrakeId, Vec<u32>> = BTreeMap::new();
    for (id, order) in &state.orders {
        let Some(pin) = state.pin(id) else { continue };
        assert!(order.is_open(), "{what}: {id}");
        let place = places.entry(&pin.brake).or_default();
        place.extend(pin.place);
    }
    for (brake, mut places) in places {
        places.sort_unstable();
        assert!((1..).zip(&places).all(|(n, p)| n == *p), "{what}: {brake}");
    }
}
