//! On a brake without a setup: what stops the punches that its refusals do not speak of.
//!
//! Refusals name the nearest miss of all tools alone. Whoever thinks of another punch wants to know
//! what is in its way: too few sections, a little daylight, the part as bent so far.

use crate::part::Case;
use crate::section::{deepest, view_of, ways};
use model::{Bend, Die, Limit, Punch, Refusal};
use tooling::{Composer, Form, Miss, PassedOver, Span, describe, engineer, tool_section};
use units::Length;

/// Numbers nearer than this share of the first are one to a person.
const SAME: f64 = 1e-3;

/// How far tools get with a part, the further the greater: hits made, hits that also clear them, and
/// whether sections make up the station.
type Progress = (usize, usize, bool);

/// What stops one pair of tools, and how far it got.
struct Stopped {
    progress: Progress,
    miss: Option<Miss>,
    refusal: Refusal,
    pair: (usize, usize),
}

impl Stopped {
    fn nearer_than(&self, other: &Stopped) -> bool {
        if self.progress != other.progress {
            return self.progress > other.progress;
        }
        match (&self.miss, &other.miss) {
            (Some(own), Some(its)) => own.nearer_than(its),
            _ => false,
        }
    }
}

/// One entry for each punch of this brake that something else than the refusals stops; those that get
/// furthest come first. Flattening punches are left out, and so are limits that no tool can change.
pub(crate) fn stopped(
    case: &Case<'_, '_>,
    composer: &mut Composer,
    refusals: &[Refusal],
) -> Vec<PassedOver> {
    if refusals.iter().any(whatever_the_tools) {
        return Vec::new();
    }
    let owned: Vec<usize> = (0..case.stock.shop().profiles.len())
        .filter(|&profile| !case.stock.classes_of(profile).is_empty())
        .collect();
    let mut out: Vec<Stopped> = Vec::new();
    for &upper in &owned {
        let Some(punch) = case.stock.punch(upper) else {
            continue;
        };
        if punch.flattening || punch.tang != case.job.brake.tang {
            continue;
        }
        let mut nearest: Option<Stopped> = None;
        for &lower in &owned {
            let Some(die) = case.stock.die(lower) else {
                continue;
            };
            if die.flattening || die.mount != case.job.brake.die_mount {
                continue;
            }
            // What stops a pair that nothing here stops is what the refusals say.
            let Some(found) = one_pair(case, composer, (upper, lower), (punch, die)) else {
                nearest = None;
                break;
            };
            if nearest.as_ref().is_none_or(|old| found.nearer_than(old)) {
                nearest = Some(found);
            }
        }
        out.extend(nearest);
    }
    out.retain(|stopped| !refusals.iter().any(|told| same(told, &stopped.refusal)));
    out.sort_by_key(|stopped| std::cmp::Reverse(stopped.progress));
    let entry = |stopped: Stopped| PassedOver {
        tools: vec![stopped.pair],
        why: Some(Box::new(stopped.refusal)),
    };
    out.into_iter().map(entry).collect()
}

/// Whether two refusals say the same of a bend, whatever tools they name.
fn same(told: &Refusal, other: &Refusal) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= SAME * a.abs();
    (told.limit, told.bend) == (other.limit, other.bend)
        && near(told.needed, other.needed)
        && near(told.available, other.available)
}

/// Limits of brake and part alone.
fn whatever_the_tools(refusal: &Refusal) -> bool {
    match refusal.limit {
        Limit::Mass
        | Limit::AngleAccuracy
        | Limit::Throat
        | Limit::GaugeX1X2
        | Limit::Proven
        | Limit::Fingers => true,
        Limit::BedLength => refusal.bend.is_some(),
        _ => false,
    }
}

/// What stops a pair of tools that makes every bend by itself; `None` when nothing here does.
fn one_pair(
    case: &Case<'_, '_>,
    composer: &mut Composer,
    pair: (usize, usize),
    (punch, die): (&Punch, &Die),
) -> Option<Stopped> {
    let bends = &case.job.part.bends;
    let air = |at: &usize| !matches!(case.hits[*at].form, Form::Flatten { .. });
    let hits: Vec<usize> = (0..case.hits.len()).filter(air).collect();
    let (mut first, mut made) = (None, 0);
    for &at in &hits {
        match engineer(case.job, &case.hits[at], punch, die) {
            Ok(_) => made += 1,
            Err(miss) => first = first.or(Some((at, miss))),
        }
    }
    let mut clear = 0;
    if first.is_none() {
        for &at in &hits {
            match too_deep(case, at, punch, die) {
                None => clear += 1,
                Some(miss) => first = first.or(Some((at, miss))),
            }
        }
    }
    if let Some((at, miss)) = first {
        let bend = &bends[case.hits[at].bend];
        return Some(Stopped {
            progress: (made, clear, false),
            miss: Some(miss),
            refusal: describe(case.job, bend, punch, die, &miss),
            pair,
        });
    }
    let refusal = bends.iter().find_map(|bend| {
        too_few_sections(case, composer, pair.0, bend)
            .or_else(|| too_few_sections(case, composer, pair.1, bend))
    })?;
    Some(Stopped {
        progress: (made, clear, true),
        miss: None,
        refusal,
        pair,
    })
}

/// How deep the part as bent so far gets in the tools at a hit, if deeper than it may.
fn too_deep(case: &Case<'_, '_>, at: usize, punch: &Punch, die: &Die) -> Option<Miss> {
    let section = case.sections.iter().find(|section| section.has(at))?;
    let view = view_of(case, section, at, punch, die)?;
    let allowance = case.job.shop.rules.touch_allowance.mm();
    let mut least = f64::INFINITY;
    for reversed in ways(punch) {
        let tools = tool_section(case.job.brake, (punch, die), reversed)?;
        least = least.min(deepest(&view, &tools, allowance).map_or(0.0, |worst| worst.1));
    }
    (least > allowance).then_some(Miss {
        passed: u8::MAX,
        limit: Limit::Collision,
        needed: least,
        available: allowance,
        unit: "mm",
    })
}

/// Whether the sections owned of a profile make up a station for one bend.
fn too_few_sections(
    case: &Case<'_, '_>,
    composer: &mut Composer,
    profile: usize,
    bend: &Bend,
) -> Option<Refusal> {
    let rules = &case.job.shop.rules;
    let punch = case.stock.punch(profile).is_some();
    let horns = punch && bend.side_return > Length::ZERO;
    let least = match bend.inside {
        Some(inside) => (bend.length - rules.box_short)
            .max(bend.length.half())
            .min(inside),
        None => bend.length,
    };
    let most = match bend.inside {
        Some(inside) if punch => inside,
        _ => Length::UNLIMITED,
    };
    let span = Span { least, most, horns }.within(rules.station_overhang);
    if !composer.compositions(case.stock, profile, span).is_empty() {
        return None;
    }
    let id = case.stock.shop().profiles[profile].id();
    let ends = if horns {
        " with a horn at each end"
    } else {
        ""
    };
    let text = format!(
        "no sections of {id} make up {} to {} mm{ends}",
        span.least, span.most
    );
    let numbers = (least.mm(), 0.0, "mm");
    Some(case.job.refuse(Limit::Sections, Some(bend), numbers, text))
}
