//! What all pages share: head, ways between them, and forms that send a report.

use super::clock::Clock;
use super::lengths::Lengths;
use crate::access::{By, Who};
use crate::page::CAUTION;
use crate::roles::{DECIDERS, ESTIMATORS, FLOOR};
use crate::secrets::masked;
use maud::{DOCTYPE, Markup, PreEscaped, html};
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
    /// The estimator's page.
    Quote,
    /// A page that is not there.
    Nowhere,
}

impl Here<'_> {
    /// The page's address within its site.
    fn path(self) -> String {
        match self {
            Here::Desk | Here::Nowhere => "/".to_owned(),
            Here::Wall => "/wall".to_owned(),
            Here::Brake(brake) => super::brake_page(brake),
            Here::Quote => "/quote".to_owned(),
        }
    }
}

/// Who reads a page, and what goes for all of it.
#[derive(Clone, Debug)]
pub(crate) struct Reader {
    /// Name.
    name: String,
    role: &'static str,
    /// Whether they publish.
    pub(crate) decides: bool,
    /// Whether they ask for dates with odds.
    pub(crate) asks: bool,
    /// Whether they report from the floor.
    pub(crate) reports: bool,
    /// The word that writes of a session carry, masked.
    word: Option<String>,
    /// What lengths are written in for them.
    pub(crate) lengths: Lengths,
}

impl Reader {
    pub(crate) fn of(who: &Who, lengths: Lengths) -> Reader {
        Reader {
            name: who.name.clone(),
            role: who.role.word(),
            decides: DECIDERS.contains(&who.role),
            asks: ESTIMATORS.contains(&who.role),
            lengths,
            reports: FLOOR.contains(&who.role),
            word: match &who.by {
                By::Session(signed) => masked(&signed.word),
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
    /// What stands before the addresses of this site's pages.
    pub(crate) head: &'a str,
    /// Other sites the reader may see: name and address.
    pub(crate) others: &'a [(String, String)],
    /// This site's name.
    pub(crate) site: &'a str,
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
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    @if let Some(word) = &self.reader.word { meta name="csrf" content=(word); }
                    title { (self.title) }
                    link rel="icon" href="/favicon.svg" type="image/svg+xml";
                    link rel="stylesheet" href="/board.css";
                    script src="/board.js" defer {}
                }
                body.wall[wall] data-event=(self.event) data-kinds=(KINDS) data-head=(self.head) {
                    a.skip href="#main" { "Skip to the content" }
                    p #net role="alert" hidden {}
                    p #news role="status" hidden { span { "Something has changed. " } button type="button" { "Show it" } }
                    p #done role="status" {}
                    noscript { p.note { "This browser runs no script: pages can be read, and the buttons do nothing. Load the page again to see what has changed." } }
                    header.top {
                        nav aria-label="Pages" {
                            (way("/", "Plan", self.here == Here::Desk))
                            (way("/wall", "Wall", wall))
                            @if self.reader.asks { (way("/quote", "Quote", self.here == Here::Quote)) }
                            @for brake in &self.brakes {
                                (way(&super::brake_page(brake), brake.as_str(), self.here == Here::Brake(brake)))
                            }
                        }
                        (self.sites())
                        p.who {
                            (self.reader.name) ", " (self.reader.role)
                            @if self.reader.word.is_some() { " " button #sign-out type="button" { "Sign out" } }
                        }
                    }
                    main #main tabindex="-1" data-event=(self.event) data-at=(self.clock.time(self.now)) { (body) }
                    footer {
                        p { "As of " time datetime=(self.clock.exact(self.now)) { (self.clock.short(self.now)) } ", shop time." }
                        (self.lengths())
                    }
                }
            }
        };
        at_site(page, self.head)
    }

    /// Ways to the other sites the reader may see.
    fn sites(&self) -> Markup {
        html! {
            @if !self.head.is_empty() {
                nav.sites aria-label="Sites" {
                    span { (self.site) }
                    @for (name, to) in self.others { " " a href=(to) data-elsewhere { (name) } }
                }
            }
        }
    }

    /// The choice between millimetres and inches. It needs no script.
    fn lengths(&self) -> Markup {
        let (other, said) = match self.reader.lengths {
            Lengths::Millimetres => (Lengths::Inches, "Show lengths in inches"),
            Lengths::Inches => (Lengths::Millimetres, "Show lengths in millimetres"),
        };
        html! {
            form #lengths method="post" action="/lengths" {
                input type="hidden" name="lengths" value=(other.word());
                input type="hidden" name="next" value=(self.here.path());
                button type="submit" { (said) }
            }
        }
    }
}

/// The page with its site's part before every address of ours. Addresses are found by the quotes of
/// their attributes: a quote in any text is written otherwise, so no text can look like one.
pub(crate) fn at_site(page: Markup, head: &str) -> Markup {
    if head.is_empty() {
        return page;
    }
    let mut text = page.into_string();
    for name in ["href", "action", "src", "data-path"] {
        let start = format!(" {name}=\"/");
        let mut parts = text.split(start.as_str());
        let mut out = parts.next().unwrap_or_default().to_owned();
        for part in parts {
            let elsewhere = part
                .split_once('>')
                .is_some_and(|(tag, _)| tag.contains(" data-elsewhere"));
            match part.strip_prefix("api/v1/") {
                _ if elsewhere => {
                    out.push_str(&start);
                    out.push_str(part);
                }
                Some(rest) => out.push_str(&format!(" {name}=\"/api/v1{head}/{rest}")),
                None => out.push_str(&format!(" {name}=\"{head}/{part}")),
            }
        }
        text = out;
    }
    PreEscaped(text)
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
    frame.page(&html! { h1 { (title) } p { (said) } p { a.step href="/" { "To the plan" } } })
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
