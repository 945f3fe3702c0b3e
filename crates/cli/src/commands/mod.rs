//! One module per call, and what they share: loading a shop, planning it under a budget.

mod batches;
mod bends;
mod changeover;
mod check;
mod db;
mod interrupt;
mod people;
mod plan;
mod quote;
mod serve;
mod verify;
mod whatif;

use crate::args::{BudgetArgs, Command, PaperSize};
use crate::printer::Printer;
use crate::trouble::{Ended, Trouble};
use model::{Plan, Shop};
use std::fs::File;
use std::io::Read;
use std::path::Path;
use std::time::{SystemTime, UNIX_EPOCH};
use units::{BrakeId, Moment, Severity};
use workshop::{Budget, Earlier, Made, PlanAsk, check_files, default_from, make_plan, read_folder};

/// Carries out one call.
pub(crate) fn run(command: Command, printer: &mut Printer) -> Result<Ended, Trouble> {
    match command {
        Command::Check(args) => check::run(&args, printer),
        Command::Bends(args) => bends::run(&args, printer),
        Command::Plan(args) => plan::run(&args, printer),
        Command::Batches(args) => batches::run(&args, printer),
        Command::Changeover(args) => changeover::run(&args, printer),
        Command::Quote(args) => quote::run(&args, printer),
        Command::Whatif(args) => whatif::run(&args, printer),
        Command::Verify(args) => verify::run(&args, printer),
        Command::Serve(args) => serve::run(args, printer),
        Command::Db(args) => db::run(args.what, printer),
        Command::People(args) => people::run(args, printer),
    }
}

/// A shop without errors.
struct Loaded {
    shop: Shop,
    /// Whether its files say that the shop is made up.
    invented: bool,
}

/// Reads a shop folder; warnings are told, errors end the call.
fn load(folder: &Path, printer: &mut Printer) -> Result<Loaded, Trouble> {
    let files = read_folder(folder)?;
    let invented = files.get("shop.toml").is_some_and(says_invented);
    let checked = check_files(&files);
    let Some(shop) = checked.shop else {
        return Err(Trouble::Findings(checked.findings));
    };
    for finding in &checked.findings {
        if finding.severity == Severity::Warning {
            printer.message(&finding.to_string());
        }
    }
    Ok(Loaded { shop, invented })
}

/// Whether shop.toml carries `invented = true`. It changes nothing in a plan, so the shop itself
/// does not know; whoever prints must say it.
fn says_invented(bytes: &[u8]) -> bool {
    let table = std::str::from_utf8(bytes).ok().and_then(|text| {
        text.trim_start_matches('\u{feff}')
            .parse::<toml::Table>()
            .ok()
    });
    table.is_some_and(|table| table.get("invented").and_then(toml::Value::as_bool) == Some(true))
}

/// The moment a call is about when it names none.
fn usual_from(shop: &Shop) -> Moment {
    default_from(shop, now())
}

/// The time of the system's clock; one set before 1970 counts as 1970.
fn now() -> Moment {
    let since_1970 = SystemTime::now().duration_since(UNIX_EPOCH);
    let seconds = since_1970.unwrap_or_default().as_secs();
    Moment(i64::try_from(seconds).unwrap_or(i64::MAX))
}

/// What sheets on paper say beside the plan.
fn issue(loaded: &Loaded, size: PaperSize, made: Option<&str>) -> Result<paper::Issue, Trouble> {
    let made = match made {
        None => now(),
        Some(text) => documents::parse_moment(text, loaded.shop.zone)
            .map_err(|problem| Trouble::Usage(format!("--made: {problem}")))?,
    };
    Ok(paper::Issue {
        paper: match size {
            PaperSize::A4 => paper::Paper::A4,
            PaperSize::Letter => paper::Paper::Letter,
        },
        number: None,
        made: Some(made),
        invented: loaded.invented,
    })
}

/// Plans a shop within a budget. An interrupt from the keyboard ends the search, not the call.
fn planned(
    shop: &Shop,
    budget: &BudgetArgs,
    before: Option<&Plan>,
    printer: &mut Printer,
) -> Result<Made, Trouble> {
    let from = match &budget.from {
        None => usual_from(shop),
        Some(text) => documents::parse_moment(text, shop.zone)
            .map_err(|problem| Trouble::Usage(format!("--from: {problem}")))?,
    };
    let ask = PlanAsk {
        from,
        seed: budget.seed,
        budget: match budget.seconds {
            Some(seconds) => Budget::Seconds(seconds),
            None => Budget::Steps(budget.iterations),
        },
    };
    let interrupt = interrupt::watch_keyboard()?;
    let made = make_plan(
        shop,
        ask,
        before.map(Earlier::in_force),
        interrupt,
        &mut printer.progress(),
    )?;
    printer.end_progress();
    if interrupt::came() {
        printer.message(&format!(
            "Interrupted: this is the best plan of the {} steps so far.",
            made.plan.iterations
        ));
    }
    for finding in &made.findings {
        printer.message(&finding.to_string());
    }
    Ok(made)
}

/// The brake of that id, or a message with the ids there are.
fn known_brake(shop: &Shop, name: &str) -> Result<BrakeId, Trouble> {
    let brakes = || shop.brakes.iter().map(|brake| &brake.id);
    match brakes().find(|id| id.as_str() == name) {
        Some(id) => Ok(id.clone()),
        None => {
            let all: Vec<&str> = brakes().map(BrakeId::as_str).collect();
            Err(Trouble::Usage(format!(
                "no brake {name:?} in this shop; there are {}",
                all.join(", ")
            )))
        }
    }
}

/// Reads no more of a file than this and one byte: the reader refuses larger plans by their size.
const PLAN_BYTES_MOST: u64 = 64 * 1024 * 1024;

/// Reads a plan that was written for this shop.
fn read_plan(path: &Path, shop: &Shop) -> Result<Plan, Trouble> {
    let bytes = read_capped(path)?;
    documents::read_plan(&path.display().to_string(), &bytes, shop).map_err(Trouble::Findings)
}

/// Reads a file that is not part of the shop folder.
fn read_capped(path: &Path) -> Result<Vec<u8>, Trouble> {
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| file.take(PLAN_BYTES_MOST + 1).read_to_end(&mut bytes))
        .map_err(|cause| Trouble::Unreadable {
            path: path.to_owned(),
            cause,
        })?;
    Ok(bytes)
}
