//! Orders said to be in progress on a bed that cannot make them: planned as not begun, and told.

use crate::default_from;
use model::Shop;
use units::{Finding, Moment, OrderId};

/// Finding of a run in progress that the engine has no setup for on its bed.
const RUNNING_WITHOUT_SETUP: &str = "D390";

/// The orders in progress to be planned as not begun, and all that compiling the shop has to say. The
/// judge would refuse a plan that does not bend an order in progress first.
pub(crate) fn without_setup(shop: &Shop, now: Moment) -> (Vec<OrderId>, Vec<Finding>) {
    if shop.floor.running.is_empty() {
        return (Vec::new(), Vec::new());
    }
    let (_, findings) = schedule::compile(shop, default_from(shop, now));
    let aside = findings
        .iter()
        .filter(|finding| finding.code == RUNNING_WITHOUT_SETUP)
        .filter_map(|finding| OrderId::new(finding.place.field.as_deref()?).ok());
    (aside.collect(), findings)
}
