//! Run lists and changeover sheets on paper, as PDF.
//!
//! [`run_list`] is the day of one brake, [`changeover_sheet`] the change before one run, and
//! [`run_lists`], [`changeover_sheets`] and [`whole_plan`] put a plan's into one file. What is said is
//! what `documents::words` says on the screen too; here it is laid out for people who wear gloves, are
//! in a hurry and read at arm's length, and for printers that know black alone. Every order stands
//! there as a code to scan: QR Code (ISO/IEC 18004), and Code 128 (ISO/IEC 15417) where it has room.
//!
//! Read `flow` first (pages, heads, tables), then `sheet`. `doc` is what was drawn, `write` its bytes.
//!
//! **Caution.** A press brake maims and kills. Every list and every sheet says that its figures
//! advise; the manuals of the machine and the tools, the local safety code, a trained person and a
//! slow first piece decide.
//!
//! Invariant: pure; the same input gives the same bytes, with no date and no id that was not handed
//! in. Text from a shop's files is shown and steers nothing.

mod bed;
mod code128;
mod codes;
mod doc;
mod face;
mod flow;
mod issue;
mod mark;
mod profiles;
mod run_list;
mod sheet;
mod wrap;
mod write;

pub use issue::{Issue, Paper};
pub use mark::plan_mark;

use chrono::NaiveDate;
use doc::Doc;
use documents::words::{Clock, Today, days_later, takedowns_after_all, takedowns_before};
use flow::Flow;
use issue::Issued;
use model::{Brake, BrakePlan, Plan, Shop};
use units::BrakeId;

/// Why there is no paper.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PaperError {
    /// The plan or the shop has no such brake.
    #[error("the plan has no list for brake {0}")]
    NoBrake(BrakeId),
    /// The brake's list has no such run.
    #[error("no run {1:?} on {0}")]
    NoRun(BrakeId, String),
    /// There is nothing to put on paper: no brake, or no changeover.
    #[error("the plan holds nothing to print")]
    Nothing,
    /// A font that comes with the program cannot be read.
    #[error("the program's own font: {0}")]
    Font(String),
}

/// The run list of a brake on a local day of the shop, or on every day on which it has work; a day
/// without work gives a page that says so.
///
/// # Errors
/// [`PaperError::NoBrake`]; [`PaperError::Font`] is a fault of the program.
pub fn run_list(
    shop: &Shop,
    plan: &Plan,
    brake: &BrakeId,
    day: Option<NaiveDate>,
    issue: &Issue,
) -> Result<Vec<u8>, PaperError> {
    let issued = Issued::new(shop, plan, *issue);
    let (brake, list) = found(&issued, brake)?;
    let mut flow = started(&issued, &format!("{} run list", brake.id))?;
    let days = day.map_or_else(|| days_worked(&issued, list), |day| vec![day]);
    for day in days {
        run_list::pages(&mut flow, &issued, (brake, list), day);
    }
    write::written(&flow.finish())
}

/// The run lists of every brake, brake by brake, for so many days from the plan's first.
///
/// # Errors
/// As [`run_list`]; [`PaperError::Nothing`] for a plan without brakes or for no days.
pub fn run_lists(
    shop: &Shop,
    plan: &Plan,
    days: u32,
    issue: &Issue,
) -> Result<Vec<u8>, PaperError> {
    let issued = Issued::new(shop, plan, *issue);
    let mut flow = started(&issued, "run lists")?;
    for (brake, list) in lists(&issued) {
        for day in first_days(&issued, days) {
            run_list::pages(&mut flow, &issued, (brake, list), day);
        }
    }
    closed(flow)
}

/// The changeover before one run, with any takedown that comes between it and the run before.
///
/// # Errors
/// [`PaperError::NoBrake`] and [`PaperError::NoRun`]; [`PaperError::Font`] is a fault of the program.
pub fn changeover_sheet(
    shop: &Shop,
    plan: &Plan,
    brake: &BrakeId,
    run: &str,
    issue: &Issue,
) -> Result<Vec<u8>, PaperError> {
    let issued = Issued::new(shop, plan, *issue);
    let (brake, list) = found(&issued, brake)?;
    let missing = || PaperError::NoRun(brake.id.clone(), run.to_owned());
    let mut runs = list.runs.iter();
    let run = runs.find(|one| one.name == run).ok_or_else(missing)?;
    let title = format!("{} changeover sheet, order {}", run.name, run.order);
    let mut flow = started(&issued, &title)?;
    sheet::pages(&mut flow, &issued, (brake, list), run);
    write::written(&flow.finish())
}

