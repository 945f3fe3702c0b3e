//! Run lists as calendars: one of a brake, or one of a person.

use super::lines::{escaped, push};
use chrono::DateTime;
use documents::words::people;
use model::{BrakePlan, Plan, Run, Segment, Shop, Takedown};
use std::collections::BTreeMap;
use units::{BrakeId, Moment, OrderId, PersonId};

/// What is said beside the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Issue {
    /// When the plan was made.
    pub made: Moment,
    /// Whether the shop is made up.
    pub invented: bool,
}

/// The calendar of a brake: an event for each run, changeover in which something is done, and
/// takedown, from its first second to its last, pauses included. Times are UTC. A run keeps its UID
/// from plan to plan as long as it is the same share of its order.
#[must_use]
pub fn of_brake(shop: &Shop, plan: &Plan, brake: &BrakeId, issue: Issue) -> String {
    let mut out = begin(&format!("{}: {brake}", plan.shop), issue);
    let shares = shares(plan);
    let of = |list: &&BrakePlan| list.brake == *brake;
    for event in plan
        .brakes
        .iter()
        .filter(of)
        .flat_map(|list| events(list, &shares))
    {
        let span = (event.start, event.end);
        write(&mut out, shop, &event, &event.uid, span, issue);
    }
    end(out)
}

/// The calendar of a person: an event for each stretch of work without a pause.
#[must_use]
pub fn of_person(shop: &Shop, plan: &Plan, person: &PersonId, issue: Issue) -> String {
    let mut out = begin(&format!("{}: {person}", plan.shop), issue);
    let shares = shares(plan);
    let all = plan.brakes.iter().flat_map(|list| events(list, &shares));
    let mut stretches: Vec<(Event<'_>, String, (Moment, Moment))> = Vec::new();
    for event in all {
        let worked = event
            .segments
            .iter()
            .filter(|one| one.crew.contains(person));
        let mut spans: Vec<(Moment, Moment)> = Vec::new();
        for segment in worked {
            match spans.last_mut() {
                Some((_, end)) if *end == segment.start => *end = segment.end,
                _ => spans.push((segment.start, segment.end)),
            }
        }
        for (number, span) in spans.into_iter().enumerate() {
            let uid = format!("{}.{}.{}", event.uid, tame(person.as_str()), number + 1);
            stretches.push((event.clone(), uid, span));
        }
    }
    stretches.sort_by_key(|(_, _, span)| *span);
    for (event, uid, span) in stretches {
        write(&mut out, shop, &event, &uid, span, issue);
    }
    end(out)
}

fn begin(name: &str, issue: Issue) -> String {
    let mut out = String::new();
    push(&mut out, "BEGIN", "VCALENDAR");
    push(&mut out, "VERSION", "2.0");
    push(&mut out, "PRODID", "-//brakewright//run lists//EN");
    push(&mut out, "CALSCALE", "GREGORIAN");
    let invented = if issue.invented { " (invented)" } else { "" };
    // RFC 7986, 5.1.
    push(&mut out, "NAME", &escaped(&format!("{name}{invented}")));
    out
}

fn end(mut out: String) -> String {
    push(&mut out, "END", "VCALENDAR");
    out
}

/// Something on a brake that takes time.
#[derive(Clone, Debug)]
struct Event<'p> {
    /// Without the shop.
    uid: String,
    brake: &'p BrakeId,
    kind: &'static str,
    title: String,
    words: Vec<String>,
    segments: &'p [Segment],
    start: Moment,
    end: Moment,
}

/// How many runs of its order, over all brakes, begin before each run.
fn shares(plan: &Plan) -> BTreeMap<&str, usize> {
    let mut runs: Vec<(&OrderId, Moment, &str)> = plan
        .brakes
        .iter()
        .flat_map(|list| &list.runs)
        .map(|run| (&run.order, run.start, run.name.as_str()))
        .collect();
    runs.sort();
    let mut seen: BTreeMap<&OrderId, usize> = BTreeMap::new();
    let mut shares = BTreeMap::new();
    for (order, _, name) in runs {
        let count = seen.entry(order).or_default();
        *count += 1;
        shares.insert(name, *count);
    }
    shares
}

