//! Milliseconds a piece, and seconds a run.

use crate::case::{Case, Made, RunCase};
use crate::numbers::round_up_thousandths;
use crate::proven::followed;
use model::{Brake, Part};

/// Every cycle in milliseconds that the rules allow the run: the measured one of the proven setup
/// it names and follows, or else the computed one. More than one only when several proven setups
/// share the program's name.
pub(crate) fn cycles(case: &Case, run: &RunCase) -> Vec<f64> {
    if let Some(program) = &run.run.program {
        let named: Vec<_> = followed(case, run)
            .into_iter()
            .filter(|setup| setup.program == *program)
            .collect();
        if !named.is_empty() {
            let computed = computed(case, run);
            let of_setup =
                |seconds: Option<f64>| seconds.map(|s| (s * 1_000.0).ceil()).or(computed);
            return named
                .iter()
                .filter_map(|setup| of_setup(setup.seconds_a_piece))
                .collect();
        }
    }
    computed(case, run).into_iter().collect()
}

/// Seconds of bending by the plan's own cycle: pieces, and a check after every so many of them.
pub(crate) fn run_seconds(case: &Case, run: &RunCase) -> i128 {
    let rules = &case.shop.rules;
    let quantity = i128::from(run.run.quantity);
    let checks = match i128::from(rules.check_every) {
        0 => 0,
        every => (quantity - 1).max(0) / every,
    };
    round_up_thousandths(quantity * i128::from(run.run.cycle_ms))
        + i128::from(rules.check_seconds) * checks
}

/// `None` when the run does not make every bend of its part at a known station.
fn computed(case: &Case, run: &RunCase) -> Option<f64> {
    let (brake, part, mass) = (run.brake?, run.part?, run.mass()?);
    let made: Vec<&Made> = part
        .bends
        .iter()
        .map(|bend| {
            run.bends
                .iter()
                .find(|made| made.bend.number == bend.number)
        })
        .collect::<Option<_>>()?;
    let crew = u32::try_from(run.crew(case)?).ok()?;
    let rules = &case.shop.rules;
    let size = rules.size_seconds_per_metre * (part.blank.0.metres() + part.blank.1.metres());
    let carrying = size + rules.mass_seconds_per_kg * mass / f64::from(crew);

    let mut seconds = rules.load_seconds + carrying;
    for (index, bend) in made.iter().enumerate() {
        let before = if index == 0 {
            made.last()
        } else {
            made.get(index - 1)
        };
        let x_before = before.map_or(bend.x, |before| before.x);
        seconds += stroke_and_gauge(case, brake, bend, x_before);
        seconds += rules.place_seconds + carrying + turning(case, part, index);
    }
    Some((seconds * 1_000.0).ceil())
}

fn stroke_and_gauge(case: &Case, brake: &Brake, made: &Made, x_before: f64) -> f64 {
    let rules = &case.shop.rules;
    let speeds = &brake.speeds;
    let deep_flange = made.bend.flange_height.mm() + rules.daylight_clearance.mm();
    let approach = rules.approach.mm().max(deep_flange);
    let mute = brake.mute_height.mm().min(approach);
    let back = (approach + made.travel) / speeds.back.get();
    let stroke = (approach - mute) / speeds.fast.get()
        + mute / speeds.slow.get()
        + made.travel / speeds.bend.get()
        + rules.dwell_seconds
        + back;
    let gauge = (made.x - x_before).abs() / speeds.gauge.get();
    stroke + (gauge - back).max(0.0)
}

/// Flipping and turning the piece since the bend before it in the part.
fn turning(case: &Case, part: &Part, index: usize) -> f64 {
    let Some(before) = index.checked_sub(1).and_then(|index| part.bends.get(index)) else {
        return 0.0;
    };
    let Some(bend) = part.bends.get(index) else {
        return 0.0;
    };
    let flip = if bend.direction == before.direction {
        0.0
    } else {
        case.shop.rules.flip_seconds
    };
    let turn = if bend.edge == before.edge {
        0.0
    } else {
        case.shop.rules.turn_seconds
    };
    flip + turn
}
