//! When a job that is not in the shop yet would be done.

use crate::app::Site;
use crate::input::{Body, Id, Line, Whole};
use crate::problem::Problem;
use axum::Json;
use serde::Deserialize;
use serde_json::Value;
use units::{Length, LengthUnit, MaterialId, Moment, PartId, parse_length};
use utoipa::ToSchema;
use workshop::{Enquiry, Quoted, Rough, Wanted};

/// How often the plan is played when the caller does not say.
const SAMPLES: u32 = 4_000;

/// A job that is not in the shop yet: a part of the shop's, or a rough description of one. A
/// description takes bends, length, width, thickness and material.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct QuoteRequest {
    /// Part of the shop data; then nothing is described.
    #[schema(value_type = Option<Id>, examples("BR-608"))]
    part: Option<Id>,
    /// So many plain bends, for a part without a drawing.
    bends: Option<Whole<1, 60>>,
    /// Blank along the bend lines, mm or with a unit.
    #[schema(value_type = Option<Line<1, 40>>, examples("800"))]
    length: Option<Line<1, 40>>,
    /// Blank across the bend lines.
    #[schema(value_type = Option<Line<1, 40>>, examples("650"))]
    width: Option<Line<1, 40>>,
    /// Sheet thickness.
    #[schema(value_type = Option<Line<1, 40>>, examples("2"))]
    thickness: Option<Line<1, 40>>,
    /// Material, by its id in the shop data.
    #[schema(value_type = Option<Id>, examples("1.4301"))]
    material: Option<Id>,
    /// Outside height of the flanges, instead of the width in equal parts.
    #[schema(value_type = Option<Line<1, 40>>)]
    flange: Option<Line<1, 40>>,
    /// Pieces.
    quantity: Whole<1, 1_000_000>,
    /// From when the blanks are there; from the first moment planned when left out. A day or a moment
    /// of the shop's zone, or RFC 3339.
    #[schema(value_type = Option<Line<1, 40>>, examples("2027-03-23"))]
    ready: Option<Line<1, 40>>,
    /// The moment wished for: the odds that the job is done by then. It moves nothing.
    #[schema(value_type = Option<Line<1, 40>>, examples("2027-03-26T14:00"))]
    due: Option<Line<1, 40>>,
    /// How much an hour of waiting matters, beside an hour late of the other orders; 1 when left out.
    weight: Option<Whole<1, 99>>,
    /// How often the plan is played for the odds; 4000 when left out.
    plays: Option<Whole<100, 100_000>>,
    /// Number the generators start from; 1 when left out. The same question with the same number has
    /// the same answer as long as nothing happens.
    seed: Option<Whole<0, 9_007_199_254_740_991>>,
}

impl QuoteRequest {
    fn wanted(&self) -> Result<Wanted, Problem> {
        let described = [&self.length, &self.width, &self.thickness, &self.flange];
        let described = described.iter().any(|length| length.is_some())
            || self.bends.is_some()
            || self.material.is_some();
        match (&self.part, described) {
            (Some(part), false) => {
                let part = PartId::new(&part.0).map_err(|error| unusable("part", &error))?;
                Ok(Wanted::Known(part))
            }
            (None, true) => Ok(Wanted::Described(self.rough()?)),
            (Some(_), true) => Err(Problem::invalid(
                "Name a part, or describe one; not both: with `part`, leave out `bends`, `length`, \
                 `width`, `thickness`, `material` and `flange`.",
            )),
            (None, false) => Err(Problem::invalid(
                "Name a part of the shop, or describe one by `bends`, `length`, `width`, \
                 `thickness` and `material`.",
            )),
        }
    }

    fn rough(&self) -> Result<Rough, Problem> {
        let bends = self.bends.ok_or_else(|| left_out("bends"))?;
        let material = self.material.as_ref().ok_or_else(|| left_out("material"))?;
        Ok(Rough {
            bends: u8::try_from(bends.0).map_err(|error| unusable("bends", &error))?,
            length: length("length", self.length.as_ref())?,
            width: length("width", self.width.as_ref())?,
            thickness: length("thickness", self.thickness.as_ref())?,
            material: MaterialId::new(&material.0).map_err(|error| unusable("material", &error))?,
            flange: match &self.flange {
                Some(_) => Some(length("flange", self.flange.as_ref())?),
                None => None,
            },
        })
    }
}

fn left_out(field: &str) -> Problem {
    Problem::invalid(format!(
        "{field}: left out; a part without a drawing is described by `bends`, `length`, `width`, \
         `thickness` and `material`."
    ))
}

fn unusable(field: &str, problem: &dyn std::fmt::Display) -> Problem {
    Problem::invalid(format!("{field}: {problem}"))
}

fn length(field: &str, text: Option<&Line<1, 40>>) -> Result<Length, Problem> {
    let text = text.ok_or_else(|| left_out(field))?;
    parse_length(&text.0, LengthUnit::Millimetre).map_err(|problem| unusable(field, &problem))
}

fn moment(site: &Site, field: &str, text: Option<&Line<1, 40>>) -> Result<Option<Moment>, Problem> {
    let state = site.office.state();
    let zone = state.base().map(|base| base.shop().zone);
    let zone = zone.ok_or(workshop::OfficeError::NoShop)?;
    text.map(|text| documents::parse_moment(&text.0, zone))
        .transpose()
        .map_err(|problem| unusable(field, &problem))
}

/// Ask when a job that is not in the shop yet would be done, with odds, and what that costs the
/// others: as `brakewright.quote/1` of docs/reference/quote-json.md. It is tried in the published
/// plan; in the latest proposal while none is published. Nothing is kept.
#[utoipa::path(post, path = "/api/v1/quotes", tag = "questions", request_body = QuoteRequest,
    responses((status = 200, content_type = "application/json", body = Object)))]
pub(crate) async fn quote(
    site: Site,
    Body(body): Body<QuoteRequest>,
) -> Result<Json<Value>, Problem> {
    Ok(Json(answered(&site, &body).await?.json()))
}

/// The answer to what a request asks.
pub(crate) async fn answered(site: &Site, body: &QuoteRequest) -> Result<Quoted, Problem> {
    let count = |number: Option<u64>, usual: u32| {
        number.map_or(usual, |number| u32::try_from(number).unwrap_or(u32::MAX))
    };
    let enquiry = Enquiry {
        wanted: body.wanted()?,
        quantity: count(Some(body.quantity.0), 1),
        ready: moment(site, "ready", body.ready.as_ref())?,
        due: moment(site, "due", body.due.as_ref())?,
        weight: count(body.weight.map(|weight| weight.0), 1),
        samples: count(body.plays.map(|plays| plays.0), SAMPLES),
        seed: body.seed.map_or(1, |seed| seed.0),
    };
    Ok(site.office.quote(enquiry).await?)
}
