//! At the bottom of each bend every other station on the bed stays open.

use super::{Rule, broken};
use crate::bed::Placed;
use crate::case::Case;
use crate::made::Made;
use crate::mechanics::free_depth;
use crate::numbers::at_most;
use model::{Brake, Violation};

pub(super) const CRASH: Rule = (
    "A154",
    "crash",
    "at the bottom of a bend another station's punch comes too close to its own die",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        let Some(brake) = run.brake else { continue };
        for made in &run.bends {
            for (index, other) in run.run.bed.iter().enumerate() {
                if index != made.used.station {
                    let other = Placed::from_plan(other);
                    check_pair(case, &run.run.name, brake, made, &other, out);
                }
            }
        }
    }
}

fn check_pair<'a>(
    case: &Case<'a>,
    at: &str,
    brake: &Brake,
    made: &Made,
    other: &Placed<'a>,
    out: &mut Vec<Violation>,
) {
    let Some((punch, die)) = other.profiles(&case.lookup) else {
        return;
    };
    let holders = brake.upper_holder.mm() + brake.lower_holder.mm();
    let depth = holders + punch.height.mm() + die.height.mm() - made.stroke.ram_to_bed;
    let groove = die.groove_depth.mm();
    // Flattening tools have no groove to stand in.
    let free = if punch.flattening || die.flattening {
        0.0
    } else {
        free_depth(die.v.mm(), die.angle.get(), groove, punch.tip_radius.mm())
    };
    let allowed = free - case.shop.rules.crash_clearance.mm();
    if !at_most(depth, allowed) {
        let text = format!(
            "{}: tip of {} stands {depth:.3} mm below its shoulders, at most {allowed:.3} mm",
            made.name(),
            other.describe()
        );
        broken(out, &CRASH, at, text);
    }
}
