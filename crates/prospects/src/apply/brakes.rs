//! Better brakes, and more of them.

use super::{ApplyError, fresh, missing};
use crate::change::{GaugeAxis, clamping_name};
use documents::default_change_times;
use model::{Axis, Brake, ChangeTimes, Clamping, Shop, ZDrive};
use units::{BrakeId, Length, Seconds};

fn brake_mut<'s>(shop: &'s mut Shop, id: &BrakeId) -> Result<&'s mut Brake, ApplyError> {
    let found = shop.brakes.iter_mut().find(|brake| brake.id == *id);
    found.ok_or_else(|| missing("brake", id))
}

/// The change times follow the defaults of the two ways of clamping. Where the brake's own times
/// were measured, each changes in the proportion in which the defaults differ: long tools that need
/// a lift truck go on needing it. Programs, guards and fingers have nothing to do with clamps and
/// stay as they are.
pub(super) fn clamp(
    shop: &mut Shop,
    brake: &BrakeId,
    clamping: Clamping,
) -> Result<(), ApplyError> {
    let brake = brake_mut(shop, brake)?;
    if brake.clamping >= clamping {
        return Err(ApplyError::Nothing(format!(
            "{} has {} clamping already",
            brake.id,
            clamping_name(brake.clamping)
        )));
    }
    let (Some(old), Some(new)) = (
        default_change_times(brake.clamping),
        default_change_times(clamping),
    ) else {
        return Err(ApplyError::Impossible(
            "there are no default change times to go by".to_owned(),
        ));
    };
    brake.clamping = clamping;
    brake.times = in_proportion(&brake.times, &old, &new);
    Ok(())
}

fn in_proportion(own: &ChangeTimes, old: &ChangeTimes, new: &ChangeTimes) -> ChangeTimes {
    let one = |of: fn(&ChangeTimes) -> Seconds| {
        let (own, old, new) = (of(own), of(old), of(new));
        if own == old || old == Seconds::ZERO {
            return new;
        }
        // To the nearest second. Times are at most a day, so nothing overflows.
        Seconds((own.0 * new.0 + old.0 / 2) / old.0)
    };
    ChangeTimes {
        base: one(|times| times.base),
        station_off: one(|times| times.station_off),
        section_off: one(|times| times.section_off),
        station_on: one(|times| times.station_on),
        section_on: one(|times| times.section_on),
        station_slide: one(|times| times.station_slide),
        section_turn: one(|times| times.section_turn),
        heavy_section: one(|times| times.heavy_section),
        ..*own
    }
}

/// The axis with both its old range and the new one, from the first day.
pub(super) fn fit_axis(
    shop: &mut Shop,
    brake: &BrakeId,
    axis: GaugeAxis,
    (from, to): (Length, Length),
) -> Result<(), ApplyError> {
    if from >= to {
        return Err(ApplyError::Impossible(format!(
            "the {} axis cannot go from {from} to {to} mm",
            axis.name()
        )));
    }
    let brake = brake_mut(shop, brake)?;
    let old = match axis {
        GaugeAxis::X => Some(brake.gauge.x),
        GaugeAxis::XDifference => brake.gauge.x_difference,
        GaugeAxis::R => brake.gauge.r,
    };
    let new = Axis {
        from: old.map_or(from, |old| old.from.min(from)),
        to: old.map_or(to, |old| old.to.max(to)),
        fitted: None,
    };
    if old == Some(new) {
        return Err(ApplyError::Nothing(format!(
            "the {} axis of {} goes from {} to {} mm already",
            axis.name(),
            brake.id,
            new.from,
            new.to
        )));
    }
    match axis {
        GaugeAxis::X => brake.gauge.x = new,
        GaugeAxis::XDifference => brake.gauge.x_difference = Some(new),
        GaugeAxis::R => brake.gauge.r = Some(new),
    }
    Ok(())
}

pub(super) fn power_fingers(shop: &mut Shop, brake: &BrakeId) -> Result<(), ApplyError> {
    let brake = brake_mut(shop, brake)?;
    if brake.gauge.z == ZDrive::Powered {
        return Err(ApplyError::Nothing(format!(
            "the fingers of {} are driven already",
            brake.id
        )));
    }
    brake.gauge.z = ZDrive::Powered;
    Ok(())
}

/// Its twin: an empty bed, the same hours, the same people, and the programs proven on the first.
pub(super) fn another(shop: &mut Shop, like: &BrakeId) -> Result<(), ApplyError> {
    let Some(brake) = shop.brake(like).cloned() else {
        return Err(missing("brake", like));
    };
    let id = fresh(like.as_str(), BrakeId::new, |id| shop.brake(id).is_some())?;
    let programs: Vec<_> = shop
        .setups
        .iter()
        .filter(|setup| setup.brake == *like)
        .cloned()
        .collect();
    shop.setups
        .extend(programs.into_iter().map(|setup| model::ProvenSetup {
            brake: id.clone(),
            ..setup
        }));
    for person in &mut shop.people {
        if person.brakes.contains(like) {
            person.brakes.push(id.clone());
        }
    }
    shop.brakes.push(Brake {
        id,
        name: format!("another {}", brake.name),
        ..brake
    });
    Ok(())
}
