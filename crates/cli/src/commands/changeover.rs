//! `changeover`: one changeover as a sheet for the brake.

use super::{issue, known_brake, load, planned};
use crate::args::ChangeoverArgs;
use crate::out;
use crate::printer::{Printer, sheet};
use crate::trouble::{Ended, Trouble};
use model::{BrakePlan, Run};

/// Ends with 1 when the brake has no changeover ahead of it.
pub(super) fn run(args: &ChangeoverArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    let loaded = load(&args.folder, printer)?;
    let shop = &loaded.shop;
    let brake = known_brake(shop, &args.brake)?;
    let pdf = match &args.pdf {
        Some(path) => {
            out::sheet_may_be_written(path)?;
            Some((path, issue(&loaded, args.paper, args.made.as_deref())?))
        }
        None => None,
    };
    let made = planned(shop, &args.budget, None, printer)?;
    let mut lists = made.plan.brakes.iter();
    let list = lists
        .find(|list| list.brake == brake)
        .ok_or_else(|| Trouble::Usage(format!("the plan has no list for {brake}")))?;
    let Some(run) = chosen(list, args.run.as_deref())? else {
        if args.json {
            printer.json(&serde_json::Value::Null)?;
        }
        printer.message(&format!("{brake} has no changeover in this plan."));
        return Ok(Ended::NeedsAPerson);
    };
    if let Some((path, issue)) = pdf {
        let bytes = paper::changeover_sheet(shop, &made.plan, &brake, &run.name, &issue)?;
        printer.message(&out::write_sheet(path, &bytes)?);
    } else if args.json {
        printer.json(&sheet::as_json(shop, &made.plan, list, run))?;
    } else {
        let head = sheet::heading(shop, loaded.invented);
        let text = sheet::as_text(shop, list, run, printer.width());
        printer.data(&format!("{head}\n{text}\n{}", crate::printer::CAUTION))?;
    }
    Ok(Ended::Done)
}

/// The run whose changeover is meant: the one named, or the first that has any steps.
fn chosen<'p>(list: &'p BrakePlan, name: Option<&str>) -> Result<Option<&'p Run>, Trouble> {
    let Some(name) = name else {
        let next = list
            .runs
            .iter()
            .find(|run| !run.changeover.steps.is_empty());
        return Ok(next);
    };
    let run = list.runs.iter().find(|run| run.name == name);
    let missing = || {
        let names: Vec<&str> = list.runs.iter().map(|run| run.name.as_str()).collect();
        let range = match (names.first(), names.last()) {
            (Some(first), Some(last)) => format!("there are {first} to {last}"),
            _ => "there are none".to_owned(),
        };
        Trouble::Usage(format!("no run {name:?} on {}; {range}", list.brake))
    };
    run.map(Some).ok_or_else(missing)
}
