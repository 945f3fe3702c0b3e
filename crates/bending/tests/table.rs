//! Every check value of the handbook table, one row each, with its source and mark.
//!
//! `table.csv` has the columns id, formula, inputs (`name=value` separated by `;`, lengths in mm
//! unless they say `in`, stresses in MPa unless they say `ksi`), expected, tolerance (absolute, or
//! a percentage of the expected value), source, mark.

// The readers of the table are helpers outside the test function: a row that cannot be read is to
// fail the test there and then.
#![allow(clippy::expect_used, clippy::panic)]

use bending::force::{self, ForceForm};
use bending::handbook::{self, Temper};
use bending::leg::{BendShape, Leg, ToOuterVertex, flat_length};
use bending::lifting::{self, Grip, Lift, Multipliers, Spell};
use bending::{crowning, developed, flange, handling, hem, load, offset, opening, radius};
use bending::{safeguard, springback, step, stroke, travel};
use std::collections::BTreeMap;
use units::{
    Degrees, Kilograms, Kilonewtons, KilonewtonsPerMetre, Length, LengthUnit, Megapascals,
    MillimetresPerSecond, parse_length,
};

const TABLE: &str = include_str!("table.csv");
const MARKS: [&str; 5] = ["source", "memory", "memory+computed", "computed", "trade"];
/// Newtons in a pound-force, by definition.
const POUND: f64 = 4.448_221_615_260_5;
/// Kilonewtons in a US short ton-force.
const TON_KN: f64 = 2000.0 * POUND / 1000.0;
const KILOGRAMS_PER_POUND: f64 = 0.453_592_37;
/// Megapascals in a thousand pounds per square inch.
const KSI: f64 = 1000.0 * POUND / (25.4 * 25.4);

/// The inputs of one row.
struct Inputs<'a>(BTreeMap<&'a str, &'a str>);

impl<'a> Inputs<'a> {
    fn read(text: &'a str) -> Inputs<'a> {
        let pairs = text.split(';').filter(|pair| !pair.is_empty());
        Inputs(
            pairs
                .map(|pair| pair.split_once('=').expect("name=value"))
                .collect(),
        )
    }

    fn text(&self, name: &str) -> &'a str {
        self.0
            .get(name)
            .unwrap_or_else(|| panic!("no input {name}"))
    }

    fn number(&self, name: &str) -> f64 {
        self.text(name)
            .parse()
            .unwrap_or_else(|_| panic!("{name} is not a number"))
    }

    fn numbers(&self, name: &str) -> Vec<f64> {
        self.text(name)
            .split(',')
            .map(|part| part.parse().expect("numbers"))
            .collect()
    }

    fn length(&self, name: &str) -> Length {
        parse_length(self.text(name), LengthUnit::Millimetre).expect("a length")
    }

    fn degrees(&self, name: &str) -> Degrees {
        Degrees::new(self.number(name)).expect("an angle")
    }

    fn stress(&self, name: &str) -> Megapascals {
        let text = self.text(name);
        let mpa = match text.strip_suffix("ksi") {
            Some(ksi) => ksi.parse::<f64>().expect("a stress") * KSI,
            None => text.parse().expect("a stress"),
        };
        Megapascals::of(mpa)
    }

    fn force(&self, name: &str) -> Kilonewtons {
        Kilonewtons::of(self.number(name))
    }

    fn form(&self) -> ForceForm {
        ForceForm::from_name(self.text("form")).expect("a force form")
    }

    fn temper(&self) -> Temper {
        match self.text("temper") {
            "soft-brass" => Temper::SoftBrassOrCopper,
            "soft-steel" => Temper::SoftSteelOrAluminium,
            "hard" => Temper::Hard,
            other => panic!("no temper {other}"),
        }
    }

    fn speed(&self, name: &str) -> MillimetresPerSecond {
        MillimetresPerSecond::of(self.number(name))
    }

    fn air_bend(&self, length: Length) -> f64 {
        let (t, v) = (self.length("t"), self.length("v"));
        force::air_bend(self.form(), self.stress("rm"), length, t, v)
            .value
            .get()
    }
}