/// Every changeover of the plan as a sheet, in the order of their starts on each brake.
///
/// # Errors
/// [`PaperError::Nothing`] for a plan without changeovers; [`PaperError::Font`] is a fault of the
/// program.
pub fn changeover_sheets(shop: &Shop, plan: &Plan, issue: &Issue) -> Result<Vec<u8>, PaperError> {
    let issued = Issued::new(shop, plan, *issue);
    let mut flow = started(&issued, "changeover sheets")?;
    for (brake, list) in lists(&issued) {
        sheets(&mut flow, &issued, brake, list);
    }
    closed(flow)
}

/// Everything of a plan, brake by brake: the run lists of so many days (at least 1), then the sheets.
///
/// # Errors
/// [`PaperError::Nothing`] for a plan without brakes; [`PaperError::Font`] is a fault of the program.
pub fn whole_plan(
    shop: &Shop,
    plan: &Plan,
    days: u32,
    issue: &Issue,
) -> Result<Vec<u8>, PaperError> {
    let issued = Issued::new(shop, plan, *issue);
    let mut flow = started(&issued, "run lists and changeover sheets")?;
    for (brake, list) in lists(&issued) {
        for day in first_days(&issued, days.max(1)) {
            run_list::pages(&mut flow, &issued, (brake, list), day);
        }
        sheets(&mut flow, &issued, brake, list);
    }
    closed(flow)
}

/// Everything of one brake: its run lists of so many days (at least 1), then its sheets.
///
/// # Errors
/// [`PaperError::NoBrake`]; [`PaperError::Font`] is a fault of the program.
pub fn brake_plan(
    shop: &Shop,
    plan: &Plan,
    brake: &BrakeId,
    days: u32,
    issue: &Issue,
) -> Result<Vec<u8>, PaperError> {
    let issued = Issued::new(shop, plan, *issue);
    let (brake, list) = found(&issued, brake)?;
    let title = format!("{} run lists and changeover sheets", brake.id);
    let mut flow = started(&issued, &title)?;
    for day in first_days(&issued, days.max(1)) {
        run_list::pages(&mut flow, &issued, (brake, list), day);
    }
    sheets(&mut flow, &issued, brake, list);
    closed(flow)
}

fn started(issued: &Issued<'_>, title: &str) -> Result<Flow, PaperError> {
    let title = format!("{}: {title}", issued.shop.name);
    Ok(Flow::new(Doc::new(issued.issue.paper.points(), &title)?))
}

fn closed(flow: Flow) -> Result<Vec<u8>, PaperError> {
    if flow.doc.pages.is_empty() {
        return Err(PaperError::Nothing);
    }
    write::written(&flow.finish())
}

fn lists<'a>(issued: &Issued<'a>) -> Vec<(&'a Brake, &'a BrakePlan)> {
    let (shop, plan) = (issued.shop, issued.plan);
    let lists = plan.brakes.iter();
    lists
        .filter_map(|list| Some((shop.brake(&list.brake)?, list)))
        .collect()
}

fn found<'a>(
    issued: &Issued<'a>,
    brake: &BrakeId,
) -> Result<(&'a Brake, &'a BrakePlan), PaperError> {
    let mut lists = lists(issued).into_iter();
    lists
        .find(|(_, list)| list.brake == *brake)
        .ok_or_else(|| PaperError::NoBrake(brake.clone()))
}

fn first_days(issued: &Issued<'_>, days: u32) -> Vec<NaiveDate> {
    let first = Clock::new(issued.shop.zone).day(issued.plan.from);
    (0..days).map(|days| days_later(first, days)).collect()
}

/// The days on which a brake has work; the plan's first when it has none.
fn days_worked(issued: &Issued<'_>, list: &BrakePlan) -> Vec<NaiveDate> {
    let clock = Clock::new(issued.shop.zone);
    let first = clock.day(issued.plan.from);
    let ends = list.runs.iter().map(|run| run.end);
    let ends = ends.chain(list.takedowns.iter().map(|takedown| takedown.end));
    let last = ends.max().map_or(first, |end| clock.day(end));
    let mut days = Vec::new();
    let mut day = first;
    loop {
        if !(Today { clock, day }).entries(list).is_empty() {
            days.push(day);
        }
        let next = days_later(day, 1);
        if day >= last || next == day {
            break;
        }
        day = next;
    }
    if days.is_empty() {
        days.push(first);
    }
    days
}

fn sheets(flow: &mut Flow, issued: &Issued<'_>, brake: &Brake, list: &BrakePlan) {
    for run in &list.runs {
        if !run.changeover.steps.is_empty() || takedowns_before(list, run).next().is_some() {
            sheet::pages(flow, issued, (brake, list), run);
        }
    }
    for takedown in takedowns_after_all(list) {
        sheet::takedown_pages(flow, issued, brake, takedown);
    }
}
