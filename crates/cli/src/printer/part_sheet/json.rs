//! The sheet for machines; lengths in millimetres, forces in kilonewtons, angles in degrees.

use super::Page;
use bending::force::ForceBand;
use model::{Refusal, StepKind};
use serde_json::{Value, json};
use study::{
    BrakeStudy, CollisionStudy, DeductionFrom, FlatPiece, FlatSection, HitStudy, LiftStudy,
    OpeningStudy, OptionStudy, OrderAdvice, PassedOverStudy, RadiusBy, SectionStudy, Setup,
    StationStudy, formulas, letter, name_of,
};
use tooling::Form;
use units::Length;

/// Everything there is, whatever depth the text would have.
pub(crate) fn as_json(page: &Page<'_>) -> Value {
    let (part, study) = (page.part, page.study);
    let brakes: Vec<Value> = study.brakes.iter().map(brake).collect();
    let mut out = json!({
        "format": "brakewright.bends/1",
        "part": part.id.as_str(),
        "name": part.name,
        "material": part.material.as_str(),
        "thickness_mm": part.thickness.mm(),
        "mass_kg": study.mass.get(),
        "lifting": study.lift.map(lifting),
        "brakes": brakes,
    });
    if page.explain {
        let options = study.brakes.iter().flat_map(|brake| &brake.options);
        let all = formulas(options).into_iter().map(|formula| {
            json!({
                "name": formula.name,
                "formula": formula.formula,
                "symbols": formula.symbols,
                "source": formula.source,
                "range": formula.range,
                "mark": formula.mark,
            })
        });
        out["formulas"] = all.collect();
    }
    out
}

fn list<'a, T: 'a>(items: impl IntoIterator<Item = &'a T>, one: impl Fn(&'a T) -> Value) -> Value {
    Value::Array(items.into_iter().map(one).collect())
}

/// A length in mm, nothing where nothing limits it.
fn bounded(length: Length) -> Option<f64> {
    (!length.is_unlimited()).then(|| length.mm())
}

fn lifting(lift: LiftStudy) -> Value {
    json!({
        "each_kg": lift.each.get(),
        "limit_kg": lift.limit.get(),
        "index": lift.index,
        "beyond_the_equation": lift.beyond,
        "assumed": {
            "horizontal_mm": lift.lift.horizontal.mm(),
            "vertical_mm": lift.lift.vertical.mm(),
            "travel_mm": lift.lift.travel.mm(),
            "asymmetry_deg": lift.lift.asymmetry.get(),
            "lifts_per_minute": lift.lift.lifts_per_minute,
            "hours": 8,
            "grip": "poor",
        },
    })
}

fn brake(study: &BrakeStudy) -> Value {
    let best = study.options.first();
    json!({
        "brake": study.brake.as_str(),
        "fits": best.is_some(),
        "bends": best.map_or_else(|| json!([]), |best| list(&best.hits, hit)),
        "stations": best.map_or(0, |best| best.stations.len()),
        "other_setups": study.options.len().saturating_sub(1),
        "program": best.and_then(|best| best.program.clone()),
        "cycle_ms": best.map_or(0, |best| best.cycle_ms),
        "crew": best.map_or(0, |best| best.crew),
        "options": list(&study.options, option),
        "passed_over": list(&study.passed_over, passed_over),
        "reasons": list(&study.refusals, reason),
        "collisions": list(&study.collisions, collision),
        "other_order": study.order.as_ref().map(order),
    })
}

fn option(option: &OptionStudy) -> Value {
    let cycle = &option.cycle;
    json!({
        "program": option.program,
        "crew": option.crew,
        "shut_height_mm": option.shut_height.mm(),
        "cycle_ms": option.cycle_ms,
        "cycle_measured": option.measured,
        "cycle_computed": {
            "whole_ms": cycle.whole_ms,
            "load_s": cycle.load,
            "place_s": cycle.place,
            "stroke_s": cycle.stroke,
            "gauge_wait_s": cycle.gauge_wait,
            "flip_s": cycle.flip,
            "turn_s": cycle.turn,
            "flips": cycle.flips,
            "turns": cycle.turns,
        },
        "force_form": {
            "name": option.force_form.name(),
            "source": option.force_form.source(),
            "mark": option.force_form.mark(),
        },
        "setup": option.setup.as_ref().map(setup),
        "stations": list(&option.stations, station),
        "bends": list(&option.hits, hit),
        "flat": list(&option.flat, flat),
        "openings": list(&option.openings, opening),
        "warnings": list(&option.warnings, |warning| {
            json!({ "bends": warning.bends, "text": warning.text })
        }),
    })
}

fn setup(setup: &Setup) -> Value {
    let steps = list(
        &setup.steps,
        |(kind, time)| json!({ "step": step_word(*kind), "seconds": time.0 }),
    );
    json!({ "seconds": setup.work.0, "steps": steps })
}

