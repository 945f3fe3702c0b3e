//! Plans that make no sense are refused, never a reason to stop.

use crate::moves::moves;
use crate::plan::plan;
use crate::shop::{mm, order_id, part_id, person_id, profile_id, section_id, shop};
use model::*;
use units::*;

fn refuse(what: &str, spoil: fn(&mut Plan)) {
    let mut plan = plan();
    spoil(&mut plan);
    let verdict = audit::judge(&shop(), &plan);
    assert!(!verdict.accepted(), "{what}");
}

fn runs(plan: &mut Plan) -> impl Iterator<Item = &mut Run> {
    plan.brakes.iter_mut().flat_map(|line| &mut line.runs)
}

#[test]
fn nonsense_is_refused() {
    refuse("no brakes", |plan| plan.brakes.clear());
    refuse("no runs", |plan| {
        plan.brakes.iter_mut().for_each(|line| line.runs.clear());
    });
    refuse("a brake twice", |plan| {
        plan.brakes.push(plan.brakes[0].clone());
    });
    refuse("unknown ids everywhere", |plan| {
        for run in runs(plan) {
            run.order = order_id("no");
            run.part = part_id("no");
            for segment in run.segments.iter_mut().chain(&mut run.changeover.segments) {
                segment.crew = vec![person_id("no"); 3];
            }
            for station in run.bed.iter_mut().chain(&mut run.changeover.insert) {
                station.punch = profile_id("no");
                station.die = profile_id("PA");
                for piece in &mut station.die_sections {
                    piece.section = section_id("no");
                }
            }
        }
        plan.unplaced[0].order = order_id("no");
    });
    refuse("empty lists everywhere", |plan| {
        for run in runs(plan) {
            run.bends.clear();
            run.bed.clear();
            run.segments.clear();
            run.changeover.segments.clear();
            run.changeover.steps.clear();
            run.changeover
                .insert
                .iter_mut()
                .for_each(|station| station.die_sections.clear());
        }
        plan.unplaced[0].refusals.clear();
    });
    refuse("indices beyond everything", |plan| {
        for run in runs(plan) {
            run.bends
                .iter_mut()
                .for_each(|used| used.station = usize::MAX);
            run.bends.iter_mut().for_each(|used| used.bend = u8::MAX);
        }
    });
}

#[test]
fn numbers_at_their_ends_are_refused() {
    refuse("lengths", |plan| {
        for run in runs(plan) {
            for used in &mut run.bends {
                used.x = Length::from_nanometres(i64::MIN);
                used.radius = Length::from_nanometres(i64::MAX);
                used.force = Kilonewtons::of(f64::MAX);
            }
            let stations = run.bed.iter_mut().chain(&mut run.changeover.insert);
            for station in stations {
                station.left = Length::from_nanometres(i64::MAX);
                station.length = Length::from_nanometres(i64::MIN);
                station
                    .punch_sections
                    .iter_mut()
                    .for_each(|piece| piece.length = mm(-1));
            }
        }
    });
    refuse("quantities and durations", |plan| {
        for run in runs(plan) {
            run.quantity = u32::MAX;
            run.cycle_ms = i64::MAX;
            run.run_time = Seconds(i64::MIN);
            run.late = Seconds(i64::MAX);
            run.changeover.work = Seconds(i64::MIN);
            run.changeover
                .steps
                .iter_mut()
                .for_each(|step| step.time = Seconds(i64::MAX));
        }
        plan.unplaced[0].quantity = u32::MAX;
        plan.unplaced[0].refusals[0].needed = f64::NAN;
        plan.totals.objective = i64::MAX;
        plan.totals.changeover = Seconds(i64::MIN);
        plan.bound.objective = Some(i64::MAX);
    });
    for extreme in [i64::MIN, -1, 0, i64::MAX] {
        let shop = shop();
        let mut plan = plan();
        for run in runs(&mut plan) {
            run.start = Moment(extreme);
            run.end = Moment(extreme.wrapping_neg());
            run.changeover.start = Moment(extreme);
            run.ready = Moment(extreme);
            run.due = Moment(extreme);
            for segment in run.segments.iter_mut().chain(&mut run.changeover.segments) {
                segment.end = Moment(extreme);
                segment.start = Moment(extreme.wrapping_neg());
            }
        }
        plan.brakes[1].takedowns[0].end = Moment(extreme);
        assert!(
            !audit::judge(&shop, &plan).accepted(),
            "moments at {extreme}"
        );
        plan.from = Moment(extreme);
        plan.until = Moment(extreme);
        assert!(
            !audit::judge(&shop, &plan).accepted(),
            "a plan at {extreme}"
        );
    }
}

