//! A shop in which what a change costs depends on the two runs it lies between, and on nothing else:
//! a setup matrix says all there is to say of it.
//!
//! Every part is bent over one station of one length, and a bed holds one station. There are more
//! sets of tools than beds, each part has one order, everybody is always there, and nobody works on
//! two brakes.

use crate::dice::Dice;
use crate::parts::{bend, blank};
use crate::recipe::{Features, Recipe, Sections, Tools};
use crate::shop::invent;
use chrono::{NaiveTime, Weekday};
use model::{Calendar, Edge, LocalSpan, Part, Person, Role, Shift, Shop};
use units::{CalendarId, Length, PersonId, Seconds};

/// Length of every bend, and of the beds: two stations of the one do not stand on the other.
const BEND: Length = Length::from_whole_mm(900);
const BED: Length = Length::from_whole_mm(1_250);

/// Brakes whose share of tools the shop has.
const TOOLED_FOR: usize = 6;

/// Invents such a shop.
#[must_use]
pub fn pairwise(orders: usize, brakes: usize, due_tightness: f64, seed: u64) -> Shop {
    let mut shop = invent(&Recipe {
        brakes: TOOLED_FOR.max(brakes),
        parts: orders,
        due_tightness,
        tools: Tools::Few,
        tooled: 0.0,
        features: Features::default(),
        ..Recipe::bed(orders, due_tightness, Sections::Ample, seed)
    });
    shop.brakes.truncate(brakes);
    let kept: Vec<_> = shop.brakes.iter().map(|brake| brake.id.clone()).collect();
    shop.setups.clear();
    shop.calendars = vec![always()];
    for brake in &mut shop.brakes {
        brake.bed = BED;
        brake.calendar = always().id;
    }
    let own = |(number, brake): (usize, &units::BrakeId)| Person {
        id: PersonId::new(&format!("P{}", number + 1)).expect("an id"),
        role: Role::Both,
        calendar: always().id,
        brakes: vec![brake.clone()],
    };
    shop.people = kept.iter().enumerate().map(own).collect();
    let mut dice = Dice::new(seed ^ 0x9a12);
    for part in &mut shop.parts {
        simplify(part, &mut dice);
    }
    for (order, part) in shop.orders.iter_mut().zip(&shop.parts) {
        order.part = part.id.clone();
    }
    let rules = &mut shop.rules;
    rules.quiet_before_shift_end = Seconds::ZERO;
    rules.changeover_may_span_shifts = true;
    rules.run_may_span_shifts = true;
    shop
}

/// One to four bends of one length, of legs that the part's sheet allows.
fn simplify(part: &mut Part, dice: &mut Dice) {
    let shortest = part.bends.iter().map(|bend| bend.leg).max().unwrap_or(BEND);
    let leg = shortest.min(Length::from_whole_mm(60)) + dice.mm(0, 20);
    let edges = [Edge::A, Edge::B];
    part.bends = (1..=dice.count(1, 4))
        .zip(1_u8..)
        .map(|(at, number)| bend(number, BEND, leg, edges[at % 2]))
        .collect();
    part.blank = blank(&part.bends);
    part.crew = None;
    part.proven_only = false;
}

/// Day and night, every day.
fn always() -> Calendar {
    let midnight = NaiveTime::MIN;
    Calendar {
        id: CalendarId::new("always").expect("an id"),
        shifts: vec![Shift {
            name: "always".to_owned(),
            days: vec![
                Weekday::Mon,
                Weekday::Tue,
                Weekday::Wed,
                Weekday::Thu,
                Weekday::Fri,
                Weekday::Sat,
                Weekday::Sun,
            ],
            span: LocalSpan {
                start: midnight,
                end: midnight,
            },
            breaks: Vec::new(),
            overtime: false,
        }],
        closed: Vec::new(),
        extra: Vec::new(),
    }
}
