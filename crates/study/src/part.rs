//! One part on every brake of a shop.

use crate::lifting::{LiftStudy, lift};
use crate::option::{OptionStudy, study_option};
use crate::order::{OrderAdvice, advise};
use crate::section::{CollisionStudy, collision_of};
use crate::stopped::stopped;
use model::{Limit, Refusal, Shop};
use tooling::{
    Composer, CrossSection, Hit, Job, Options, PassedOver, Stock, hits_of, options_for, part_mass,
};
use units::{BrakeId, Kilograms, Moment, PartId, ProfileId};

/// How deep to look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ask {
    /// The moment from which gauge axes must be fitted.
    pub at: Moment,
    /// Whether to draw the sections of each brake's best setup.
    pub sections: bool,
    /// Whether to say where a refused part collides, and to look for another order of its bends.
    pub orders: bool,
}

impl Ask {
    /// The numbers alone.
    #[must_use]
    pub fn numbers(at: Moment) -> Ask {
        Ask {
            at,
            sections: false,
            orders: false,
        }
    }

    /// Everything there is.
    #[must_use]
    pub fn everything(at: Moment) -> Ask {
        Ask {
            at,
            sections: true,
            orders: true,
        }
    }
}

/// A part as engineered for every brake.
#[derive(Clone, Debug)]
pub struct PartStudy {
    /// Mass of the blank.
    pub mass: Kilograms,
    /// Whether a person can lift it often; `None` when no brake bends it.
    pub lift: Option<LiftStudy>,
    /// One study per brake, in the shop's order.
    pub brakes: Vec<BrakeStudy>,
}

/// A part on one brake.
#[derive(Clone, Debug)]
pub struct BrakeStudy {
    /// Brake.
    pub brake: BrakeId,
    /// Setups worth keeping: proven ones first, then the best alone first.
    pub options: Vec<OptionStudy>,
    /// Other tools that make every bend, and why they are no option. When there is no setup: what stops
    /// the punches of this brake that the refusals do not speak of, with the die each gets furthest with.
    pub passed_over: Vec<PassedOverStudy>,
    /// When there is no setup: the limits in the way.
    pub refusals: Vec<Refusal>,
    /// When it is refused for a collision: where.
    pub collisions: Vec<CollisionStudy>,
    /// When it is refused for a collision or for the stop's reach: an order that works, if one was
    /// looked for and found.
    pub order: Option<OrderAdvice>,
}

/// Tools that are no option.
#[derive(Clone, Debug, PartialEq)]
pub struct PassedOverStudy {
    /// Punches and dies.
    pub tools: Vec<(ProfileId, ProfileId)>,
    /// Why not, in words.
    pub why: String,
    /// The limit broken, when one is.
    pub refusal: Option<Refusal>,
}

/// What all studies of a part on a brake start from.
pub(crate) struct Case<'a, 's> {
    pub(crate) stock: &'a Stock<'s>,
    pub(crate) job: &'a Job<'a>,
    pub(crate) hits: Vec<Hit>,
    pub(crate) sections: Vec<CrossSection>,
}

/// Engineers a part on every brake of the shop, at the material's typical strength. `None` when the
/// shop has no such part or does not know its material.
#[must_use]
pub fn part_study(shop: &Shop, part: &PartId, ask: Ask) -> Option<PartStudy> {
    let index = shop.parts.iter().position(|other| other.id == *part)?;
    let part = &shop.parts[index];
    let material = shop.material(&part.material)?;
    let stock = Stock::new(shop);
    let mut composer = Composer::new();
    let hits = hits_of(part, &shop.rules);
    let sections = CrossSection::of_part(part, &hits);
    let mut brakes = Vec::with_capacity(shop.brakes.len());
    for (brake_index, brake) in shop.brakes.iter().enumerate() {
        let job = Job {
            shop,
            brake,
            part,
            material,
            strength: material.strength_typical,
            at: ask.at,
        };
        let case = Case {
            stock: &stock,
            job: &job,
            hits: hits.clone(),
            sections: sections.clone(),
        };
        let found = options_for(&stock, &mut composer, &job, index, brake_index);
        brakes.push(brake_study(&case, &mut composer, brake_index, found, ask));
    }
    let mass = part_mass(part, material);
    Some(PartStudy {
        mass,
        lift: lift_of(part.blank, mass, &brakes),
        brakes,
    })
}

