//! Hours, people, and one thing at a time.

use super::{Corruption, corruption};
use crate::shop::{at, brake_id, calendar_id, local, person_id, span};
use model::{BrakeDown, DayOverride, Segment, Shop};
use units::{Moment, Seconds, Window};

/// Gives one person hours of their own.
fn hours_of(shop: &mut Shop, person: usize, start: &str, end: &str) {
    let mut own = shop.calendars[0].clone();
    own.id = calendar_id("own");
    own.shifts[0].span = span(start, end);
    shop.calendars.push(own);
    shop.people[person].calendar = calendar_id("own");
}

fn move_segment(segment: &mut Segment, by: i64) {
    segment.start.0 += by;
    segment.end.0 += by;
}

pub(super) const CORRUPTIONS: &[Corruption] = &[
    corruption(
        "segments in the wrong order",
        &["segments-out-of-shape"],
        |_, plan| {
            plan.brakes[0].runs[1].segments.reverse();
        },
    ),
    corruption(
        "a run without segments",
        &["segments-out-of-shape", "segments-do-not-add-up"],
        |_, plan| plan.brakes[0].runs[0].segments.clear(),
    ),
    corruption(
        "a segment without length",
        &["segments-out-of-shape"],
        |_, plan| {
            let run = &mut plan.brakes[0].runs[0];
            let mut nothing = run.segments[0].clone();
            nothing.start = nothing.end;
            run.segments.push(nothing);
        },
    ),
    corruption(
        "work that ends a minute early",
        &["segments-do-not-add-up"],
        |_, plan| {
            let run = &mut plan.brakes[1].runs[1];
            run.end.0 -= 60;
            run.segments[0].end.0 -= 60;
        },
    ),
    corruption(
        "a brake down while it bends",
        &["brake-not-staffed"],
        |shop, _| {
            shop.floor.down.push(BrakeDown {
                brake: brake_id("B1"),
                window: Window {
                    start: at("08:00:00"),
                    end: at("08:00:01"),
                },
                reason: "oil".to_owned(),
            });
        },
    ),
    corruption(
        "bending through the break",
        &[
            "brake-not-staffed",
            "person-not-there",
            "wrong-lateness",
            "wrong-total",
            "wrong-objective",
        ],
        |_, plan| {
            let run = &mut plan.brakes[0].runs[1];
            run.end.0 -= 1_800;
            run.segments[1].end = run.end;
            let whole = Segment {
                start: run.start,
                end: run.end,
                crew: run.segments[0].crew.clone(),
            };
            run.segments = vec![whole];
        },
    ),
    corruption(
        "a closed day",
        &[
            "brake-not-staffed",
            "person-not-there",
            "inspector-not-there",
        ],
        |shop, _| {
            let date = "2027-03-22".parse().unwrap_or_default();
            shop.calendars[0].closed.push(DayOverride {
                date,
                reason: "closed".to_owned(),
            });
        },
    ),
    corruption(
        "a person who goes at 08:00",
        &["person-not-there"],
        |shop, _| {
            hours_of(shop, 2, "06:00", "08:00");
        },
    ),
    corruption(
        "a person of no shop",
        &["crew", "person-not-there"],
        |_, plan| {
            plan.brakes[0].runs[0].segments[0].crew = vec![person_id("M9")];
        },
    ),
    corruption("an operator who changes tools", &["setter"], |_, plan| {
        plan.brakes[1].runs[1].changeover.segments[0].crew = vec![person_id("M4")];
    }),
    corruption(
        "a setter not trained on the brake",
        &["setter"],
        |shop, _| {
            shop.people[1].brakes = vec![brake_id("B1")];
        },
    ),
    corruption("two people who set", &["setter"], |_, plan| {
        plan.brakes[1].runs[1].changeover.segments[0]
            .crew
            .push(person_id("M3"));
    }),
    corruption(
        "another setter halfway",
        &["setter", "person-in-two-places"],
        |_, plan| {
            let segments = &mut plan.brakes[0].runs[1].changeover.segments;
            let mut second = segments[0].clone();
            segments[0].end = at("06:30:00");
            second.start = at("06:30:00");
            second.crew = vec![person_id("M1")];
            segments.push(second);
        },
    ),
    corruption(
        "a change near the end of the shift",
        &["change-near-shift-end"],
        |shop, _| {
            // 06:33:50 is past 14:00 less 7 h 27 min; 06:23:43 is not.
            shop.rules.quiet_before_shift_end = Seconds((7 * 60 + 27) * 60);
        },
    ),
    corruption(
        "a change that outlasts the shift",
        &["change-spans-shifts"],
        |shop, _| {
            shop.rules.quiet_before_shift_end = Seconds(0);
            hours_of(shop, 1, "06:00", "06:40");
            // The setter is there again at once, but in another shift.
            let mut second = shop.calendars[2].shifts[0].clone();
            second.span = span("06:40", "14:00");
            shop.calendars[2].shifts.push(second);
        },
    ),
    corruption(
        "a change that pauses for nothing",
        &["change-pauses", "segments-do-not-add-up"],
        |_, plan| {
            let segments = &mut plan.brakes[0].runs[1].changeover.segments;
            let mut second = segments[0].clone();
            segments[0].end = at("06:30:00");
            second.start = at("06:31:00");
            segments.push(second);
        },
    ),
    corruption("one person where two are needed", &["crew"], |_, plan| {
        plan.brakes[1].runs[0].segments[0].crew.pop();
    }),
    corruption("the same person twice", &["crew"], |_, plan| {
        plan.brakes[1].runs[0].segments[0].crew = vec![person_id("M4"), person_id("M4")];
    }),
    corruption("a setter who bends", &["crew"], |shop, _| {
        shop.people[2].role = model::Role::Setter;
    }),
    corruption(
        "a piece that became too heavy for one",
        &["crew", "wrong-cycle"],
        |shop, _| {
            // P2 weighs 1.884 kg, P1 0.942 kg.
            shop.rules.one_person_mass = units::Kilograms::of(1.5);
        },
    ),
    corruption(
        "a run that stops before the break",
        &["run-pauses", "segments-do-not-add-up"],
        |_, plan| plan.brakes[0].runs[1].segments[0].end.0 -= 60,
    ),
    corruption("a run over two shifts", &["run-spans-shifts"], |shop, _| {
        let mut split = shop.calendars[0].clone();
        split.id = calendar_id("split");
        split.shifts[0].span.end = local("09:00");
        let mut second = split.shifts[0].clone();
        second.span = span("09:30", "14:00");
        split.shifts.push(second);
        shop.calendars.push(split);
        shop.brakes[0].calendar = calendar_id("split");
    }),
    corruption(
        "one person at two brakes",
        &["person-in-two-places"],
        |_, plan| {
            plan.brakes[1].runs[1].segments[0].crew = vec![person_id("M3")];
        },
    ),
    corruption(
        "a run before its changeover has ended",
        &["brake-does-two-things", "out-of-order"],
        |_, plan| {
            let run = &mut plan.brakes[1].runs[1];
            run.start.0 -= 60;
            run.end.0 -= 60;
            move_segment(&mut run.segments[0], -60);
        },
    ),
    corruption(
        "a takedown while the brake bends",
        // Its station then still stands on the bed, and the sections come too late.
        &[
            "brake-does-two-things",
            "wrong-keep",
            "wrong-bed",
            "station-gap",
            "section-on-two-brakes",
            "takedown-for-nobody",
            "person-in-two-places",
        ],
        |_, plan| {
            let takedown = &mut plan.brakes[1].takedowns[0];
            takedown.start = at("06:25:00");
            takedown.end = at("06:34:00");
            takedown.segments[0].start = takedown.start;
            takedown.segments[0].end = takedown.end;
        },
    ),
    corruption(
        "an end before the start",
        &["out-of-order", "segments-out-of-shape"],
        |_, plan| {
            let run = &mut plan.brakes[1].runs[1];
            run.end = Moment(run.start.0 - 1);
        },
    ),
    corruption(
        "an inspector who goes at 06:40",
        &["inspector-not-there"],
        |shop, _| {
            shop.rules.inspector_calendar = Some(calendar_id("short"));
        },
    ),
    corruption(
        "an inspector's break in the approval",
        &["inspector-not-there"],
        |shop, _| {
            let mut rest = shop.calendars[0].clone();
            rest.id = calendar_id("inspector");
            rest.shifts[0].breaks = vec![span("06:50", "06:51")];
            shop.calendars.push(rest);
            shop.rules.inspector_calendar = Some(calendar_id("inspector"));
        },
    ),
];
