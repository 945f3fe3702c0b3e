//! Milliseconds a piece, and seconds a run.

use crate::case::{Case, RunCase};
use crate::hit::hits_of;
use crate::made::Made;
use crate::numbers::round_up_thousandths;
use crate::proven::followed;
use model::Brake;

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

/// `None` when the run does not make every hit of its part at a known station.
fn computed(case: &Case, run: &RunCase) -> Option<f64> {
    let (brake, part, mass) = (run.brake?, run.part?, run.mass()?);
    let hits = hits_of(part);
    let made: Vec<&Made> = hits
        .iter()
        .map(|(bend, hit)| run.made(*bend, *hit))
        .collect::<Option<_>>()?;
    let crew = u32::try_from(run.crew(case)?).ok()?;
    let rules = &case.shop.rules;
    let size = rules.size_seconds_per_metre * (part.blank.0.metres() + part.blank.1.metres());
    let carrying = size + rules.mass_seconds_per_kg * mass / f64::from(crew);

    let mut seconds = rules.load_seconds + carrying;
    // Each hit is placed and struck like a bend. The gauge comes from the piece before's last hit;
    // the piece is turned only within itself.
    let mut before = made.last().copied();
    for (index, hit) in made.iter().enumerate() {
        let x_before = before.map_or(hit.x, |before| before.x);
        seconds += stroke_and_gauge(case, brake, hit, x_before);
        seconds += rules.place_seconds + carrying;
        if index > 0 {
            seconds += turning(case, before, hit);
        }
        before = Some(hit);
    }
    Some((seconds * 1_000.0).ceil())
}

fn stroke_and_gauge(case: &Case, brake: &Brake, made: &Made, x_before: f64) -> f64 {
    let rules = &case.shop.rules;
    let speeds = &brake.speeds;
    let deep_flange = made.bend.flange_height.mm() + rules.daylight_clearance.mm();
    let approach = rules.approach.mm().max(deep_flange);
    let mute = brake.mute_height.mm().min(approach);
    let travel = made.stroke.travel;
    let back = (approach + travel) / speeds.back.get();
    let stroke = (approach - mute) / speeds.fast.get()
        + mute / speeds.slow.get()
        + travel / speeds.bend.get()
        + rules.dwell_seconds
        + back;
    let gauge = (made.x - x_before).abs() / speeds.gauge.get();
    stroke * made.stroke.strokes + (gauge - back).max(0.0)
}

/// Flipping and turning the piece since the hit before.
fn turning(case: &Case, before: Option<&Made>, made: &Made) -> f64 {
    let Some(before) = before else { return 0.0 };
    let flip = if made.bend.direction == before.bend.direction {
        0.0
    } else {
        case.shop.rules.flip_seconds
    };
    let turn = if made.bend.edge == before.bend.edge {
        0.0
    } else {
        case.shop.rules.turn_seconds
    };
    flip + turn
}
