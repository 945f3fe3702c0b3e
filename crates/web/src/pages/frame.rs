//! What all pages share: head, ways between them, and forms that send a report.

use super::clock::Clock;
use crate::access::{By, Who};
use crate::page::CAUTION;
use crate::roles::{DECIDERS, FLOOR};
use maud::{DOCTYPE, Markup, html};
use serde_json::Value;
use units::{BrakeId, Moment};

/// Kinds of events that make a page fetch itself again: all of them. A browser hears only of kinds it
/// asks for by name.
const KINDS: &str = "account-disabled account-put bed-described brake-down brake-up calibration-accepted \
    calibration-offered calibration-refused changeover-finished changeover-started \
    floor-described order-pinned order-unpinned orders-taken orders-withdrawn pieces-counted \
    policy-changed proposal-made published run-finished \
    run-paused run-resumed run-started section-back \
    section-out shop-data-taken takedown-done token-ended token-made";

/// Which page it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Here<'a> {
    /// The manager's page.
    Desk,
    /// The wall.
    Wall,
    /// A brake's page.
    Brake(&'a BrakeId),
    /// A page that is not there.
    Nowhere,
}

/// Who reads a page, and what goes for all of it.
#[derive(Clone, Debug)]
pub(crate) struct Reader {
    /// Name.
    name: String,
    role: &'static str,
    /// Whether they publish.
    pub(crate) decides: bool,
    /// Whether they report from the floor.
    pub(crate) reports: bool,
    /// The word that writes of a session carry.
    word: Option<String>,
}

impl Reader {
    pub(crate) fn of(who: &Who) -> Reader {
        Reader {
            name: who.name.clone(),
            role: who.role.word(),
            decides: DECIDERS.contains(&who.role),
            reports: FLOOR.contains(&who.role),
            word: match &who.by {
                By::Session(signed) => Some(signed.word.clone()),
                By::OpenMachine | By::Token => None,
            },
        }
    }
}

/// What stands around a page's own content.
pub(crate) struct Frame<'a> {
    pub(crate) title: String,
    pub(crate) here: Here<'a>,
    pub(crate) reader: &'a Reader,
    /// Brakes, for the ways between pages.
    pub(crate) brakes: Vec<&'a BrakeId>,
    /// Number of the last event it shows.
    pub(crate) event: u64,
    /// When it was made.
    pub(crate) now: Moment,
    pub(crate) clock: Clock,
}

impl Frame<'_> {
    /// The whole page.
    pub(crate) fn page(&self, body: &Markup) -> Markup {
        let wall = self.here == Here::Wall;
        html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    @if let Some(word) = &self.reader.word { meta name="csrf" content=(word); }
                    title { (self.title) }
                    link rel="stylesheet" href="/board.css";
                    script src="/board.js" defer {}
                }
                body.wall[wall] data-event=(self.event) data-kinds=(KINDS) {
                    a.skip href="#main" { "Skip to the content" }
                    p #net role="alert" hidden {}
                    p #news role="status" hidden { span { "Something has changed. " } button type="button" { "Show it" } }
                    noscript { p.note { "This browser runs no script: pages can be read, and the buttons do nothing. Load the page again to see what has changed." } }
                    header.top {
                        nav aria-label="Pages" {
                            (way("/", "Plan", self.here == Here::Desk))
                            (way("/wall", "Wall", wall))
                            @for brake in &self.brakes {
                                (way(&super::brake_page(brake), brake.as_str(), self.here == Here::Brake(brake)))
                            }
                        }
                        p.who {
                            (self.reader.name) ", " (self.reader.role)
                            @if self.reader.word.is_some() { " " button #sign-out type="button" { "Sign out" } }
                        }
                    }
                    main #main tabindex="-1" data-event=(self.event) data-at=(self.clock.time(self.now)) { (body) }
                    footer {
                        p { "As of " time datetime=(self.clock.exact(self.now)) { (self.clock.short(self.now)) } ", shop time." }
                    }
                }
            }
        }
    }
}

fn way(to: &str, name: &str, is_here: bool) -> Markup {
    html! { a href=(to) aria-current=[is_here.then_some("page")] { (name) } }
}

/// The caution that comes before anything a reader could act on.
pub(crate) fn caution() -> Markup {
    html! { p.caution { strong { "Caution. " } (CAUTION) } }
}

/// For which version of a thing something is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum For {
    /// The one with this number.
    Version(u64),
    /// None is there yet.
    Nothing,
    /// Whichever there is.
    Any,
}

/// A form whose button sends a request to the API. Fields that stand in it are sent along.
pub(crate) struct Send<'a> {
    pub(crate) method: &'static str,
    pub(crate) path: String,
    pub(crate) on: For,
    /// What is sent beside the fields.
    pub(crate) with: Value,
    /// What to ask before it is sent.
    pub(crate) ask: Option<&'a str>,
}

impl Send<'_> {
    pub(crate) fn form(&self, class: &str, inner: &Markup) -> Markup {
        let (matching, none) = match self.on {
            For::Version(number) => (Some(format!("\"{number}\"")), false),
            For::Nothing => (None, true),
            For::Any => (None, false),
        };
        html! {
            form class=(format!("send {class}")) data-method=(self.method) data-path=(self.path)
                data-match=[matching] data-none[none] data-with=(self.with.to_string())
                data-ask=[self.ask] {
                (inner)
                p.said role="status" {}
            }
        }
    }
}

/// A page that says why there is nothing to see.
pub(crate) fn nothing(frame: &Frame<'_>, title: &str, said: &str) -> Markup {
    frame.page(&html! { h1 { (title) } p { (said) } p { a href="/" { "To the plan" } } })
}

#[cfg(test)]
mod tests {
    use super::KINDS;
    use daybook::Happening;
    use std::collections::BTreeSet;

    #[test]
    fn pages_listen_to_every_kind_there_is() {
        // The message about an unknown kind lists all kinds there are.
        let unknown = Happening::from_json(r#"{"kind":"?"}"#).unwrap_err().0;
        let kinds: BTreeSet<&str> = unknown.split('`').skip(3).step_by(2).collect();
        assert!(kinds.len() > 20);
        assert_eq!(KINDS.split(' ').collect::<BTreeSet<_>>(), kinds);
    }
}
