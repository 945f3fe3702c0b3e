//! The board in the browser: the manager's page, the wall, and a page for each brake.
//!
//! Pages are whole HTML from the server. They hold no inline script or style, which the
//! Content-Security-Policy would block; `assets/board.js` sends forms and keeps pages fresh.

pub(crate) mod bench;
pub(crate) mod desk;
pub(crate) mod frame;
pub(crate) mod lengths;
pub(crate) mod quote;
pub(crate) mod sites;
pub(crate) mod sought;
pub(crate) mod wall;

mod bed;
mod bends;
mod buttons;
mod chart;
mod clock;
mod compare;
mod floor;
mod lists;
mod load;
mod odds;
mod pin;
mod words;

pub(crate) use desk::clock_of;

use units::BrakeId;

/// The address of a brake's page.
pub(crate) fn brake_page(brake: &BrakeId) -> String {
    format!("/brakes/{}", query_word(brake.as_str()))
}

/// The address of a brake's page with one of its runs.
fn run_page(brake: &BrakeId, run: &str) -> String {
    format!("{}?run={}", brake_page(brake), query_word(run))
}

/// A word as part of an address.
pub(crate) fn query_word(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-_.~".contains(&byte) {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::query_word;

    #[test]
    fn a_word_in_a_query_ends_nothing() {
        assert_eq!(query_word("B1-04"), "B1-04");
        assert_eq!(query_word("a&b=c #ü"), "a%26b%3Dc%20%23%C3%BC");
    }
}