fn events<'p>(list: &'p BrakePlan, shares: &BTreeMap<&str, usize>) -> Vec<Event<'p>> {
    let mut events = Vec::new();
    for run in &list.runs {
        let share = shares.get(run.name.as_str()).copied().unwrap_or(1);
        let name = format!("{}.{share}", tame(run.order.as_str()));
        if !run.changeover.steps.is_empty() {
            events.push(changeover(list, run, &name));
        }
        events.push(self::run(list, run, &name));
    }
    for takedown in &list.takedowns {
        events.push(self::takedown(list, takedown));
    }
    events.sort_by_key(|event| event.start);
    events
}

fn run<'p>(list: &'p BrakePlan, run: &'p Run, name: &str) -> Event<'p> {
    let mut words = vec![
        format!("run {}, batch {}", run.name, run.batch),
        format!("people: {}", people(&run.segments).join(" ")),
    ];
    words.extend(
        run.program
            .iter()
            .map(|program| format!("program: {program}")),
    );
    words.extend(run.reasons.iter().cloned());
    Event {
        uid: format!("run.{name}"),
        brake: &list.brake,
        kind: "run",
        title: format!("{}: {} x {}", run.order, run.quantity, run.part),
        words,
        segments: &run.segments,
        start: run.start,
        end: run.end,
    }
}

fn changeover<'p>(list: &'p BrakePlan, run: &'p Run, name: &str) -> Event<'p> {
    let change = &run.changeover;
    let mut words = vec![format!("setter: {}", people(&change.segments).join(" "))];
    words.extend(change.steps.iter().map(|step| step.text.clone()));
    Event {
        uid: format!("change.{name}"),
        brake: &list.brake,
        kind: "changeover",
        title: format!("changeover for {}: {}", run.order, run.part),
        words,
        segments: &change.segments,
        start: change.start,
        end: change.end,
    }
}

fn takedown<'p>(list: &'p BrakePlan, takedown: &'p Takedown) -> Event<'p> {
    let mut words = vec![format!("setter: {}", people(&takedown.segments).join(" "))];
    words.extend(takedown.steps.iter().map(|step| step.text.clone()));
    Event {
        uid: format!(
            "takedown.{}.{}",
            tame(list.brake.as_str()),
            utc(takedown.start)
        ),
        brake: &list.brake,
        kind: "takedown",
        title: format!("take tools off for {}", takedown.wanted_by),
        words,
        segments: &takedown.segments,
        start: takedown.start,
        end: takedown.end,
    }
}

fn write(
    out: &mut String,
    shop: &Shop,
    event: &Event<'_>,
    uid: &str,
    (start, end): (Moment, Moment),
    issue: Issue,
) {
    let brake = shop.brakes.iter().find(|brake| brake.id == *event.brake);
    let place = brake.map_or_else(
        || event.brake.to_string(),
        |brake| format!("{} {}", brake.id, brake.name),
    );
    push(out, "BEGIN", "VEVENT");
    push(
        out,
        "UID",
        &format!("{uid}.{}@brakewright", tame(&shop.name)),
    );
    push(out, "DTSTAMP", &utc(issue.made));
    push(out, "DTSTART", &utc(start));
    push(out, "DTEND", &utc(end));
    push(
        out,
        "SUMMARY",
        &escaped(&format!("{} {}", event.brake, event.title)),
    );
    push(out, "LOCATION", &escaped(&place));
    push(out, "CATEGORIES", event.kind);
    push(out, "DESCRIPTION", &escaped(&event.words.join("\n")));
    push(out, "TRANSP", "OPAQUE");
    push(out, "END", "VEVENT");
}

/// `20270322T050000Z`; the calendar's first second for a moment beyond it.
fn utc(moment: Moment) -> String {
    let at = DateTime::from_timestamp(moment.0, 0).unwrap_or_default();
    at.format("%Y%m%dT%H%M%SZ").to_string()
}

/// A name in a UID: letters, digits and dashes stay, each other octet becomes `_` and two digits.
/// Different names stay different.
fn tame(name: &str) -> String {
    let mut out = String::new();
    for octet in name.bytes() {
        if octet.is_ascii_alphanumeric() || octet == b'-' {
            out.push(char::from(octet));
        } else {
            out.push_str(&format!("_{octet:02x}"));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_stay_apart() {
        assert_eq!(tame("W-1/2"), "W-1_2f2");
        assert_ne!(tame("a b"), tame("a_b"));
        assert_eq!(utc(Moment(0)), "19700101T000000Z");
    }
}
