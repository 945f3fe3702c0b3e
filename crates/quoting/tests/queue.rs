//! The playing itself, as a queue before one brake, against closed forms.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::cast_precision_loss)]

use chrono::{NaiveTime, Weekday};
use model::{Calendar, Chance, LocalSpan, Role, Shift, Shop};
use quoting::{Day, queue};
use schedule::{Floor, PlannedTimes, Played, Replay};
use testkit::{Recipe, Sections, invent};
use units::{CalendarId, Moment, Seconds, Window};

const JOBS: usize = 400_000;
/// Mean time of a job.
const TE: f64 = 1_200.0;

/// One brake and one person who are always there.
fn always_open() -> Shop {
    let mut shop = invent(&Recipe::bed(8, 0.0, Sections::Ample, 1));
    let midnight = NaiveTime::MIN;
    let days = [
        Weekday::Mon,
        Weekday::Tue,
        Weekday::Wed,
        Weekday::Thu,
        Weekday::Fri,
        Weekday::Sat,
        Weekday::Sun,
    ];
    let id = CalendarId::new("always").unwrap();
    shop.calendars = vec![Calendar {
        id: id.clone(),
        shifts: vec![Shift {
            name: "all day".into(),
            days: days.to_vec(),
            span: LocalSpan {
                start: midnight,
                end: midnight,
            },
            breaks: Vec::new(),
            overtime: false,
        }],
        closed: Vec::new(),
        extra: Vec::new(),
    }];
    shop.brakes.truncate(1);
    shop.brakes[0].calendar = id.clone();
    shop.people.truncate(1);
    shop.people[0].calendar = id;
    shop.people[0].role = Role::Both;
    shop.people[0].brakes = vec![shop.brakes[0].id.clone()];
    shop.floor.down.clear();
    shop.rules.inspector_calendar = None;
    shop.rules.run_may_span_shifts = true;
    shop
}

/// Draws of an exponential with mean 1: the gaps between stops of a course that only stops.
struct Exponential(Day);

impl Exponential {
    fn new(seed: u64) -> Exponential {
        let chance = Chance {
            hours_between_stops: 1_000.0,
            repair_hours: 1.0,
            ..Chance::NONE
        };
        Exponential(Day::new(&chance, seed, 0))
    }

    fn draw(&mut self, mean: f64) -> f64 {
        self.0.exponential(mean)
    }
}

fn whole(seconds: f64) -> Seconds {
    #[allow(clippy::cast_possible_truncation)]
    Seconds(seconds.round() as i64)
}

/// Jobs whose gaps are drawn by `gap` and whose planned times by `time`.
fn jobs(mut gap: impl FnMut() -> f64, mut time: impl FnMut() -> f64) -> Vec<(Moment, Seconds)> {
    let mut at = 0.0;
    let one = |_| {
        at += gap();
        (Moment(whole(at).0), whole(time()).max(Seconds(1)))
    };
    (0..JOBS).map(one).collect()
}

/// Mean time from arrival to end, and the mean number there, from the ends alone.
fn time_in_system(jobs: &[(Moment, Seconds)], floor: &mut dyn Floor) -> (f64, f64) {
    let shop = always_open();
    let last = jobs.last().unwrap().0;
    let window = Window {
        start: Moment(0),
        end: Moment(last.0 + 400 * 86_400),
    };
    let replay = Replay::queue(&shop, window, jobs);
    let mut played = Played::default();
    replay.play(floor, &[], None, &mut played);
    let mut total = 0.0;
    let mut changes: Vec<(i64, i64)> = Vec::with_capacity(2 * jobs.len());
    for (item, (arrival, _)) in jobs.iter().enumerate() {
        let end = played.end(item).expect("every job is done");
        total += (end - *arrival).0 as f64;
        changes.extend([(arrival.0, 1), (end.0, -1)]);
    }
    // The number there, added up over time as a watchman with a clock would.
    changes.sort_unstable();
    let (mut there, mut area, mut before) = (0_i64, 0.0, 0_i64);
    for (at, change) in changes {
        area += there as f64 * (at - before) as f64;
        (there, before) = (there + change, at);
    }
    (total / jobs.len() as f64, area / before as f64)
}