#[test]
fn every_list_may_lose_or_repeat_any_of_its_entries() {
    // Each run in turn doubled and left out; nothing may pass, nothing may stop the judge.
    let good = plan();
    for (line, brake) in good.brakes.iter().enumerate() {
        for index in 0..brake.runs.len() {
            let mut fewer = good.clone();
            fewer.brakes[line].runs.remove(index);
            assert!(
                !audit::judge(&shop(), &fewer).accepted(),
                "without {line} {index}"
            );
            let mut more = good.clone();
            let again = more.brakes[line].runs[index].clone();
            more.brakes[line].runs.insert(index, again);
            assert!(
                !audit::judge(&shop(), &more).accepted(),
                "doubled {line} {index}"
            );
        }
    }
}

#[test]
fn sizes_at_their_ends_never_stop_the_judge() {
    // No reader lets them through; the judge must still come to an end.
    let lengths = [0.0, -1.0, 1e5].map(Length::from_mm);
    let angles = [0.0, 90.0, 1e9].map(Degrees::of);
    for length in lengths {
        for angle in angles {
            let (mut shop, plan) = (shop(), plan());
            for profile in &mut shop.profiles {
                match profile {
                    Profile::Punch(punch) => {
                        (punch.relief, punch.relief_height, punch.body) = (length, length, length);
                        punch.angle = angle;
                    }
                    Profile::Die(die) => (die.width, die.angle) = (length, angle),
                }
            }
            for part in &mut shop.parts {
                part.bends[0].line = Some(length);
                part.bends[0].angle = angle;
                part.thickness = length;
                if let Some(bend) = part.bends.get_mut(1) {
                    bend.line = Some(length + mm(20));
                    bend.kind = BendKind::Stepped;
                    bend.radius = Some(length);
                }
            }
            for deduction in [mm(0), length] {
                shop.deductions.push(Deduction {
                    material: shop.materials[0].id.clone(),
                    thickness: length,
                    v: deduction,
                    angle,
                    deduction,
                });
            }
            shop.rules.step_depth = length;
            assert!(!audit::judge(&shop, &plan).accepted(), "{length} {angle}");
        }
    }
}

type Spoil = fn(&mut Changeover);

#[test]
fn turns_and_slides_that_make_no_sense_are_refused() {
    let spoilt: [(&str, Spoil); 4] = [
        ("stations without sections", |change| {
            for station in moved(change) {
                station.punch_sections.clear();
                station.die_sections.clear();
            }
        }),
        ("unknown ids", |change| {
            for station in moved(change) {
                (station.punch, station.die) = (profile_id("no"), profile_id("PA"));
                station.die_sections[0].section = section_id("no");
            }
            for turned in &mut change.turn {
                turned.from = profile_id("PA");
            }
        }),
        ("lengths at their ends", |change| {
            for station in moved(change) {
                station.left = Length::from_nanometres(i64::MIN);
                station.length = Length::from_nanometres(i64::MAX);
            }
            for slid in &mut change.slide {
                slid.from = Length::from_nanometres(i64::MAX);
            }
        }),
        ("each many times over", |change| {
            change.turn = vec![change.turn.clone(); 100].concat();
            change.slide = vec![change.slide.clone(); 100].concat();
        }),
    ];
    for (what, spoil) in spoilt {
        let (shop, mut plan) = moves();
        for run in runs(&mut plan) {
            spoil(&mut run.changeover);
        }
        assert!(!audit::judge(&shop, &plan).accepted(), "{what}");
        // Nor with beds that agree.
        for run in runs(&mut plan) {
            let change = &mut run.changeover;
            let all = change.keep.clone().into_iter();
            run.bed = all
                .chain(moved(change).map(|station| station.clone()))
                .collect();
        }
        assert!(!audit::judge(&shop, &plan).accepted(), "{what}, on the bed");
    }
}

/// The stations turned and slid, as they stand then.
fn moved(change: &mut Changeover) -> impl Iterator<Item = &mut Station> {
    let turned = change.turn.iter_mut().map(|turned| &mut turned.station);
    turned.chain(change.slide.iter_mut().map(|slid| &mut slid.station))
}