fn inches(mm: f64) -> f64 {
    mm / 25.4
}

fn forces(formula: &str, i: &Inputs) -> Option<f64> {
    let (m, foot) = (Length::from_whole_mm(1000), Length::from_mm(304.8));
    Some(match formula {
        "air_bend" => i.air_bend(i.length("length")),
        "ton_per_foot" => i.air_bend(foot) / TON_KN,
        "line_load_per_metre" => i.air_bend(m),
        "factor" => force::factor(i.form(), i.length("t"), i.length("v")).value,
        "bending_work" => {
            force::bending_work(i.force("force"), i.length("stroke"), i.number("m")).value
        }
        "bottoming_least" => force::bottoming(i.force("force")).least.get(),
        "bottoming_most" => force::bottoming(i.force("force")).usual_most.get(),
        "coining_least" => force::coining(i.force("force")).least.get(),
        "coining_most" => force::coining(i.force("force")).usual_most.get(),
        "line_load" => force::line_load(i.force("force"), i.length("length")).get(),
        _ => return None,
    })
}

fn loads(formula: &str, i: &Inputs) -> Option<f64> {
    let shares = || load::off_centre_shares(i.force("force"), i.length("span"), i.length("offset"));
    let short = || {
        let rated = Kilonewtons::of(i.number("rated") * TON_KN);
        load::short_length_limit(rated, i.length("between")).get()
    };
    Some(match formula {
        "share_near" => shares().0.get(),
        "share_far" => shares().1.get(),
        "max_offset" => {
            let (force, rated) = (i.force("force"), i.force("rated"));
            load::max_offset(force, rated, i.length("span"))
                .expect("an offset")
                .mm()
        }
        "short_length_ton_per_inch" => short() / TON_KN * 0.0254,
        "short_length_tons" => short() / TON_KN * i.length("length").metres(),
        "load_path_kn" => {
            let stronger = KilonewtonsPerMetre::of(i.number("q") + 1.0);
            let weakest = KilonewtonsPerMetre::of(i.number("q"));
            let path = [("punch", stronger), ("die", weakest), ("bed", stronger)];
            let (name, least) = load::weakest_link(&path).expect("a path");
            assert_eq!(name, "die");
            least.get() * i.length("length").metres()
        }
        _ => return None,
    })
}

