//! Every change makes a shop as consistent as the one it was made from, and changes what it says.

#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)] // helpers of tests are not tests to the lint

use chrono::{NaiveTime, Weekday};
use model::{
    BedStation, Calendar, Clamping, LocalSpan, Plan, Profile, RunningOrder, SectionStatus, Shift,
    Shop, ZDrive,
};
use prospects::{ApplyError, Change, GaugeAxis, Refused, WordsError, suggest};
use std::collections::BTreeSet;
use testkit::{Recipe, Sections, invent};
use units::{CalendarId, Length, Seconds};

fn shop(seed: u64) -> Shop {
    invent(&Recipe::bed(30, 0.0, Sections::Scarce, seed))
}

fn planned(shop: &Shop) -> (Plan, Vec<Refused>) {
    let from = shop.as_of.unwrap();
    let ask = schedule::Ask {
        from,
        seed: 1,
        threads: 1,
        seconds: None,
    };
    let mut stop = |steps: u64| steps >= 300;
    let plan = schedule::plan_day(shop, ask, None, &mut stop, &mut ()).plan;
    let (problem, _) = schedule::compile(shop, from);
    let mut refused = Vec::new();
    for (index, order) in shop.orders.iter().enumerate() {
        for refusal in problem.refusals_of(index) {
            refused.push(Refused {
                part: order.part.clone(),
                refusal,
            });
        }
    }
    (plan, refused)
}

/// Ids are unique within their lists and every reference leads somewhere.
fn consistent(shop: &Shop) {
    fn unique<T: Ord>(ids: impl Iterator<Item = T>) {
        let all: Vec<T> = ids.collect();
        let count = all.len();
        assert_eq!(all.into_iter().collect::<BTreeSet<T>>().len(), count);
    }
    unique(shop.calendars.iter().map(|one| &one.id));
    unique(shop.brakes.iter().map(|one| &one.id));
    unique(shop.profiles.iter().map(Profile::id));
    unique(shop.sections.iter().map(|one| &one.id));
    unique(shop.people.iter().map(|one| &one.id));
    for brake in &shop.brakes {
        assert!(shop.calendar(&brake.calendar).is_some());
    }
    for person in &shop.people {
        assert!(shop.calendar(&person.calendar).is_some());
        assert!(person.brakes.iter().all(|id| shop.brake(id).is_some()));
        unique(person.brakes.iter());
    }
    for section in &shop.sections {
        let stocked = |profile: &Profile| match profile {
            Profile::Die(die) => die.block.as_ref().unwrap_or(&die.id) == &section.profile,
            Profile::Punch(punch) => punch.id == section.profile,
        };
        assert!(shop.profiles.iter().any(stocked), "{}", section.profile);
    }
    for setup in &shop.setups {
        assert!(shop.brake(&setup.brake).is_some());
        for station in &setup.stations {
            assert!(shop.die(&station.die).is_some() && shop.punch(&station.punch).is_some());
        }
    }
    for station in &shop.floor.stations {
        assert!(shop.die(&station.die).is_some());
        assert!(station.sections().all(|id| shop.section(id).is_some()));
    }
}

#[test]
fn what_is_suggested_can_be_made_read_back_and_is_bounded() {
    let mut kinds = BTreeSet::new();
    for seed in 1..=6 {
        let shop = shop(seed);
        let (plan, refused) = planned(&shop);
        let found = suggest(&shop, &plan, &refused);
        assert!(found.len() <= 12 + 8 * 6);
        let names: BTreeSet<String> = found.iter().map(|one| one.change.to_string()).collect();
        assert_eq!(names.len(), found.len(), "none twice");
        for candidate in &found {
            let change = &candidate.change;
            kinds.insert(change.kind());
            assert_eq!(&Change::parse(&shop, &change.to_string()).unwrap(), change);
            assert!(!candidate.reason.is_empty());
            consistent(&change.apply(&shop).unwrap());
        }
        assert_eq!(
            found,
            suggest(&shop, &plan, &refused),
            "the same every time"
        );
    }
    for kind in [
        "another-set",
        "clamping",
        "further-shift",
        "another-brake",
        "another-person",
    ] {
        assert!(kinds.contains(kind), "{kind} in {kinds:?}");
    }
}

