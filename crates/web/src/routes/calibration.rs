//! What measured times suggest.

use crate::access::Who;
use crate::app::Site;
use crate::input::{Body, Id, Key, Why};
use crate::problem::Problem;
use crate::wire::{Written, submit, written};
use axum::Json;
use axum::response::Response;
use daybook::{Calibrated, Command, Evidence};
use model::StepKind;
use serde::{Deserialize, Serialize};
use units::{BrakeId, PartId};
use utoipa::ToSchema;

/// A kind of step of a changeover.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum StepWord {
    /// Fetch the cart, open and close the clamping.
    Prepare,
    /// Take a station off.
    TakeOff,
    /// Turn a die block.
    Turn,
    /// Slide a station.
    Slide,
    /// Put a station on.
    PutOn,
    /// Slide the gauge fingers by hand.
    Fingers,
    /// Set and test the guard.
    Guard,
    /// Call up the program.
    Program,
    /// Make a program.
    Programming,
    /// Bend and measure the first piece.
    FirstPiece,
    /// Have it approved.
    Approval,
}

const STEPS: [(StepWord, StepKind); 11] = [
    (StepWord::Prepare, StepKind::Prepare),
    (StepWord::TakeOff, StepKind::TakeOff),
    (StepWord::Turn, StepKind::Turn),
    (StepWord::Slide, StepKind::Slide),
    (StepWord::PutOn, StepKind::PutOn),
    (StepWord::Fingers, StepKind::Fingers),
    (StepWord::Guard, StepKind::Guard),
    (StepWord::Program, StepKind::Program),
    (StepWord::Programming, StepKind::Programming),
    (StepWord::FirstPiece, StepKind::FirstPiece),
    (StepWord::Approval, StepKind::Approval),
];

/// What a calibration is about.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(crate) enum What {
    /// One kind of step of the brake's changeovers.
    Step(StepWord),
    /// Seconds a piece of one part on the brake.
    Part(Id),
}

impl What {
    fn of(what: &Calibrated) -> Option<What> {
        match what {
            Calibrated::Part(part) => Some(What::Part(Id(part.to_string()))),
            Calibrated::Step(kind) => {
                let found = STEPS.iter().find(|(_, known)| known == kind);
                found.map(|(word, _)| What::Step(*word))
            }
        }
    }

    fn calibrated(&self) -> Result<Calibrated, Problem> {
        match self {
            What::Part(part) => PartId::new(&part.0)
                .map(Calibrated::Part)
                .map_err(|error| Problem::invalid(error.to_string())),
            What::Step(word) => {
                let found = STEPS.iter().find(|(known, _)| known == word);
                let kind = found.map(|(_, kind)| Calibrated::Step(*kind));
                kind.ok_or_else(|| Problem::invalid("There is no such step."))
            }
        }
    }
}

/// A factor in force.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct FactorView {
    brake: String,
    what: What,
    /// Of a step: what the files' times are multiplied by. Of a part: seconds a piece.
    factor: f64,
    /// Number of the event that put it in force.
    since: u64,
}

/// What an offer rests on.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct EvidenceView {
    /// Observations.
    observations: u32,
    /// Lower end of the interval.
    low: f64,
    /// Its upper end.
    high: f64,
    /// Median absolute error of the planned times, seconds.
    error_before: f64,
    /// The same had the offer held.
    error_after: f64,
    /// Number of the last event it knows of.
    known_until: u64,
}

impl From<&Evidence> for EvidenceView {
    fn from(evidence: &Evidence) -> EvidenceView {
        EvidenceView {
            observations: evidence.observations,
            low: evidence.low,
            high: evidence.high,
            error_before: evidence.error_before,
            error_after: evidence.error_after,
            known_until: evidence.known_until,
        }
    }
}

/// A factor on offer.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct OfferView {
    brake: String,
    what: What,
    /// Of a step: what planned times are multiplied by. Of a part: seconds a piece.
    factor: f64,
    /// What it rests on.
    evidence: EvidenceView,
    /// Number of the event that made it.
    event: u64,
    /// Why it was refused, when it was.
    #[serde(skip_serializing_if = "Option::is_none")]
    refused: Option<String>,
}

/// Factors in force and on offer.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Calibrations {
    in_force: Vec<FactorView>,
    offers: Vec<OfferView>,
}

/// Show which measured times are in force, and which are on offer with what evidence.
#[utoipa::path(get, path = "/api/v1/calibrations", tag = "calibration",
    responses((status = 200, body = Calibrations)))]
pub(crate) async fn list(site: Site) -> Json<Calibrations> {
    let state = site.office.state();
    let factors = state.factors.iter().filter_map(|((brake, what), factor)| {
        Some(FactorView {
            brake: brake.to_string(),
            what: What::of(what)?,
            factor: factor.factor,
            since: factor.since,
        })
    });
    let offers = state.offers.iter().filter_map(|((brake, what), offer)| {
        Some(OfferView {
            brake: brake.to_string(),
            what: What::of(what)?,
            factor: offer.factor,
            evidence: EvidenceView::from(&offer.evidence),
            event: offer.number,
            refused: offer.refused.clone(),
        })
    });
    Json(Calibrations {
        in_force: factors.collect(),
        offers: offers.collect(),
    })
}

/// Work out what measured times suggest now, and offer what is new.
#[utoipa::path(post, path = "/api/v1/calibrations/look", tag = "calibration",
    responses((status = 200, body = Written)))]
pub(crate) async fn look(site: Site, who: Who, key: Key) -> Result<Response, Problem> {
    let done = submit(&site, &who, key, None, Command::OfferCalibrations).await?;
    Ok(written(&site, &done, |state| state.number))
}

/// Names an offer.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Accept {
    brake: Id,
    what: What,
}

fn brake_of(id: &Id) -> Result<BrakeId, Problem> {
    BrakeId::new(&id.0).map_err(|error| Problem::invalid(error.to_string()))
}

/// Take an offer: plans use it from now on.
#[utoipa::path(post, path = "/api/v1/calibrations/accept", tag = "calibration",
    request_body = Accept, responses((status = 200, body = Written)))]
pub(crate) async fn accept(
    site: Site,
    who: Who,
    key: Key,
    Body(body): Body<Accept>,
) -> Result<Response, Problem> {
    let command = Command::AcceptCalibration {
        brake: brake_of(&body.brake)?,
        what: body.what.calibrated()?,
    };
    let done = submit(&site, &who, key, None, command).await?;
    Ok(written(&site, &done, |state| state.number))
}

/// Names an offer, and says why not.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Refuse {
    brake: Id,
    what: What,
    /// Why, for people.
    #[serde(default)]
    why: Why,
}

/// Turn an offer down: it is not made again from the same data.
#[utoipa::path(post, path = "/api/v1/calibrations/refuse", tag = "calibration",
    request_body = Refuse, responses((status = 200, body = Written)))]
pub(crate) async fn refuse(
    site: Site,
    who: Who,
    key: Key,
    Body(body): Body<Refuse>,
) -> Result<Response, Problem> {
    let command = Command::RefuseCalibration {
        brake: brake_of(&body.brake)?,
        what: body.what.calibrated()?,
        why: body.why.0,
    };
    let done = submit(&site, &who, key, None, command).await?;
    Ok(written(&site, &done, |state| state.number))
}
