//! More or fewer tools.

use super::{ApplyError, fresh, missing};
use model::{Horn, Profile, Section, SectionStatus, Shop};
use units::{Kilograms, Length, ProfileId, SectionId};

/// Sections of a profile in the set that has most of them by length: the one people mean by "the
/// set". Those out of service count, for a new set has all of its sections.
fn main_set<'s>(shop: &'s Shop, profile: &ProfileId) -> Result<Vec<&'s Section>, ApplyError> {
    let of_profile = || shop.sections.iter().filter(|one| one.profile == *profile);
    let mut sets: Vec<(&str, Length)> = Vec::new();
    for section in of_profile() {
        match sets.iter_mut().find(|(set, _)| *set == section.set) {
            Some((_, length)) => *length += section.length,
            None => sets.push((&section.set, section.length)),
        }
    }
    // The first of equals.
    let most = sets.into_iter().rev().max_by_key(|(_, length)| *length);
    let Some((set, _)) = most else {
        return Err(missing("section of the profile", profile));
    };
    Ok(of_profile().filter(|one| one.set == set).collect())
}

pub(super) fn another_set(
    shop: &mut Shop,
    profile: &ProfileId,
    lengths: &[Length],
) -> Result<(), ApplyError> {
    let owned = main_set(shop, profile)?;
    if let Some(length) = lengths
        .iter()
        .find(|length| !owned.iter().any(|one| one.length == **length))
    {
        return Err(ApplyError::Impossible(format!(
            "the set of {profile} has no section of {length} mm to buy again; \
             \"sections {length} more of {profile}\" buys other lengths"
        )));
    }
    let copied: Vec<Section> = owned
        .into_iter()
        .filter(|one| lengths.is_empty() || lengths.contains(&one.length))
        .cloned()
        .collect();
    let set = free_set(shop, profile);
    for section in copied {
        let id = section_id(shop, section.id.as_str())?;
        shop.sections.push(Section {
            id,
            set: set.clone(),
            status: SectionStatus::Good,
            ..section
        });
    }
    Ok(())
}

pub(super) fn more_sections(
    shop: &mut Shop,
    profile: &ProfileId,
    lengths: &[Length],
) -> Result<(), ApplyError> {
    if let Some(length) = lengths.iter().find(|length| **length <= Length::ZERO) {
        return Err(ApplyError::Impossible(format!(
            "a section of {length} mm cannot be bought"
        )));
    }
    let owned = main_set(shop, profile)?;
    // Plain sections weigh by their length; a horn is lighter than its length says.
    let plain = owned.iter().find(|one| one.horn == Horn::None);
    let Some(like) = plain.or_else(|| owned.first()).map(|one| (*one).clone()) else {
        return Err(missing("section of the profile", profile));
    };
    let kilograms_a_metre = like.mass.get() / like.length.metres();
    for length in lengths {
        let id = section_id(shop, &format!("{profile}-{length}"))?;
        shop.sections.push(Section {
            id,
            length: *length,
            horn: Horn::None,
            mass: Kilograms::of(kilograms_a_metre * length.metres()),
            status: SectionStatus::Good,
            ..like.clone()
        });
    }
    Ok(())
}

fn section_id(shop: &Shop, from: &str) -> Result<SectionId, ApplyError> {
    fresh(from, SectionId::new, |id| shop.section(id).is_some())
}

/// A name for a set that the profile has not yet.
fn free_set(shop: &Shop, profile: &ProfileId) -> String {
    let taken = |name: &str| {
        let mut sections = shop.sections.iter();
        sections.any(|one| one.profile == *profile && one.set == name)
    };
    let mut name = "new".to_owned();
    while taken(&name) {
        name.push('+');
    }
    name
}

/// Takes a die out of the shop: its sections (those of a block stay while it has another face), the
/// proven setups that need it, and the stations it stands in.
pub(super) fn without(shop: &mut Shop, die: &ProfileId) -> Result<(), ApplyError> {
    let Some(gone) = shop.die(die).cloned() else {
        return Err(missing("die", die));
    };
    let stands = |brake| {
        let mut stations = shop.floor.stations.iter();
        stations.any(|station| station.brake == brake && station.die == *die)
    };
    if let Some(running) = shop
        .floor
        .running
        .iter()
        .find(|running| stands(running.brake.clone()))
    {
        return Err(ApplyError::Impossible(format!(
            "{die} cannot go: order {} is being bent with it on {}",
            running.order, running.brake
        )));
    }
    shop.profiles.retain(|profile| profile.id() != die);
    let stock = gone.block.as_ref().unwrap_or(die);
    let still_used = gone.block.is_some()
        && shop.profiles.iter().any(|profile| match profile {
            Profile::Die(other) => other.block == gone.block,
            Profile::Punch(_) => false,
        });
    if !still_used {
        shop.sections.retain(|section| section.profile != *stock);
    }
    shop.setups
        .retain(|setup| setup.stations.iter().all(|station| station.die != *die));
    shop.floor.stations.retain(|station| station.die != *die);
    Ok(())
}
