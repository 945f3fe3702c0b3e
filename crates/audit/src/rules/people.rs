//! Nobody is in two places at once.

use super::{Rule, broken};
use crate::case::Case;
use model::{Segment, Violation};
use std::collections::BTreeMap;
use units::PersonId;

pub(super) const TWO_PLACES: Rule = (
    "A177",
    "person-in-two-places",
    "a person works in two segments at the same time",
);

pub(super) fn check(case: &Case, out: &mut Vec<Violation>) {
    let jobs = case.jobs();
    let mut diaries: BTreeMap<&PersonId, Vec<(&Segment, &str)>> = BTreeMap::new();
    for job in &jobs {
        for segment in job
            .segments
            .iter()
            .filter(|segment| segment.start < segment.end)
        {
            for person in &segment.crew {
                diaries.entry(person).or_default().push((segment, job.at));
            }
        }
    }
    for (person, mut diary) in diaries {
        diary.sort_by_key(|(segment, _)| (segment.start, segment.end));
        let mut busiest: Option<(&Segment, &str)> = None;
        for (segment, at) in diary {
            // The same person twice in one segment is the crew's rule.
            if let Some((before, other)) = busiest
                && segment.start < before.end
                && !std::ptr::eq(before, segment)
            {
                let text = format!(
                    "{person} works here at {} and in {other} until {}",
                    case.show(segment.start),
                    case.show(before.end)
                );
                broken(out, &TWO_PLACES, at, text);
            }
            if busiest.is_none_or(|(before, _)| before.end < segment.end) {
                busiest = Some((segment, at));
            }
        }
    }
}