#[track_caller]
fn near(measured: f64, expected: f64, within: f64) {
    let off = (measured / expected - 1.0).abs();
    assert!(
        off < within,
        "{measured:.1}, not {expected:.1}: {off:.3} off"
    );
}

fn poisson(u: f64, seed: u64) -> impl FnMut() -> f64 {
    let mut dice = Exponential::new(seed);
    move || dice.draw(TE / u)
}

#[test]
fn exponential_times_wait_as_they_should() {
    for u in [0.5, 0.7, 0.8] {
        let mut dice = Exponential::new(2);
        let jobs = jobs(poisson(u, 1), || dice.draw(TE));
        let (in_system, _) = time_in_system(&jobs, &mut PlannedTimes);
        near(in_system - TE, queue::wait_exponential(TE, u), 0.05);
    }
}

#[test]
fn times_that_never_vary_wait_half_as_long() {
    for u in [0.5, 0.8, 0.9] {
        let jobs = jobs(poisson(u, 3), || TE);
        let (in_system, _) = time_in_system(&jobs, &mut PlannedTimes);
        near(in_system - TE, queue::wait_poisson(TE, u, 0.0), 0.05);
    }
}

/// Times as a quote draws them: lognormal, c² 1; their mean is the median times √(1 + c²).
#[test]
fn lognormal_times_wait_as_pollaczek_and_khinchine_say() {
    let (u, spread) = (0.7, 1.0_f64);
    let chance = Chance {
        run_spread: spread,
        ..Chance::NONE
    };
    let median = TE / (1.0 + spread * spread).sqrt();
    let jobs = jobs(poisson(u, 5), || median);
    let (in_system, _) = time_in_system(&jobs, &mut Day::new(&chance, 6, 0));
    near(
        in_system - TE,
        queue::wait_poisson(TE, u, spread * spread),
        0.05,
    );
}

/// Brakes that stop: longer times, and much longer queues.
#[test]
fn stops_make_the_queue_longer_as_they_should() {
    let chance = Chance {
        hours_between_stops: 4.0,
        repair_hours: 0.5,
        ..Chance::NONE
    };
    let t0 = 1_000.0;
    let (te, ce2) = queue::with_stops(t0, 0.0, 4.0 * 3_600.0, 1_800.0);
    let u = 0.7;
    let mut dice = Exponential::new(7);
    let jobs = jobs(|| dice.draw(te / u), || t0);
    let (in_system, _) = time_in_system(&jobs, &mut Day::new(&chance, 8, 0));
    near(in_system - te, queue::wait_poisson(te, u, ce2), 0.05);
}

/// Regular arrivals, lognormal times: Kingman's is an approximation and lies above, the more the less
/// busy; for the regular arrivals here less than a tenth at 0.9.
#[test]
fn kingman_is_near_when_busy() {
    let (u, spread) = (0.9, 1.0_f64);
    let chance = Chance {
        run_spread: spread,
        ..Chance::NONE
    };
    let median = TE / (1.0 + spread * spread).sqrt();
    let jobs = jobs(|| TE / u, || median);
    let (in_system, _) = time_in_system(&jobs, &mut Day::new(&chance, 9, 0));
    near(
        in_system - TE,
        queue::wait(TE, u, 0.0, spread * spread),
        0.1,
    );
}

/// Little's law holds to the rounding: the number there, counted over time, is flow times time.
#[test]
fn flow_times_time_is_what_is_there() {
    let mut dice = Exponential::new(11);
    let jobs = jobs(poisson(0.8, 10), || dice.draw(TE));
    let (in_system, there) = time_in_system(&jobs, &mut PlannedTimes);
    let flow = jobs.len() as f64 / jobs.last().unwrap().0.0 as f64;
    near(there, queue::work_in_progress(flow, in_system), 0.001);
}
