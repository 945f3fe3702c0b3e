//! A run carries a program exactly when it follows a proven setup.

use super::{Rule, broken};
use crate::case::Case;
use crate::proven::followed;
use model::Violation;

pub(super) const UNPROVEN: Rule = (
    "A144",
    "program-not-followed",
    "a run names a program whose proven setup it does not follow",
);
pub(super) const UNNAMED: Rule = (
    "A145",
    "program-missing",
    "a run follows a proven setup and does not name its program",
);
pub(super) const ONLY: Rule = (
    "A146",
    "proven-only",
    "a part that may run only where it is proven runs elsewhere",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    for run in &case.runs {
        let setups = followed(case, run);
        let name = &run.run.name;
        match &run.run.program {
            Some(program) if !setups.iter().any(|setup| setup.program == *program) => {
                let text = format!(
                    "program {program:?} of {} on {}",
                    run.part_id(),
                    run.brake_id
                );
                broken(out, &UNPROVEN, name, text);
            }
            None if !setups.is_empty() => {
                let programs: Vec<_> = setups.iter().map(|setup| setup.program.as_str()).collect();
                broken(
                    out,
                    &UNNAMED,
                    name,
                    format!("follows {}", programs.join(", ")),
                );
            }
            _ => {}
        }
        if run.part.is_some_and(|part| part.proven_only) && setups.is_empty() {
            let text = format!(
                "{} follows no proven setup on {}",
                run.part_id(),
                run.brake_id
            );
            broken(out, &ONLY, name, text);
        }
    }
}