fn step_word(kind: StepKind) -> &'static str {
    match kind {
        StepKind::Prepare => "prepare",
        StepKind::TakeOff => "take-off",
        StepKind::Turn => "turn",
        StepKind::Slide => "slide",
        StepKind::PutOn => "put-on",
        StepKind::Fingers => "fingers",
        StepKind::Guard => "guard",
        StepKind::Program => "program",
        StepKind::Programming => "programming",
        StepKind::FirstPiece => "first-piece",
        StepKind::Approval => "approval",
    }
}

fn station(station: &StationStudy) -> Value {
    let sections = |lengths: &[Length]| -> Value { lengths.iter().map(|l| l.mm()).collect() };
    let stand = station.stand.as_ref();
    json!({
        "punch": station.punch.as_str(),
        "die": station.die.as_str(),
        "v_mm": station.v.map(Length::mm),
        "bends": station.bends,
        "punch_least_mm": station.punch_span.0.mm(),
        "punch_most_mm": bounded(station.punch_span.1),
        "horns": station.horns,
        "plain": station.ways.plain,
        "turned_about": station.ways.reversed,
        "off_centre_most_mm": bounded(station.off_centre_most),
        "punch_sections_mm": sections(&station.punch_sections),
        "die_sections_mm": sections(&station.die_sections),
        "left_mm": stand.map(|stand| stand.left.mm()),
        "stands_turned_about": stand.map(|stand| stand.reversed),
    })
}

fn hit(hit: &HitStudy) -> Value {
    let mut out = json!({
        "bend": hit.bend,
        "hit": hit.hit,
        "form": match hit.form {
            Form::Air => "air",
            Form::Stepped { .. } => "stepped",
            Form::Flatten { .. } => "flatten",
        },
        "angle_deg": hit.angle.get(),
        "length_mm": hit.length.mm(),
        "station": hit.station,
        "punch": hit.punch.as_str(),
        "die": hit.die.as_str(),
        "v_mm": hit.v.map(Length::mm),
        "leg_mm": hit.leg.mm(),
        "smallest_leg_mm": hit.smallest_leg.map(Length::mm),
        "deduction_mm": hit.deduction_mm,
        "deduction_from": match hit.deduction_from {
            DeductionFrom::Measured => json!("measured"),
            DeductionFrom::KFactor(k) => json!({ "k_factor": k }),
            DeductionFrom::Din6935(k) => json!({ "din_6935_k_factor": k }),
            DeductionFrom::Nothing => Value::Null,
        },
        "travel_mm": hit.travel.mm(),
        "ram_to_bed_mm": hit.ram_to_bed.mm(),
        "travel_range_left": hit.travel_range_left,
        "crowning": hit.crowning.map(|crowning| json!({
            "degrees_per_hundredth": crowning.degrees_per_hundredth,
            "bow_within_tolerance_mm": crowning.bow_within_tolerance_mm,
        })),
        "steps": hit.steps.map(|steps| json!({
            "count": steps.count,
            "each_deg": steps.each.get(),
            "pitch_mm": steps.pitch.mm(),
            "facet_depth_mm": steps.facet_depth.mm(),
        })),
        "section": hit.section.as_ref().map(section),
    });
    for more in [force(hit), shape(hit), gauge(hit)] {
        if let (Some(out), Value::Object(more)) = (out.as_object_mut(), more) {
            out.extend(more);
        }
    }
    out
}

fn force(hit: &HitStudy) -> Value {
    let force = &hit.force;
    json!({
        "force_kn": force.force.get(),
        "force_factor": force.factor,
        "force_range_left": force.range_left,
        "force_at_highest_strength_kn": force.highest.get(),
        "exceeded_at_highest_strength": list(&force.exceeded, |over| json!({
            "link": over.link, "needed": over.needed, "most": over.most, "unit": over.unit,
        })),
        "work_j": force.work_j,
        "line_load_kn_m": force.line_load.get(),
        "weakest_link": force.weakest.0,
        "weakest_link_bears_kn_m": force.weakest.1.get(),
        "closest_limit": force.closest.link,
        "share_of_limit": force.closest.share,
        "off_centre_most_mm": bounded(force.off_centre_most),
        "drives_kn": [force.drives.0.get(), force.drives.1.get()],
        "drive_rated_kn": force.drive_most.get(),
        "bottoming_kn": force.bottoming.map(band),
        "coining_kn": force.coining.map(band),
    })
}

fn band(band: ForceBand) -> Value {
    json!({
        "least": band.least.get(),
        "usual_most": band.usual_most.get(),
        "may_exceed": band.may_exceed,
    })
}

