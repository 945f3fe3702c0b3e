//! `quote`: dates with odds, what they cost, and what stands in the way.

use crate::program::{Scratch, brakewright, demo_plan};
use quoting::{Job, Wanted};
use serde_json::Value;
use std::fs;
use std::sync::atomic::AtomicBool;
use testkit::{Recipe, invent};
use units::Seconds;
use workshop::{Budget, PlanAsk, QuoteAsk, make_plan};

/// A folder with the demo shop's plan in it.
fn with_plan() -> (Scratch, String) {
    let scratch = Scratch::new();
    fs::write(scratch.path("plan.json"), demo_plan()).unwrap();
    let plan = scratch.text("plan.json");
    (scratch, plan)
}

fn described(plan: &str) -> Vec<&str> {
    vec![
        "quote",
        "demo-shop",
        "--bends",
        "12",
        "--length",
        "800",
        "--width",
        "650",
        "--thickness",
        "2",
        "--material",
        "1.4301",
        "--quantity",
        "80",
        "--after",
        plan,
    ]
}

fn known<'a>(shop: &'a str, plan: &'a str) -> Vec<&'a str> {
    vec![
        "quote",
        shop,
        "--part",
        "CH-203",
        "--quantity",
        "80",
        "--after",
        plan,
        "--samples",
        "1000",
    ]
}

fn text<'v>(value: &'v Value, at: &str) -> &'v str {
    let found = value.pointer(at).and_then(Value::as_str);
    found.unwrap_or_else(|| panic!("{at}: {value:#}"))
}

fn whole(value: &Value, at: &str) -> i64 {
    let found = value.pointer(at).and_then(Value::as_i64);
    found.unwrap_or_else(|| panic!("{at}: {value:#}"))
}

/// Seconds since 1970 of a time in the JSON.
fn moment(value: &Value, at: &str) -> i64 {
    let time = chrono::DateTime::parse_from_rfc3339(text(value, at));
    time.unwrap_or_else(|error| panic!("{at}: {error}"))
        .timestamp()
}

#[test]
fn a_part_of_the_shop_gets_dates_hours_and_a_price() {
    let (_scratch, plan) = with_plan();
    let answer = brakewright(&[&known("demo-shop", &plan)[..], &["--json"]].concat());
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    let quote = answer.json();
    assert_eq!(text(&quote, "/format"), "brakewright.quote/1");
    assert_eq!(text(&quote, "/into"), "plan-that-stands");
    let dates: Vec<i64> = (0..3)
        .map(|n| moment(&quote, &format!("/odds/by/{n}/done_by")))
        .collect();
    assert!(dates.windows(2).all(|two| two[0] < two[1]), "{dates:?}");
    assert!(moment(&quote, "/place/end") < dates[0]);
    assert!(
        text(&quote, "/place/end").ends_with("+02:00"),
        "the shop's own time"
    );
    // What the run takes is what the cycle says: 80 pieces and three checks of 60 s [computed].
    let cycle = whole(&quote, "/place/cycle_ms");
    assert_eq!(
        whole(&quote, "/place/run_seconds"),
        (80 * cycle + 999) / 1_000 + 180
    );
    let steps = quote["place"]["steps"].as_array().unwrap();
    let sum: i64 = steps.iter().map(|step| whole(step, "/seconds")).sum();
    assert_eq!(whole(&quote, "/place/changeover_seconds"), sum);
    // Whoever ends first costs the others more.
    assert!(moment(&quote, "/earliest/end") < moment(&quote, "/place/end"));
    let late = |of: &str| whole(&quote, &format!("/{of}/price/others_late_seconds"));
    assert!(late("earliest") > late("place"));
    let later = quote["place"]["moved"].as_array().unwrap();
    let count = later
        .iter()
        .filter(|one| moment(one, "/ends_now") > moment(one, "/ended"))
        .count();
    assert_eq!(whole(&quote, "/place/price/orders_later"), count as i64);
    // B1 is too short, B5 has no small V; the others can.
    let named = |list: &str| -> Vec<String> {
        let mut brakes: Vec<String> = quote[list]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| text(one, "/brake").to_owned())
            .collect();
        brakes.dedup();
        brakes
    };
    assert_eq!(named("able"), ["B2", "B3", "B4"]);
    assert_eq!(named("refusals"), ["B1", "B5"]);
}

