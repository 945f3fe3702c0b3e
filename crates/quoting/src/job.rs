//! The job in question, put into the shop.

use crate::rough::{Rough, RoughError, part_from};
use model::{Part, Shop, WorkOrder};
use units::{Moment, OrderId, PartId};

/// Name of the order in question; numbered when the shop has it already.
const ORDER: &str = "QUOTE";
/// Name of a part that was only described.
const PART: &str = "ROUGH";
/// Name of a part out of a drawing, when its own is taken.
const DRAWN: &str = "DRAWN";

/// What is to be bent.
#[derive(Clone, Debug, PartialEq)]
pub enum Wanted {
    /// A part of the shop's.
    Known(PartId),
    /// A rough description.
    Described(Rough),
    /// A part out of a drawing.
    Drawn {
        /// The part.
        part: Box<Part>,
        /// What was assumed of it, in words.
        assumed: Vec<String>,
    },
}

/// The job in question.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// What is to be bent.
    pub wanted: Wanted,
    /// Pieces, at least one.
    pub quantity: u32,
    /// From when its blanks are there.
    pub ready: Moment,
    /// How much an hour of waiting matters, 1 (ordinary) to 99.
    pub weight: u32,
}

/// Why the job cannot be put into the shop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum JobError {
    /// The shop has no such part.
    NoSuchPart(PartId),
    /// The description is none of a part of this shop.
    Rough(RoughError),
    /// Every name for the job is taken.
    NoName,
}

impl std::fmt::Display for JobError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            JobError::NoSuchPart(part) => {
                write!(
                    f,
                    "no part {:?} in this shop; parts.csv lists them",
                    part.as_str()
                )
            }
            JobError::Rough(error) => error.fmt(f),
            JobError::NoName => write!(
                f,
                "the shop has orders named {ORDER}-2 and so on; rename one"
            ),
        }
    }
}

impl std::error::Error for JobError {}

impl From<RoughError> for JobError {
    fn from(error: RoughError) -> JobError {
        JobError::Rough(error)
    }
}

/// A shop with the job in it.
#[derive(Clone, Debug)]
pub struct WithJob {
    /// The shop; the job's order is its last.
    pub shop: Shop,
    /// That order.
    pub order: OrderId,
    /// What was assumed of a part that is only described, in words.
    pub assumed: Vec<String>,
}

/// Puts the job among the shop's orders.
///
/// The order counts as due when its blanks are there: every hour of waiting has its price, as an hour
/// late has for the others, and the place that costs least is found between the two.
///
/// # Errors
/// [`JobError`] for a part that is not there or cannot be.
pub fn with_order(shop: &Shop, job: &Job) -> Result<WithJob, JobError> {
    let mut shop = shop.clone();
    let (part, assumed) = match &job.wanted {
        Wanted::Known(id) if shop.part(id).is_none() => {
            return Err(JobError::NoSuchPart(id.clone()));
        }
        Wanted::Known(id) => (id.clone(), Vec::new()),
        Wanted::Described(rough) => {
            let id = free(PART, |name| {
                let id = PartId::new(name).ok()?;
                shop.part(&id).is_none().then_some(id)
            });
            let (part, assumed) = part_from(&shop, rough, id.ok_or(JobError::NoName)?)?;
            let id = part.id.clone();
            shop.parts.push(part);
            (id, assumed)
        }
        Wanted::Drawn { part, assumed } => {
            if shop.material(&part.material).is_none() {
                let asked = part.material.clone();
                let known = shop.materials.iter().map(|m| m.id.clone()).collect();
                return Err(JobError::Rough(RoughError::Material { asked, known }));
            }
            let mut part = Part::clone(part);
            if shop.part(&part.id).is_some() {
                let id = free(DRAWN, |name| {
                    let id = PartId::new(name).ok()?;
                    shop.part(&id).is_none().then_some(id)
                });
                part.id = id.ok_or(JobError::NoName)?;
            }
            let id = part.id.clone();
            shop.parts.push(part);
            (id, assumed.clone())
        }
    };
    let order = free(ORDER, |name| {
        let id = OrderId::new(name).ok()?;
        shop.order(&id).is_none().then_some(id)
    });
    let order = order.ok_or(JobError::NoName)?;
    shop.orders.push(WorkOrder {
        id: order.clone(),
        part,
        quantity: job.quantity.max(1),
        ready: job.ready,
        due: job.ready,
        weight: job.weight.clamp(1, 99),
        kit: None,
        after: None,
        brake: None,
        place: None,
        run_pieces: None,
        certificate: None,
        heat: String::new(),
        reference: String::new(),
        deliveries: Vec::new(),
        blanks: Vec::new(),
    });
    Ok(WithJob {
        shop,
        order,
        assumed,
    })
}

/// The first of `NAME`, `NAME-2`, `NAME-3`, … that is free.
fn free<T>(name: &str, take: impl Fn(&str) -> Option<T>) -> Option<T> {
    take(name).or_else(|| (2..100_000).find_map(|number| take(&format!("{name}-{number}"))))
}
