//! More people, and more hours.

use super::{ApplyError, fresh, missing};
use chrono::{NaiveTime, Timelike, Weekday};
use model::{Calendar, LocalSpan, Person, Shift, Shop};
use units::{BrakeId, CalendarId, PersonId};

const DAY: u32 = 86_400;

/// A shorter shift is not worth coming in for.
const SHIFT_LEAST: u32 = 2 * 3_600;

pub(super) fn another_person(shop: &mut Shop, like: &PersonId) -> Result<(), ApplyError> {
    let found = shop.people.iter().find(|person| person.id == *like);
    let Some(person) = found.cloned() else {
        return Err(missing("person", like));
    };
    hire(shop, person)
}

fn hire(shop: &mut Shop, like: Person) -> Result<(), ApplyError> {
    let id = fresh(like.id.as_str(), PersonId::new, |id| {
        shop.people.iter().any(|person| person.id == *id)
    })?;
    shop.people.push(Person { id, ..like });
    Ok(())
}

pub(super) fn train(shop: &mut Shop, person: &PersonId, brake: &BrakeId) -> Result<(), ApplyError> {
    if shop.brake(brake).is_none() {
        return Err(missing("brake", brake));
    }
    let found = shop.people.iter_mut().find(|one| one.id == *person);
    let Some(one) = found else {
        return Err(missing("person", person));
    };
    if one.brakes.contains(brake) {
        return Err(ApplyError::Nothing(format!(
            "{person} is trained on {brake} already"
        )));
    }
    one.brakes.push(brake.clone());
    Ok(())
}

/// A shift in seconds after the midnight before it.
#[derive(Clone, Copy)]
struct Span {
    start: u32,
    end: u32,
}

impl Span {
    fn of(span: LocalSpan) -> Span {
        let start = span.start.num_seconds_from_midnight();
        let end = span.end.num_seconds_from_midnight();
        Span {
            start,
            end: if end <= start { end + DAY } else { end },
        }
    }

    fn overlaps(self, other: Span) -> bool {
        self.start < other.end && other.start < self.end
    }

    /// As local time; what lies on the next day loses the day.
    fn local(self) -> Option<LocalSpan> {
        let time = |seconds: u32| NaiveTime::from_num_seconds_from_midnight_opt(seconds % DAY, 0);
        Some(LocalSpan {
            start: time(self.start)?,
            end: time(self.end)?,
        })
    }
}

const WEEK: [Weekday; 7] = [
    Weekday::Mon,
    Weekday::Tue,
    Weekday::Wed,
    Weekday::Thu,
    Weekday::Fri,
    Weekday::Sat,
    Weekday::Sun,
];

fn starting_on(calendar: &Calendar, day: Weekday) -> impl Iterator<Item = &Shift> {
    let shifts = calendar.shifts.iter();
    shifts.filter(move |shift| shift.days.contains(&day))
}

/// Puts a shift behind the last of each weekday: as long and with the same breaks, or shorter where
/// the next day begins sooner. The brakes of the calendar get a calendar of their own with it, for
/// others may be on the old one. Whoever works in the shift it follows has a twin in it, trained on
/// those brakes.
pub(super) fn further_shift(shop: &mut Shop, id: &CalendarId) -> Result<(), ApplyError> {
    let Some(old) = shop.calendar(id).cloned() else {
        return Err(missing("calendar", id));
    };
    let on_it = shop.brakes.iter().filter(|brake| brake.calendar == *id);
    let brakes: Vec<BrakeId> = on_it.map(|brake| brake.id.clone()).collect();
    if brakes.is_empty() {
        return Err(ApplyError::Nothing(format!("no brake is on {id}")));
    }
    let mut further = Vec::new();
    let mut crew: Vec<Person> = Vec::new();
    for day in WEEK {
        let last = starting_on(&old, day).max_by_key(|shift| Span::of(shift.span).end);
        let Some((last, shift)) = last.and_then(|last| Some((last, behind(&old, day, last)?)))
        else {
            continue;
        };
        further.push(shift);
        for person in working_in(shop, &brakes, day, Span::of(last.span)) {
            if !crew.iter().any(|one| one.id == person.id) {
                crew.push(person);
            }
        }
    }
    if further.is_empty() {
        return Err(ApplyError::Impossible(format!(
            "{id} leaves no two hours between the last shift of a day and the next day's first"
        )));
    }
    if crew.is_empty() {
        return Err(ApplyError::Impossible(format!(
            "nobody works in the last shift of {id} whom more could be hired like"
        )));
    }
    let longer = calendar_id(shop, &old)?;
    shop.calendars.push(Calendar {
        id: longer.clone(),
        shifts: old.shifts.iter().chain(&further).cloned().collect(),
        ..old.clone()
    });
    let theirs = calendar_id(shop, &old)?;
    shop.calendars.push(Calendar {
        id: theirs.clone(),
        shifts: further,
        extra: Vec::new(),
        ..old
    });
    for brake in &mut shop.brakes {
        if brake.calendar == *id {
            brake.calendar = longer.clone();
        }
    }
    for mut person in crew {
        person.calendar = theirs.clone();
        hire(shop, person)?;
    }
    Ok(())
}

fn calendar_id(shop: &Shop, like: &Calendar) -> Result<CalendarId, ApplyError> {
    fresh(like.id.as_str(), CalendarId::new, |id| {
        shop.calendar(id).is_some()
    })
}

/// The shift behind a day's last one, when there is room for it.
fn behind(calendar: &Calendar, day: Weekday, last: &Shift) -> Option<Shift> {
    let before = Span::of(last.span);
    let next = starting_on(calendar, day.succ())
        .map(|shift| Span::of(shift.span).start + DAY)
        .min()
        .unwrap_or(u32::MAX);
    let length = (before.end - before.start).min(next.saturating_sub(before.end));
    if length < SHIFT_LEAST {
        return None;
    }
    let new = Span {
        start: before.end,
        end: before.end + length,
    };
    let by = before.end - before.start;
    let breaks = last.breaks.iter().filter_map(|pause| {
        // A break whose clock time is before its shift's start lies on the next day.
        let pause = Span::of(*pause);
        let later = if pause.start < before.start { DAY } else { 0 } + by;
        let pause = Span {
            start: pause.start + later,
            end: pause.end + later,
        };
        (pause.end <= new.end).then(|| pause.local()).flatten()
    });
    Some(Shift {
        name: "further".to_owned(),
        // A last shift that ends after midnight is followed on the next day.
        days: vec![if new.start >= DAY { day.succ() } else { day }],
        span: new.local()?,
        breaks: breaks.collect(),
        overtime: false,
    })
}

/// Who is there on a weekday at some time of a shift and trained on one of the brakes; with no other
/// training than on these.
fn working_in(shop: &Shop, brakes: &[BrakeId], day: Weekday, shift: Span) -> Vec<Person> {
    let there = |person: &&Person| {
        shop.calendar(&person.calendar).is_some_and(|calendar| {
            starting_on(calendar, day).any(|own| Span::of(own.span).overlaps(shift))
        })
    };
    let people = shop.people.iter().filter(there).cloned();
    let mut people: Vec<Person> = people.collect();
    for person in &mut people {
        person.brakes.retain(|brake| brakes.contains(brake));
    }
    people.retain(|person| !person.brakes.is_empty());
    people
}