#[test]
fn another_set_is_a_set_of_its_own() {
    let shop = shop(1);
    let profile = shop.sections[0].profile.clone();
    let of = |shop: &Shop| -> Vec<model::Section> {
        let sections = shop.sections.iter();
        sections
            .filter(|one| one.profile == profile)
            .cloned()
            .collect()
    };
    let change = Change::parse(&shop, &format!("another set of {profile}")).unwrap();
    let with = change.apply(&shop).unwrap();
    let (before, after) = (of(&shop), of(&with));
    let new = &after[before.len()..];
    assert!(!new.is_empty());
    assert!(new.iter().all(|one| one.status == SectionStatus::Good));
    let old_sets: BTreeSet<&str> = before.iter().map(|one| one.set.as_str()).collect();
    assert!(new.iter().all(|one| !old_sets.contains(one.set.as_str())));
    // What is bought is a whole set of those owned.
    let lengths = |sections: &[&model::Section]| {
        let mut lengths: Vec<Length> = sections.iter().map(|one| one.length).collect();
        lengths.sort_unstable();
        lengths
    };
    let bought = lengths(&new.iter().collect::<Vec<_>>());
    assert!(old_sets.iter().any(|set| {
        let one: Vec<_> = before.iter().filter(|one| one.set == *set).collect();
        lengths(&one) == bought
    }));
    // Chosen lengths alone.
    let length = before[0].length;
    let some = Change::parse(&shop, &format!("another set of {profile} with {length}")).unwrap();
    let some = of(&some.apply(&shop).unwrap());
    assert!(some[before.len()..].iter().all(|one| one.length == length));
    assert!(some.len() > before.len());
    let none = format!("another set of {profile} with 1.25");
    let none = Change::parse(&shop, &none).unwrap().apply(&shop);
    assert!(matches!(none, Err(ApplyError::Impossible(_))), "{none:?}");
}

#[test]
fn more_sections_weigh_by_their_length_and_go_with_the_set() {
    let shop = shop(1);
    let like = shop.sections[0].clone();
    let words = format!("sections 37.5, 12 mm more of {}", like.profile);
    assert!(matches!(
        Change::parse(&shop, &words),
        Err(WordsError::Length { .. })
    ));
    let words = format!("sections 37.5 1in more of {}", like.profile);
    let with = Change::parse(&shop, &words).unwrap().apply(&shop).unwrap();
    consistent(&with);
    let new = &with.sections[shop.sections.len()..];
    assert_eq!(new[0].length, Length::from_mm(37.5));
    assert_eq!(new[1].length, Length::from_mm(25.4));
    let a_metre = |section: &model::Section| section.mass.get() / section.length.metres();
    assert!((a_metre(&new[0]) - a_metre(&new[1])).abs() < 1e-9);
    assert!(
        shop.sections
            .iter()
            .any(|one| one.profile == like.profile && one.set == new[0].set)
    );
}

#[test]
fn quicker_clamping_takes_the_default_times_and_measured_ones_in_proportion() {
    let mut shop = shop(1);
    let bolted = documents::default_change_times(Clamping::Bolted).unwrap();
    let powered = documents::default_change_times(Clamping::Powered).unwrap();
    let brake = &mut shop.brakes[0];
    brake.clamping = Clamping::Bolted;
    brake.times = bolted;
    brake.times.base = Seconds(480);
    let id = brake.id.clone();
    let words = format!("powered clamping on {id}");
    let with = Change::parse(&shop, &words).unwrap().apply(&shop).unwrap();
    let times = with.brakes[0].times;
    assert_eq!(with.brakes[0].clamping, Clamping::Powered);
    // 480 s where 360 is usual; powered 150 is usual: 480 × 150 / 360 = 200 [computed].
    assert_eq!(times.base, Seconds(200));
    assert_eq!(times.station_on, powered.station_on);
    assert_eq!(times.section_off, powered.section_off);
    assert_eq!(times.guard, bolted.guard);
    let again = Change::parse(&with, &words).unwrap().apply(&with);
    assert!(matches!(again, Err(ApplyError::Nothing(_))), "{again:?}");
}