#[test]
fn a_rough_description_becomes_an_invented_part_and_says_so() {
    let (_scratch, plan) = with_plan();
    let answer = brakewright(&described(&plan));
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    for words in [
        "Assumed, as there is no drawing: an invented part",
        "equal flanges of 50 mm",
        "50 %",
        "80 %",
        "95 %",
        "From ",
        "Invented example data",
        "Caution: bending can maim.",
        "common practice without a source",
    ] {
        assert!(answer.out.contains(words), "{words}: {}", answer.out);
    }
    for line in answer.out.lines() {
        let neat = line.chars().count() <= 120 && !line.ends_with(' ');
        assert!(neat, "{line:?}");
    }
    let quote = brakewright(&[&described(&plan)[..], &["--json"]].concat()).json();
    assert_eq!(quote["part"]["described"], true);
    assert!(quote["assumed"].as_array().unwrap().len() >= 5);
    assert_eq!(quote["part"]["bends"], 12);
}

#[test]
fn the_same_call_gives_the_same_bytes_and_another_seed_other_dice() {
    let (_scratch, plan) = with_plan();
    let call = |seed: &str| {
        brakewright(&[&known("demo-shop", &plan)[..], &["--json", "--seed", seed]].concat()).out
    };
    let first = call("1");
    assert_eq!(first, call("1"));
    let (one, two): (Value, Value) = (
        serde_json::from_str(&first).unwrap(),
        serde_json::from_str(&call("2")).unwrap(),
    );
    assert_ne!(one["odds"]["by"], two["odds"]["by"]);
    // The plan stands: the place does not hang on the dice.
    assert_eq!(one["place"], two["place"]);
}

/// The demo shop with other chances.
fn with_chance(scratch: &Scratch, run: f64, stop_hours: f64, rush: f64) -> String {
    let folder = scratch.copy_of("demo-shop");
    let file = folder.join("shop.toml");
    let settings = fs::read_to_string(&file).unwrap();
    let keys = format!(
        "[rules]\nrun_spread = {run}\nchangeover_spread = {run}\nrush_orders_per_week = {rush}\n\
         brake_stop_hours = {stop_hours}\n"
    );
    fs::write(&file, settings.replacen("[rules]\n", &keys, 1)).unwrap();
    folder.to_str().unwrap().to_owned()
}

#[test]
fn where_nothing_varies_the_date_is_the_plans_own() {
    let (scratch, plan) = with_plan();
    let shop = with_chance(&scratch, 0.0, 0.0, 0.0);
    let quote = brakewright(&[&known(&shop, &plan)[..], &["--json"]].concat()).json();
    let planned = moment(&quote, "/odds/as_planned/moment");
    assert_eq!(planned, moment(&quote, "/place/end"));
    for n in 0..3 {
        let by = moment(&quote, &format!("/odds/by/{n}/done_by"));
        assert!((0..60).contains(&(by - planned)), "to the full minute");
    }
    assert_eq!(quote["odds"]["as_planned"]["odds"], 1.0);
}

#[test]
fn each_chance_moves_the_date() {
    let (scratch, plan) = with_plan();
    let last = |run: f64, stops: f64, rush: f64| {
        let shop = with_chance(&scratch, run, stops, rush);
        let quote = brakewright(&[&known(&shop, &plan)[..], &["--json"]].concat()).json();
        moment(&quote, "/odds/by/2/done_by")
    };
    let none = last(0.0, 0.0, 0.0);
    for (run, stops, rush) in [(0.3, 0.0, 0.0), (0.0, 40.0, 0.0), (0.0, 0.0, 4.0)] {
        let later = last(run, stops, rush);
        assert!(later > none + 3_600, "{run} {stops} {rush}");
    }
}

#[test]
fn a_wish_gets_its_odds_and_moves_nothing() {
    let (_scratch, plan) = with_plan();
    let call = |due: &str| {
        brakewright(&[&known("demo-shop", &plan)[..], &["--json", "--due", due]].concat()).json()
    };
    let (soon, far) = (call("2027-03-23T08:00"), call("2027-05-20"));
    assert_eq!(soon["odds"]["due"]["odds"], 0.0);
    assert_eq!(far["odds"]["due"]["odds"], 1.0);
    assert_eq!(soon["place"], far["place"]);
}

#[test]
fn what_no_brake_can_bend_has_every_brakes_reason() {
    let (_scratch, plan) = with_plan();
    let answer = brakewright(&[
        "quote",
        "demo-shop",
        "--part",
        "CH-901",
        "--quantity",
        "6",
        "--after",
        &plan,
        "--json",
    ]);
    assert_eq!(answer.code, Some(1), "{}", answer.err);
    let quote = answer.json();
    assert!(quote["place"].is_null() && quote["odds"].is_null());
    assert_eq!(quote["able"].as_array().unwrap().len(), 0);
    let refusals = quote["refusals"].as_array().unwrap();
    for brake in ["B1", "B2", "B3", "B4", "B5"] {
        assert!(refusals.iter().any(|one| one["brake"] == brake), "{brake}");
    }
    assert!(
        answer.err.contains("a person has to decide"),
        "{}",
        answer.err
    );
}