/// The included angle at which v of the standard changes its sign, by halving.
fn din_v_zero(ratio: f64) -> f64 {
    let (r, s) = (Length::from_mm(ratio), Length::from_whole_mm(1));
    let v = |beta| developed::din_v(Degrees::of(beta), r, s);
    let (mut low, mut high) = (0.0, 90.0);
    assert!(v(low) > 0.0 && v(high) < 0.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if v(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

fn developments(formula: &str, i: &Inputs) -> Option<f64> {
    let bend = || (i.degrees("bend"), i.length("r"), i.length("t"));
    Some(match formula {
        "din_k" => developed::din_k(i.length("r"), i.length("s")),
        "din_v" => developed::din_v(i.degrees("beta"), i.length("r"), i.length("s")),
        "din_v_zero" => din_v_zero(i.number("ratio")),
        "flat_length" => {
            let leg = |mm: &f64| Leg::<ToOuterVertex>::new(Length::from_mm(*mm));
            let legs: Vec<_> = i.numbers("legs").iter().map(leg).collect();
            let (r, t) = (i.length("r"), i.length("t"));
            let shape = |beta: &f64| BendShape {
                included: Degrees::of(*beta),
                r,
                t,
            };
            let bends: Vec<_> = i.numbers("beta").iter().map(shape).collect();
            flat_length(&legs, &bends).expect("a part").mm()
        }
        "outside_setback" => developed::outside_setback(bend().0, bend().1, bend().2),
        "bend_allowance" => developed::bend_allowance(bend().0, bend().1, bend().2, i.number("k")),
        "deduction" => developed::deduction(bend().0, bend().1, bend().2, i.number("k")),
        "deduction_din" => {
            developed::deduction_din(i.degrees("beta"), i.length("r"), i.length("t"))
        }
        "gauge_x" => developed::gauge_x(i.length("leg"), i.number("deduction")).mm(),
        "closed_hem" => hem::compensation(hem::Hem::Closed, i.length("t")),
        _ => return None,
    })
}

fn handbooks(formula: &str, i: &Inputs) -> Option<f64> {
    let stock = |bend: f64, r: &str| {
        handbook::straight_stock(i.temper(), Degrees::of(bend), i.length(r), i.length("t"))
    };
    let stepped = || handbook::stepped_allowance(i.degrees("bend"), i.length("r"), i.length("t"));
    Some(match formula {
        "straight_stock" => stock(i.number("bend"), "r"),
        "straight_stock_inch" => inches(stock(i.number("bend"), "r")),
        "worked_blank_inch" => {
            inches(stock(180.0, "r1") + stock(60.0, "r2") + i.length("straight").mm())
        }
        "stepped_allowance" => stepped(),
        "stepped_blank" => stepped() + i.numbers("flats").iter().sum::<f64>(),
        _ => return None,
    })
}

fn shapes(formula: &str, i: &Inputs) -> Option<f64> {
    let travel = || {
        travel::punch_travel(
            i.length("v"),
            i.length("t"),
            i.length("ri"),
            i.degrees("beta"),
        )
    };
    let stack = || i.length("holders") + i.length("punch") + i.length("die");
    Some(match formula {
        "minimum_radius" => {
            let smallest = radius::minimum(i.stress("rm"), i.length("t"), i.degrees("bend"));
            smallest.expect("inside the table").mm()
        }
        "usual_opening" => opening::usual(i.length("t")).mm(),
        "natural_radius" => radius::natural(i.length("v"), i.number("share")).mm(),
        "smallest_flange" => flange::smallest(i.length("v"), i.degrees("beta")).mm(),
        "flange_factor_rounded_up" => {
            let exact = flange::smallest(Length::from_whole_mm(100), i.degrees("beta")).mm();
            exact.ceil() / 100.0
        }
        "punch_travel" => travel().mm(),
        "punch_travel_over_v" => travel().mm() / i.length("v").mm(),
        "ram_to_bed" => travel::ram_to_bed(stack(), travel(), i.length("t")).mm(),
        "daylight" => travel::daylight(i.length("open"), stack()).mm(),
        "worth_of_depth" => {
            let (v, t, ri) = (i.length("v"), i.length("t"), i.length("ri"));
            crowning::degrees_per_mm(v, t, ri, i.degrees("beta")).expect("a slope")
        }
        "offset_leg" => offset::slanting_leg(i.length("d"), i.length("t"), i.degrees("beta")).mm(),
        "step_count" => {
            let (bend, r, t) = (i.degrees("bend"), i.length("r"), i.length("t"));
            f64::from(
                step::steps(bend, r, t, i.length("depth"))
                    .expect("a radius")
                    .count,
            )
        }
        _ => return None,
    })
}

fn springbacks(formula: &str, i: &Inputs) -> Option<f64> {
    let sheet = || (i.length("ri"), i.stress("y"), i.stress("e"), i.length("t"));
    let free = || {
        let (ri, y, e, t) = sheet();
        springback::free_radius(ri, y, e, t).value
    };
    Some(match formula {
        "radius_ratio" => {
            let (ri, y, e, t) = sheet();
            springback::radius_ratio(ri, y, e, t).value
        }
        "free_radius_inch" => inches(free().mm()),
        "formula_opening" => {
            springback::opening(i.degrees("beta"), i.length("ri"), free(), i.length("t")).get()
        }
        _ => return None,
    })
}

fn times_and_people(formula: &str, i: &Inputs) -> Option<f64> {
    Some(match formula {
        "light_curtain" => {
            let distance = safeguard::light_curtain_distance(i.number("seconds"), i.length("d"));
            distance.expect("inside the formula").mm()
        }
        "stroke" => {
            let speeds = stroke::StrokeSpeeds {
                fast: i.speed("fast"),
                slow: i.speed("slow"),
                bend: i.speed("bend"),
                back: i.speed("back"),
            };
            let (approach, mute, travel) =
                (i.length("approach"), i.length("mute"), i.length("travel"));
            stroke::stroke_seconds(speeds, approach, mute, travel, i.number("dwell"))
        }
        "slow_closing_most" => stroke::SLOW_CLOSING_MOST.get(),
        "mute_height_most" => stroke::MUTE_HEIGHT_MOST.mm(),
        "press_brake_seconds" => {
            let bends = i.text("bends").parse().expect("a count");
            handling::press_brake_seconds(bends, i.length("length"), i.length("width"))
        }
        "rounded_limit_lb" => {
            let m = i.numbers("multipliers");
            let rounded = Multipliers {
                horizontal: m[0],
                vertical: m[1],
                travel: m[2],
                asymmetry: m[3],
                frequency: m[4],
                grip: m[5],
            };
            lifting::LOAD_CONSTANT_LB * rounded.product()
        }
        "unrounded_limit_lb" => {
            let (h, v, d) = (i.number("h"), i.number("v"), i.number("d"));
            let exact = Multipliers {
                horizontal: 10.0 / h,
                vertical: 1.0 - 0.0075 * (v - 30.0).abs(),
                travel: 0.82 + 1.8 / d,
                asymmetry: 1.0,
                frequency: 1.0,
                grip: i.number("grip"),
            };
            lifting::LOAD_CONSTANT_LB * exact.product()
        }
        "metric_limit_lb" => {
            let lift = Lift {
                horizontal: i.length("h"),
                vertical: i.length("v"),
                travel: i.length("d"),
                asymmetry: Degrees::of(0.0),
                lifts_per_minute: 0.2,
                spell: Spell::OneHour,
                grip: Grip::Fair,
            };
            lifting::recommended_limit(&lift).get() / KILOGRAMS_PER_POUND
        }
        "lifting_index" => {
            let kilograms = |name| Kilograms::of(i.number(name));
            lifting::lifting_index(kilograms("load"), kilograms("limit"))
        }
        "reference_mass" => lifting::REFERENCE_MASS_KG,
        _ => return None,
    })
}

fn evaluate(formula: &str, inputs: &Inputs) -> f64 {
    let families = [
        forces,
        loads,
        developments,
        handbooks,
        shapes,
        springbacks,
        times_and_people,
    ];
    families
        .iter()
        .find_map(|family| family(formula, inputs))
        .unwrap_or_else(|| panic!("no formula {formula}"))
}

fn tolerance(text: &str, expected: f64) -> f64 {
    match text.strip_suffix('%') {
        Some(percent) => percent.parse::<f64>().expect("a percentage") / 100.0 * expected.abs(),
        None => text.parse().expect("a tolerance"),
    }
}

#[test]
fn every_row_of_the_table_holds() {
    let mut reader = csv::Reader::from_reader(TABLE.as_bytes());
    let columns = [
        "id",
        "formula",
        "inputs",
        "expected",
        "tolerance",
        "source",
        "mark",
    ];
    assert!(reader.headers().expect("a header").iter().eq(columns));
    let (mut seen, mut wrong) = (BTreeMap::new(), Vec::new());
    for record in reader.records() {
        let record = record.expect("seven columns");
        let id = record[0].to_owned();
        let expected: f64 = record[3].parse().expect("a number");
        let allowed = tolerance(&record[4], expected);
        assert!(MARKS.contains(&&record[6]), "{id}: mark {}", &record[6]);
        assert!(!record[5].is_empty(), "{id}: no source");
        assert!(allowed > 0.0, "{id}: no tolerance");
        let found = evaluate(&record[1], &Inputs::read(&record[2]));
        if found.is_nan() || (found - expected).abs() > allowed {
            wrong.push(format!(
                "{id} {}: found {found}, expected {expected} ± {allowed}",
                &record[1]
            ));
        }
        assert!(seen.insert(id.clone(), ()).is_none(), "{id} twice");
    }
    assert!(
        wrong.is_empty(),
        "{} rows fail:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
    assert!(seen.len() >= 189, "rows were lost: {} left", seen.len());
}
