//! Tying an order to a brake and a place: the form, what it would change, and the orders that are tied.

use super::clock::Clock;
use super::frame::{For, Send};
use super::query_word;
use super::sought::Sought;
use daybook::{OrderLine, OrderStatus, State};
use maud::{Markup, html};
use model::Brake;
use serde_json::json;
use units::OrderId;

/// Tied orders that are listed; the others are counted.
const LISTED: usize = 50;

/// The form for one order, when the address names one that can be tied.
pub(crate) fn panel(state: &State, sought: &Sought, clock: Clock) -> Markup {
    if sought.pin.is_empty() {
        return html! {};
    }
    let order = OrderId::new(&sought.pin).ok();
    let known = order.and_then(|id| state.orders.get(&id));
    let brakes = state.base().map_or(&[][..], |base| &base.shop().brakes);
    html! {
        section #pin.proposal tabindex="-1" aria-labelledby="pin-what" {
            @match known.map(|order| state.order_line(order)) {
                None => {
                    h2 #pin-what { "No such order" }
                    p { "The shop has no order of that name. " a href=(sought.without_pin()) { "Back" } }
                }
                Some(order) if order.status != OrderStatus::Open => {
                    h2 #pin-what { "Order " (order.id) " cannot be tied to a brake" }
                    p { "It is " (order.status.word()) ". " a href=(sought.without_pin()) { "Back" } }
                }
                Some(order) => { (form(&order, brakes, sought, clock)) }
            }
        }
    }
}

fn form(order: &OrderLine, brakes: &[Brake], sought: &Sought, clock: Clock) -> Markup {
    let pin_path = format!("/api/v1/orders/{}/pin", query_word(order.id.as_str()));
    let now = order.pin.as_ref();
    let brake = if sought.to.is_empty() {
        now.map_or("", |pin| pin.brake.as_str())
    } else {
        &sought.to
    };
    let place = match now.and_then(|pin| pin.place) {
        Some(place) if sought.to.is_empty() => place.to_string(),
        _ => sought.place.clone(),
    };
    let send = Send {
        method: "PUT",
        path: pin_path.clone(),
        on: For::Version(order.version),
        with: json!({}),
        ask: None,
    };
    let remove = Send {
        method: "DELETE",
        path: pin_path.clone(),
        on: For::Version(order.version),
        with: json!({}),
        ask: Some("Take the pin away? The next plan puts the order where it costs least."),
    };
    let fields = html! {
        p { label for="pin-brake" { "Brake" }
            select #pin-brake name="brake" { @for one in brakes { option value=(one.id) selected[one.id.as_str() == brake] { (one.id) @if !one.name.is_empty() { " " (one.name) } } } } }
        p { label for="pin-place" { "Place, 1 the first (may be left out)" }
            input #pin-place type="number" name="place" min="1" max="999" value=(place) data-number data-optional; }
        p.acts {
            button.effect type="button" data-path=(format!("{pin_path}/effect")) { "See what it would change" }
            " " button.main type="submit" disabled data-after-effect { "Pin it there" }
        }
        div.told role="status" {}
    };
    html! {
        h2 #pin-what { "Tie order " (order.id) " to a brake" }
        p { (order.quantity) " × " (order.part) ", due " (clock.short(order.due)) ". "
            @match now {
                Some(pin) => { "It is pinned to " strong { (pin.brake) } @if let Some(place) = pin.place { ", place " strong { (place) } } "." }
                None => { "It is not pinned." }
            }
        }
        p.small { "An order with a place comes before all orders without one on that brake, behind what is being bent and what is frozen. Without a place it is tied to the brake alone. Nothing changes on the floor before the next plan is published." }
        (send.form("pin", &fields))
        @if now.is_some() { (remove.form("", &html! { button type="submit" { "Take the pin away" } })) }
        p { a.step href=(sought.without_pin()) { "Close" } }
    }
}

/// Orders that are tied, and the way to tie another one.
pub(crate) fn tied(state: &State, sought: &Sought, decides: bool) -> Markup {
    let open = |order: &OrderLine| matches!(order.status, OrderStatus::Open | OrderStatus::Running);
    let mut all: Vec<OrderLine> = state
        .order_lines()
        .filter(|order| order.pin.is_some() && open(order))
        .collect();
    all.sort_by_key(|order| {
        let pin = order.pin.as_ref();
        pin.map(|pin| (pin.brake.clone(), pin.place.unwrap_or(u32::MAX)))
    });
    let more = all.len().saturating_sub(LISTED);
    html! {
        section aria-labelledby="tied" {
            h2 #tied { "Pinned orders" }
            @if all.is_empty() { p { "No order is pinned: each is bent where and when it costs least." } }
            @else {
                ul {
                    @for order in all.iter().take(LISTED) {
                        @if let Some(pin) = &order.pin {
                            li {
                                (mark()) " " strong { (order.id) } ": " (pin.brake) @if let Some(place) = pin.place { ", place " (place) }
                                @if decides { ". " a href=(sought.pinning(order.id.as_str())) aria-label=(format!("Change the pin of {}", order.id)) { "Change" } }
                            }
                        }
                    }
                }
                @if more > 0 { p { "and " (more) " more" } }
            }
            @if decides {
                form.filters method="get" action="/#pin" {
                    p { label for="pin-order" { "Order to pin" } input #pin-order name="pin" maxlength="64" required autocomplete="off" autocapitalize="none"; }
                    p { button type="submit" { "Choose brake and place" } }
                }
                p.small.drag { "In the chart a run can also be dragged to another brake or place; or give it the focus and press the button below the chart." }
            }
        }
    }
}

/// The shape that says pinned, beside the word.
fn mark() -> Markup {
    html! {
        svg.pin-sample viewBox="0 0 14 20" width="14" height="20" aria-hidden="true" { (shape(7.0, 2.0)) }
    }
}

/// A pin, its head at this place of a drawing.
pub(crate) fn shape(x: f64, y: f64) -> Markup {
    let n = super::words::n;
    html! {
        path.pin-mark d=(format!("M{} {}h8l-1.5 5 3 4h-4.5v7h-1v-7h-4.5l3-4z", n(x - 4.0), n(y))) {}
    }
}