#[test]
fn an_axis_is_fitted_at_once_and_only_ever_goes_farther() {
    let mut shop = shop(1);
    let id = shop.brakes[0].id.clone();
    shop.brakes[0].gauge.r = None;
    shop.brakes[0].gauge.z = ZDrive::Hand;
    let words = format!("R axis from -20 to 150 on {id}");
    let with = Change::parse(&shop, &words).unwrap().apply(&shop).unwrap();
    let r = with.brakes[0].gauge.r.unwrap();
    assert_eq!(
        (r.from, r.to, r.fitted),
        (Length::from_whole_mm(-20), Length::from_whole_mm(150), None)
    );
    let narrower = Change::Axis {
        brake: id.clone(),
        axis: GaugeAxis::R,
        from: Length::ZERO,
        to: Length::from_whole_mm(100),
    };
    assert!(matches!(narrower.apply(&with), Err(ApplyError::Nothing(_))));
    let higher = format!("r axis from 0 to 200 on {id}");
    let higher = Change::parse(&with, &higher).unwrap().apply(&with).unwrap();
    let r = higher.brakes[0].gauge.r.unwrap();
    assert_eq!(
        (r.from, r.to),
        (Length::from_whole_mm(-20), Length::from_whole_mm(200))
    );
    let fingers = format!("powered fingers on {id}");
    let driven = Change::parse(&shop, &fingers)
        .unwrap()
        .apply(&shop)
        .unwrap();
    assert_eq!(driven.brakes[0].gauge.z, ZDrive::Powered);
}

fn time(hour: u32, minute: u32) -> NaiveTime {
    NaiveTime::from_hms_opt(hour, minute, 0).unwrap()
}

fn span(from: (u32, u32), to: (u32, u32)) -> LocalSpan {
    LocalSpan {
        start: time(from.0, from.1),
        end: time(to.0, to.1),
    }
}

/// A shop whose brakes and people are all on one calendar.
fn on_one_calendar(shifts: &[(&[Weekday], LocalSpan, Option<LocalSpan>)]) -> Shop {
    let mut shop = shop(1);
    let id = CalendarId::new("hours").unwrap();
    shop.calendars.push(Calendar {
        id: id.clone(),
        shifts: shifts
            .iter()
            .map(|(days, span, pause)| Shift {
                name: "day".to_owned(),
                days: days.to_vec(),
                span: *span,
                breaks: pause.iter().copied().collect(),
                overtime: false,
            })
            .collect(),
        closed: Vec::new(),
        extra: Vec::new(),
    });
    for brake in &mut shop.brakes {
        brake.calendar = id.clone();
    }
    for person in &mut shop.people {
        person.calendar = id.clone();
    }
    shop
}

const TWO_DAYS: &[Weekday] = &[Weekday::Mon, Weekday::Tue];

#[test]
fn a_further_shift_follows_the_last_with_a_crew_of_its_own() {
    let shop = on_one_calendar(&[(TWO_DAYS, span((6, 0), (14, 0)), Some(span((9, 0), (9, 15))))]);
    let change = Change::parse(&shop, "further shift on hours").unwrap();
    let with = change.apply(&shop).unwrap();
    consistent(&with);
    assert_eq!(with.people.len(), 2 * shop.people.len());
    let longer = with.calendar(&with.brakes[0].calendar).unwrap();
    assert_eq!(longer.shifts.len(), 3);
    for (shift, day) in longer.shifts[1..].iter().zip(TWO_DAYS) {
        assert_eq!(shift.days, [*day]);
        assert_eq!(shift.span, span((14, 0), (22, 0)));
        assert_eq!(shift.breaks, [span((17, 0), (17, 15))]);
    }
    let theirs = with
        .calendar(&with.people.last().unwrap().calendar)
        .unwrap();
    assert_eq!(theirs.shifts, longer.shifts[1..]);
    let hours = |shop: &Shop| shop.calendar(&CalendarId::new("hours").unwrap()).cloned();
    assert_eq!(
        hours(&with),
        hours(&shop),
        "others may be on the old calendar"
    );
}