fn shape(hit: &HitStudy) -> Value {
    let radius = &hit.radius;
    json!({
        "radius_mm": radius.inside.mm(),
        "radius_by": match radius.by {
            RadiusBy::Natural => "v",
            RadiusBy::Tip => "tip",
            RadiusBy::Steps => "steps",
            RadiusBy::Gap => "gap",
        },
        "natural_radius_mm": radius.natural.map(Length::mm),
        "tip_radius_mm": radius.tip.mm(),
        "asked_radius_mm": radius.asked.map(Length::mm),
        "smallest_radius_mm": radius.smallest.map(Length::mm),
        "along_grain": radius.along_grain,
        "tip_creases": radius.creases,
        "springback_deg": hit.opening.map(|opening| opening.springback.get()),
        "springback_least_deg": hit.opening.map(|opening| opening.springback_least.get()),
        "under_load_deg": hit.opening.map(|opening| opening.under_load.get()),
        "punch_deg": hit.opening.map(|opening| opening.punch.get()),
        "die_deg": hit.opening.map(|opening| opening.die.get()),
    })
}

fn gauge(hit: &HitStudy) -> Value {
    let gauge = &hit.gauge;
    json!({
        "edge": letter(gauge.edge).to_string(),
        "x_mm": gauge.x.mm(),
        "x_by_lines_mm": gauge.x_by_lines_mm,
        "taper_deg": gauge.taper.get(),
        "x1_x2_apart_mm": gauge.x_apart.mm(),
        "r_mm": gauge.r.mm(),
        "r_computed": gauge.r_computed,
        "stops_from_ends_mm": gauge.from_end.mm(),
        "stops_apart_mm": gauge.apart.mm(),
    })
}

fn section(section: &SectionStudy) -> Value {
    let points = section.finished.outline.points();
    let points: Vec<Value> = points.iter().map(|p| json!([p.x, p.y])).collect();
    json!({
        "deepest_mm": section.deepest_mm,
        "into": section.into.map(name_of),
        "allowance_mm": section.allowance_mm,
        "punch_turned_about": section.reversed,
        "outline_mm": points,
    })
}

fn flat(section: &FlatSection) -> Value {
    let pieces = list(&section.pieces, |piece| match piece {
        FlatPiece::Flat { mm } => json!({ "flat_mm": mm }),
        FlatPiece::Strip {
            bend,
            mm,
            deduction_mm,
        } => json!({ "bend": bend, "strip_mm": mm, "deduction_mm": deduction_mm }),
    });
    json!({
        "from_edge": letter(section.first).to_string(),
        "pieces": pieces,
        "sum_mm": section.sum_mm,
        "blank_mm": section.blank.mm(),
        "outside_mm": section.outside_mm,
        "deductions_mm": section.deductions_mm,
        "legs": list(&section.legs, |leg| json!({
            "bend": leg.bend,
            "entered_mm": leg.entered.mm(),
            "by_lines_mm": leg.by_lines_mm,
        })),
    })
}

fn opening(opening: &OpeningStudy) -> Value {
    let dies: Vec<&str> = opening.dies.iter().map(|die| die.as_str()).collect();
    json!({
        "v_mm": opening.v.map(Length::mm),
        "dies": dies,
        "over_thickness": opening.over_t,
        "allowed": opening.allowed,
        "radius_mm": opening.radius.mm(),
        "size_error_mm": opening.error_mm,
        "within_tolerance": opening.within,
    })
}

fn passed_over(over: &PassedOverStudy) -> Value {
    let tools = list(&over.tools, |(punch, die)| {
        json!([punch.as_str(), die.as_str()])
    });
    json!({ "tools": tools, "why": over.why })
}

fn collision(found: &CollisionStudy) -> Value {
    json!({
        "bend": found.bend,
        "punch": found.punch.as_str(),
        "die": found.die.as_str(),
        "with": name_of(found.with),
        "at_angle_deg": found.included.get(),
        "depth_mm": found.depth_mm,
        "allowance_mm": found.allowance_mm,
        "at_mm": [found.at.x, found.at.y],
        "text": found.text(),
    })
}

fn order(advice: &OrderAdvice) -> Value {
    json!({
        "order": advice.order,
        "changed": list(&advice.changed, |bend| json!({
            "bend": bend.bend,
            "edge": letter(bend.edge).to_string(),
            "leg_mm": bend.leg.mm(),
        })),
        "tools": list(&advice.tools, |(punch, die)| json!([punch.as_str(), die.as_str()])),
        "text": advice.text(),
    })
}

fn reason(refusal: &Refusal) -> Value {
    json!({
        "bend": refusal.bend,
        "needed": refusal.needed,
        "limit": refusal.available,
        "unit": refusal.unit,
        "text": refusal.text,
    })
}