#[test]
fn calls_that_cannot_be_meant_are_refused() {
    let rough = |thickness: &'static str, material: &'static str, flange: &'static str| {
        vec![
            "quote",
            "demo-shop",
            "--bends",
            "4",
            "--length",
            "500",
            "--width",
            "200",
            "--thickness",
            thickness,
            "--material",
            material,
            "--flange",
            flange,
            "--quantity",
            "5",
            "--iterations",
            "1",
        ]
    };
    let cases: [(Vec<&str>, &str); 6] = [
        (vec!["quote", "demo-shop", "--quantity", "5"], "--part"),
        (
            vec!["quote", "demo-shop", "--bends", "3", "--quantity", "5"],
            "--length",
        ),
        (
            vec![
                "quote",
                "demo-shop",
                "--part",
                "NO-1",
                "--quantity",
                "5",
                "--iterations",
                "1",
            ],
            "no part",
        ),
        (rough("thin", "1.4301", "20"), "--thickness"),
        (rough("2", "gold", "20"), "no material gold"),
        (rough("2", "1.4301", "60"), "the blank is 200 mm wide"),
    ];
    for (call, words) in cases {
        let answer = brakewright(&call);
        assert_eq!(answer.code, Some(2), "{call:?}: {}", answer.err);
        assert!(answer.err.contains(words), "{words}: {}", answer.err);
        assert!(answer.out.is_empty());
    }
}

/// In shops in which anything may occur the judge accepts every plan with a job in it, also hours into
/// the plan that stands, and the dates rise with the odds.
#[test]
fn the_judge_accepts_every_plan_with_a_job_in_it() {
    let never = AtomicBool::new(false);
    let mut placed = 0;
    for seed in 0..40 {
        let shop = invent(&Recipe::anything(seed));
        let from = shop.as_of.unwrap();
        let plan = PlanAsk {
            from,
            seed,
            budget: Budget::Steps(20),
        };
        let plan = make_plan(&shop, plan, None, &never, &mut ()).unwrap().plan;
        let part = &shop.parts[usize::try_from(seed).unwrap() % shop.parts.len()];
        for later in [0, 30 * 3_600] {
            let from = from + Seconds(later);
            let ask = QuoteAsk {
                job: Job {
                    wanted: Wanted::Known(part.id.clone()),
                    quantity: 30,
                    ready: from + Seconds(3_600),
                    weight: 3,
                },
                from,
                seed,
                samples: 100,
                chance: None,
            };
            let quote = workshop::quote(&shop, &ask, &plan);
            let quote = quote.unwrap_or_else(|error| panic!("seed {seed}: {error}"));
            let answer = &quote.answer;
            let Some(place) = &answer.place else {
                assert!(quote.odds.is_none(), "seed {seed}");
                continue;
            };
            placed += 1;
            assert!(place.plan.verified && place.run.start >= ask.job.ready);
            let odds = quote.odds.unwrap();
            let by: Vec<_> = [0.5, 0.8, 0.95].map(|share| odds.by(share)).into();
            let rising = by
                .windows(2)
                .all(|two| two[1].is_none() || two[0] <= two[1]);
            assert!(rising, "seed {seed}: {by:?}");
        }
    }
    assert!(placed > 40, "{placed}");
}

/// Tiny shop, 40 of B-1 at a minute each, behind another order with the same tools: no changeover, and
/// the orders behind it 40 minutes later. Two of those were late already: 2 x 40 min. Set up in 15 min,
/// a piece takes (15 + q)/q min; within a tenth of 1.001 (a check of a minute each thousand) from 149 on
/// [computed].
#[test]
fn what_a_pencil_can_do() {
    let quote = brakewright(&[
        "quote",
        "tests/tiny-shop",
        "--part",
        "B-1",
        "--quantity",
        "40",
        "--iterations",
        "200",
        "--json",
    ])
    .json();
    assert_eq!(text(&quote, "/into"), "plan-made-now");
    assert_eq!(whole(&quote, "/place/changeover_seconds"), 0);
    assert_eq!(whole(&quote, "/place/run_seconds"), 2_400);
    assert_eq!(whole(&quote, "/place/price/changeover_seconds"), 0);
    assert_eq!(whole(&quote, "/place/price/others_late_seconds"), 4_800);
    for (at, later) in quote["place"]["moved"]
        .as_array()
        .unwrap()
        .iter()
        .enumerate()
    {
        let by = moment(later, "/ends_now") - moment(later, "/ended");
        assert_eq!(by, 2_400, "{at}: {later:#}");
    }
    assert_eq!(whole(&quote, "/able/0/setup/seconds"), 900);
    assert_eq!(whole(&quote, "/breaks/flat_from"), 149);
}