fn brake_study(
    case: &Case<'_, '_>,
    composer: &mut Composer,
    brake_index: usize,
    found: Options,
    ask: Ask,
) -> BrakeStudy {
    let studied = found.options.iter().enumerate().filter_map(|(at, option)| {
        let drawn = ask.sections && at == 0;
        study_option(case, composer, option, drawn)
    });
    let options: Vec<OptionStudy> = studied.collect();
    let passed_over = found.passed_over.into_iter();
    let passed_over = passed_over.map(|over| passed_over_study(case, over));
    let mut study = BrakeStudy {
        brake: case.job.brake.id.clone(),
        options,
        passed_over: passed_over.collect(),
        refusals: told_once(found.refusals),
        collisions: Vec::new(),
        order: None,
    };
    if ask.orders && study.options.is_empty() {
        let stopped = stopped(case, composer, &study.refusals).into_iter();
        study.passed_over = stopped.map(|over| passed_over_study(case, over)).collect();
    }
    if ask.orders {
        look_further(case, composer, brake_index, &mut study);
    }
    study
}

/// Two sets of tools may miss the same limit by as much: one line says so.
fn told_once(refusals: Vec<Refusal>) -> Vec<Refusal> {
    let mut out: Vec<Refusal> = Vec::with_capacity(refusals.len());
    for refusal in refusals {
        if !out.contains(&refusal) {
            out.push(refusal);
        }
    }
    out
}

/// Where a refused part collides, and whether another order would do.
fn look_further(
    case: &Case<'_, '_>,
    composer: &mut Composer,
    brake_index: usize,
    study: &mut BrakeStudy,
) {
    let geometric = |limit| matches!(limit, Limit::Collision | Limit::GaugeR);
    let mut bends: Vec<u8> = study
        .refusals
        .iter()
        .filter(|refusal| geometric(refusal.limit))
        .filter_map(|refusal| refusal.bend)
        .collect();
    bends.sort_unstable();
    bends.dedup();
    let mut refused: Vec<&Refusal> = Vec::new();
    for refusal in &study.refusals {
        let known = refused.iter().any(|other| other.bend == refusal.bend);
        if refusal.limit == Limit::Collision && !known {
            refused.push(refusal);
        }
    }
    study.collisions = refused
        .into_iter()
        .filter_map(|refusal| collision_of(case, refusal))
        .collect();
    // What no order changes stands in the way all the same.
    if !bends.is_empty() && study.refusals.iter().all(|r| geometric(r.limit)) {
        study.order = bends
            .iter()
            .find_map(|&bend| advise(case, composer, brake_index, bend));
    }
}

fn passed_over_study(case: &Case<'_, '_>, over: PassedOver) -> PassedOverStudy {
    let profiles = &case.stock.shop().profiles;
    let id = |at: usize| profiles.get(at).map(|profile| profile.id().clone());
    let tools = over.tools.iter();
    let tools = tools.filter_map(|&(punch, die)| Some((id(punch)?, id(die)?)));
    let tools: Vec<(ProfileId, ProfileId)> = tools.collect();
    let refusal = over.why.map(|refusal| *refusal);
    let why = match &refusal {
        Some(refusal) => {
            // The tools stand beside the reason.
            let named = |text: String, (punch, die): &(ProfileId, ProfileId)| {
                text.replace(&format!(" with {punch} over {die}"), "")
                    .replace(&format!("{punch} over {die} give"), "these give")
                    .replace(&format!("; {punch} clears"), "; this one clears")
            };
            let text = tools.iter().fold(refusal.text.clone(), named);
            match refusal.bend {
                Some(bend) => format!("bend {bend}: {text}"),
                None => text,
            }
        }
        None => {
            "works, and is no better than the setups kept in stations, sections, seconds, height \
                 or force"
                .to_owned()
        }
    };
    PassedOverStudy {
        tools,
        why,
        refusal,
    }
}

/// The lift as it is when the piece is bent fastest.
fn lift_of(
    blank: (units::Length, units::Length),
    mass: Kilograms,
    brakes: &[BrakeStudy],
) -> Option<LiftStudy> {
    let best = brakes.iter().filter_map(|study| study.options.first());
    let quickest = best.min_by_key(|option| option.cycle_ms)?;
    Some(lift(blank, mass, quickest.crew, quickest.cycle_ms))
}
