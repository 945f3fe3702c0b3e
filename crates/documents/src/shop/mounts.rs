//! Whether a punch and a die exist and fit a brake.

use super::brakes::Brakes;
use super::tooling::{FILE as TOOLING, Tooling};
use crate::codes::{DOES_NOT_MOUNT, UNKNOWN_PROFILE};
use crate::fields::Fields;
use crate::findings::Problem;
use crate::table::Row;
use units::{BrakeId, ProfileId};

/// Reports a punch or die that is unknown, of the other kind, or does not fit the brake.
pub(super) fn check_mounts(
    row: &mut Row<'_, '_>,
    brake: &BrakeId,
    punch: &ProfileId,
    die: &ProfileId,
    brakes: &Brakes,
    tooling: &Tooling,
) {
    let fits = brakes
        .get(brake)
        .map(|brake| (brake.tang.as_str(), brake.die_mount.as_str()));
    let tang = tooling.punch(punch).map(|punch| punch.tang.as_str());
    let other = tooling.die(punch).is_some();
    check_tool(
        row,
        "punch",
        punch,
        tooling,
        (tang, other, fits.map(|(tang, _)| tang)),
    );
    let mount = tooling.die(die).map(|die| die.mount.as_str());
    let other = tooling.punch(die).is_some();
    check_tool(
        row,
        "die",
        die,
        tooling,
        (mount, other, fits.map(|(_, mount)| mount)),
    );
}

/// `facts`: the tool's tang or mount, whether it is of the other kind, and what the brake takes.
fn check_tool(
    row: &mut Row<'_, '_>,
    key: &'static str,
    id: &ProfileId,
    tooling: &Tooling,
    facts: (Option<&str>, bool, Option<&str>),
) {
    let (own, of_other_kind, taken) = facts;
    if tooling.is_block(id) {
        let found = format!("{id} is a block");
        let expected = format!("a {key}");
        let action = "name the die of the block whose face is up";
        row.report(key, Problem::new(UNKNOWN_PROFILE, found, expected, action));
    } else if let Some(problem) = tooling.ids.missing(id, UNKNOWN_PROFILE, TOOLING) {
        row.report(key, problem);
    } else if of_other_kind {
        let other = if key == "punch" { "die" } else { "punch" };
        let found = format!("{id} is a {other}");
        let expected = format!("a {key}");
        row.report(
            key,
            Problem::new(UNKNOWN_PROFILE, found, expected, "name another profile"),
        );
    } else if let (Some(own), Some(taken)) = (own, taken)
        && own != taken
    {
        let found = format!("{id} has {own:?}, the brake takes {taken:?}");
        let action = "correct the profile, the brake or this row";
        let expected = "a tool the brake can hold";
        row.report(key, Problem::new(DOES_NOT_MOUNT, found, expected, action));
    }
}