#[test]
fn a_further_shift_is_as_long_as_the_night_allows() {
    // To 22:00, and again from 04:00: six hours, over midnight into Tuesday. Tuesday's own further
    // shift has nothing behind it and lasts its twelve hours.
    let shop = on_one_calendar(&[
        (
            &[Weekday::Mon],
            span((10, 0), (22, 0)),
            Some(span((21, 0), (21, 30))),
        ),
        (&[Weekday::Tue], span((4, 0), (16, 0)), None),
    ]);
    let change = Change::parse(&shop, "further shift on hours").unwrap();
    let with = change.apply(&shop).unwrap();
    let longer = with.calendar(&with.brakes[0].calendar).unwrap();
    assert_eq!(longer.shifts[2].span, span((22, 0), (4, 0)));
    assert_eq!(longer.shifts[2].breaks, [], "it would lie behind the end");
    assert_eq!(longer.shifts[3].span, span((16, 0), (4, 0)));
    // A shift that ends after midnight is followed on the next day.
    let late = on_one_calendar(&[(
        &[Weekday::Mon],
        span((17, 0), (1, 0)),
        Some(span((0, 0), (0, 15))),
    )]);
    let with = change.apply(&late).unwrap();
    let longer = with.calendar(&with.brakes[0].calendar).unwrap();
    assert_eq!(longer.shifts[1].days, [Weekday::Tue]);
    assert_eq!(longer.shifts[1].span, span((1, 0), (9, 0)));
    assert_eq!(longer.shifts[1].breaks, [span((8, 0), (8, 15))]);
    // Round the clock there is no room.
    let all = [
        Weekday::Mon,
        Weekday::Tue,
        Weekday::Wed,
        Weekday::Thu,
        Weekday::Fri,
        Weekday::Sat,
        Weekday::Sun,
    ];
    let full = on_one_calendar(&[(&all, span((6, 0), (5, 0)), None)]);
    assert!(matches!(
        change.apply(&full),
        Err(ApplyError::Impossible(_))
    ));
}

#[test]
fn another_brake_has_the_people_and_programs_of_the_first() {
    let shop = shop(2);
    let like = shop
        .setups
        .first()
        .map_or(&shop.brakes[0].id, |setup| &setup.brake);
    let with = Change::AnotherBrake { like: like.clone() }
        .apply(&shop)
        .unwrap();
    consistent(&with);
    let twin = with.brakes.last().unwrap();
    let on = |id| {
        shop.people
            .iter()
            .filter(|one| one.brakes.contains(id))
            .count()
    };
    let now = with
        .people
        .iter()
        .filter(|one| one.brakes.contains(&twin.id))
        .count();
    assert_eq!(now, on(like));
    let programs = |shop: &Shop, id: &units::BrakeId| {
        shop.setups.iter().filter(|one| one.brake == *id).count()
    };
    assert_eq!(programs(&with, &twin.id), programs(&shop, like));
    assert!(programs(&shop, like) > 0);
}

#[test]
fn without_a_die_go_its_sections_programs_and_stations() {
    let shop = shop(3);
    let mut taken = 0;
    for profile in &shop.profiles {
        let Profile::Die(die) = profile else { continue };
        let change = Change::Without {
            die: die.id.clone(),
        };
        let mut free = shop.clone();
        free.floor.running.clear();
        let with = change.apply(&free).unwrap();
        consistent(&with);
        assert!(with.die(&die.id).is_none());
        assert_eq!(with.profiles.len() + 1, shop.profiles.len());
        let stations = &free.floor.stations;
        let stands = stations.iter().find(|one: &&BedStation| one.die == die.id);
        if let Some(station) = stands {
            taken += 1;
            free.floor.running.push(RunningOrder {
                brake: station.brake.clone(),
                order: free.orders[0].id.clone(),
                pieces_done: 0,
            });
            assert!(matches!(
                change.apply(&free),
                Err(ApplyError::Impossible(_))
            ));
        }
    }
    assert!(taken > 0, "a die stands somewhere");
}

#[test]
fn words_that_are_no_change_are_answered_with_those_that_are() {
    let shop = shop(1);
    let error = |words: &str| Change::parse(&shop, words).unwrap_err().to_string();
    assert!(error("buy something").contains("another set of PROFILE"));
    assert!(error("Q axis from 1 to 2 on B1").contains("R axis from"));
    let unknown = error("another brake like NONE");
    assert!(unknown.contains(shop.brakes[0].id.as_str()), "{unknown}");
    assert!(error("another set of NONE").contains("no punch, die or block"));
    assert!(error("further shift on NONE").contains("calendar of a brake"));
    assert!(error("sections more of X").contains("sections LENGTH"));
}
