//! The job in question, put into the shop.

use crate::rough::{Rough, RoughError, part_from};
use model::{Part, Shop, WorkOrder};
use units::{Moment, OrderId, PartId};

/// Name of the order in question; numbered when the shop has it already.
const ORDER: &str = "QUOTE";
/// Name of a part that was only described.
const PART: &str = "ROUGH";

/// What is to be bent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// A part of the shop's.
    Known(PartId),
    /// A rough description.
    Described(Rough),
}

/// The job in question.
#[derive(Clone, Debug, PartialEq, Eq)]
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

/// The shop with the job among its orders, the job's order (always the last), and what was assumed
/// of a part that is only described.
///
/// The order counts as due when its blanks are there: every hour of waiting has its price, as an hour
/// late has for the others, and the place that costs least is found between the two.
///
/// # Errors
/// [`RoughError`] when a description is none of a part of this shop. `Ok(None)` when the shop has no
/// such part.
pub fn with_order(
    shop: &Shop,
    job: &Job,
) -> Result<Option<(Shop, OrderId, Vec<String>)>, RoughError> {
    let mut shop = shop.clone();
    let (part, assumed) = match &job.wanted {
        Wanted::Known(id) => (id.clone(), Vec::new()),
        Wanted::Described(rough) => {
            let Some(id) = free(PART, |name| {
                let id = PartId::new(name).ok()?;
                shop.part(&id).is_none().then_some(id)
            }) else {
                return Ok(None);
            };
            let (part, assumed): (Part, Vec<String>) = part_from(&shop, rough, id.clone())?;
            shop.parts.push(part);
            (id, assumed)
        }
    };
    let order = free(ORDER, |name| {
        let id = OrderId::new(name).ok()?;
        shop.order(&id).is_none().then_some(id)
    });
    let (Some(id), Some(_)) = (order, shop.part(&part)) else {
        return Ok(None);
    };
    shop.orders.push(WorkOrder {
        id: id.clone(),
        part,
        quantity: job.quantity.max(1),
        ready: job.ready,
        due: job.ready,
        weight: job.weight.clamp(1, 99),
        kit: None,
        after: None,
        brake: None,
        run_pieces: None,
        certificate: None,
        heat: String::new(),
        reference: String::new(),
        deliveries: Vec::new(),
        blanks: Vec::new(),
    });
    Ok(Some((shop, id, assumed)))
}

/// The first of `NAME`, `NAME-2`, `NAME-3`, … that is free.
fn free<T>(name: &str, take: impl Fn(&str) -> Option<T>) -> Option<T> {
    take(name).or_else(|| (2..100_000).find_map(|number| take(&format!("{name}-{number}"))))
}
