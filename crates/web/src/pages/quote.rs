//! The estimator's page: when a job that is not in the shop yet would be done, with odds.

use super::frame::{Frame, caution};
use super::lengths::Lengths;
use maud::{Markup, html};
use model::Shop;
use quoted::Shown;
use serde::Deserialize;
use serde_json::{Map, Value, json};
use workshop::Quoted;

mod quoted;

/// Parts offered while somebody types; any other can be typed as well.
const PARTS_MOST: usize = 400;

/// What the form says. Everything is text as it was typed.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct AskedQuote {
    part: String,
    bends: String,
    length: String,
    width: String,
    thickness: String,
    material: String,
    flange: String,
    quantity: String,
    ready: String,
    due: String,
}

impl AskedQuote {
    /// Whether anything is asked, and the form not only opened.
    pub(crate) fn asks(&self) -> bool {
        !self.quantity.trim().is_empty()
    }

    /// The same question for the API.
    ///
    /// # Errors
    /// What cannot be a number, in words.
    pub(crate) fn body(&self, lengths: Lengths) -> Result<Value, String> {
        let mut body = Map::new();
        for (name, text) in [("quantity", &self.quantity), ("bends", &self.bends)] {
            if !text.trim().is_empty() {
                let number: u64 = text
                    .trim()
                    .parse()
                    .map_err(|_| format!("{name}: {text:?} is no whole number."))?;
                body.insert(name.to_owned(), json!(number));
            }
        }
        for (name, text) in [
            ("length", &self.length),
            ("width", &self.width),
            ("thickness", &self.thickness),
            ("flange", &self.flange),
        ] {
            let text = text.trim();
            let plain = text.ends_with(|last: char| last.is_ascii_digit());
            if plain && lengths == Lengths::Inches {
                body.insert(name.to_owned(), json!(format!("{text} in")));
            } else if !text.is_empty() {
                body.insert(name.to_owned(), json!(text));
            }
        }
        for (name, text) in [
            ("part", &self.part),
            ("material", &self.material),
            ("ready", &self.ready),
            ("due", &self.due),
        ] {
            if !text.trim().is_empty() {
                body.insert(name.to_owned(), json!(text.trim()));
            }
        }
        Ok(Value::Object(body))
    }
}

/// Everything the page shows.
pub(crate) struct QuotePage<'a> {
    pub(crate) frame: Frame<'a>,
    /// The shop whose parts and materials are offered.
    pub(crate) shop: Option<&'a Shop>,
    pub(crate) asked: &'a AskedQuote,
    /// The answer, or why there is none; nothing while nothing is asked.
    pub(crate) answer: Option<Result<&'a Quoted, String>>,
}

impl QuotePage<'_> {
    /// The page.
    pub(crate) fn page(&self) -> Markup {
        self.frame.page(&html! {
            h1 { "When would it be done?" }
            (caution())
            @if let Some(shop) = self.shop { (self.form(shop)) }
            @else { p.note { "There is no shop data yet, so there is nothing to quote from." } }
            @match &self.answer {
                None => { p { "Nothing is kept of a question: no order comes from it, and the plan stays as it is." } }
                Some(Err(said)) => { p.note role="alert" { strong { "No answer. " } (said) } }
                Some(Ok(quoted)) => { (self.answer(quoted)) }
            }
            (help())
        })
    }

    fn form(&self, shop: &Shop) -> Markup {
        let asked = self.asked;
        let unit = self.frame.reader.lengths.short();
        let field = |name: &str, label: &str, value: &str, hint: &str| {
            html! {
                p { label for=(format!("quote-{name}")) { (label) }
                    input id=(format!("quote-{name}")) name=(name) value=(value) placeholder=[(!hint.is_empty()).then_some(hint)] maxlength="40" autocomplete="off"; }
            }
        };
        html! {
            form.quote method="get" action="/quote" {
                fieldset {
                    legend { "A part of the shop" }
                    p { label for="quote-part" { "Part" }
                        input #quote-part name="part" value=(asked.part) list="quote-parts" maxlength="64" autocomplete="off"; }
                    datalist #quote-parts {
                        @for part in shop.parts.iter().take(PARTS_MOST) { option value=(part.id) { (part.name) } }
                    }
                }
                fieldset {
                    legend { "or a rough description" }
                    p { label for="quote-bends" { "Bends" }
                        input #quote-bends name="bends" value=(asked.bends) inputmode="numeric" maxlength="2" autocomplete="off"; }
                    (field("length", &format!("Blank along the bends, {unit}"), &asked.length, ""))
                    (field("width", &format!("Blank across the bends, {unit}"), &asked.width, ""))
                    (field("thickness", &format!("Thickness, {unit}"), &asked.thickness, ""))
                    p { label for="quote-material" { "Material" }
                        input #quote-material name="material" value=(asked.material) list="quote-materials" maxlength="64" autocomplete="off"; }
                    datalist #quote-materials { @for material in &shop.materials { option value=(material.id) {} } }
                    (field("flange", &format!("Flange height, {unit} (may be left out)"), &asked.flange, ""))
                }
                fieldset {
                    legend { "How many, and when" }
                    p { label for="quote-quantity" { "Pieces" }
                        input #quote-quantity name="quantity" value=(asked.quantity) inputmode="numeric" maxlength="7" required autocomplete="off"; }
                    p { label for="quote-ready" { "Blanks are there from (may be left out)" }
                        input #quote-ready type="datetime-local" name="ready" value=(asked.ready); }
                    p { label for="quote-due" { "Wished for (may be left out)" }
                        input #quote-due type="datetime-local" name="due" value=(asked.due); }
                }
                p.act { button.main type="submit" { "Ask" } @if asked.asks() { " " a.step href="/quote" { "Ask anew" } } }
            }
        }
    }

    fn answer(&self, quoted: &Quoted) -> Markup {
        let shown = Shown {
            quoted,
            clock: self.frame.clock,
            lengths: self.frame.reader.lengths,
        };
        html! {
            @if !quoted.published { p.note { "No plan is published; this is tried in the latest proposal, to which the floor does not work." } }
            (shown.when())
            (shown.hours())
            (shown.waiting())
            (shown.brakes())
            (shown.drives())
            (shown.breaks())
        }
    }
}

fn help() -> Markup {
    html! {
        details #help {
            summary { "How to read this page" }
            p { "The job is tried at every place of the plan the floor works to, and the plan with it is played a few thousand times: runs and changeovers take longer or shorter than planned, rush orders come between, brakes stop. A date at 80 % was kept in 80 of 100 such plays." }
            p { "Promise the 80 % or the 95 % date, by what a broken promise costs. The end as planned is seldom kept: a plan has no slack, and the floor only ever takes time away." }
            p { "A rough description becomes an invented part of plain bends with equal flanges. If the real part has a return flange, a hem or a box end, wait for the drawing." }
            p { "There is no money here. Hours of brakes and people are the basis of a price." }
            p { "The address holds the question. Asked again later it is answered from the plan of that time." }
        }
    }
}
