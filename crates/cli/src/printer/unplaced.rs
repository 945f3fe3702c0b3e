//! Orders without a place, and why every brake refuses them.

use super::counted;
use super::table::{Side, table};
use model::{Plan, Refusal, Shop};
use std::fmt::Write as _;
use units::Length;

/// `8 orders have no place …`.
pub(crate) fn count_line(plan: &Plan) -> String {
    let orders = plan.totals.unplaced_orders as usize;
    format!(
        "{} no place in this plan: a person has to decide.",
        counted(orders, "order has", "orders have")
    )
}

/// Every order without a place with every brake's reasons.
pub(crate) fn as_text(shop: &Shop, plan: &Plan, width: usize) -> String {
    if plan.unplaced.is_empty() {
        return "Every order has a place.\n".to_owned();
    }
    let mut out = format!("Without a place: {}\n", plan.unplaced.len());
    for unplaced in &plan.unplaced {
        let order = shop.order(&unplaced.order);
        let part = order.and_then(|order| shop.part(&order.part));
        let what = part.map_or_else(String::new, |part| format!(", {} {}", part.id, part.name));
        let _ = writeln!(
            out,
            "\n{}{what}, {}",
            unplaced.order,
            counted(unplaced.quantity as usize, "piece", "pieces"),
        );
        out.push_str(&reasons(&unplaced.refusals, width));
    }
    out
}

/// Refusals as a table.
pub(crate) fn reasons(refusals: &[Refusal], width: usize) -> String {
    let rows: Vec<Vec<String>> = refusals
        .iter()
        .map(|refusal| {
            vec![
                refusal.brake.to_string(),
                refusal
                    .bend
                    .map_or_else(|| "-".to_owned(), |bend| bend.to_string()),
                number(refusal.needed, refusal.unit),
                number(refusal.available, refusal.unit),
                refusal.text.clone(),
            ]
        })
        .collect();
    let columns = [
        ("brake", Side::Left),
        ("bend", Side::Right),
        ("needed", Side::Right),
        ("there", Side::Right),
        ("why not", Side::Left),
    ];
    table(&columns, &rows, width)
}

/// A number with as many decimals as tell something, and its unit.
fn number(value: f64, unit: &str) -> String {
    if !value.is_finite() || value.abs() >= Length::UNLIMITED.mm() {
        return "no limit".to_owned();
    }
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    format!("{text} {unit}").trim_end().to_owned()
}
