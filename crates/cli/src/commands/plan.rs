//! `plan`: the run lists, what has no place, and the totals.

use super::{issue, load, made_at, planned, read_plan};
use crate::args::PlanArgs;
use crate::out;
use crate::printer::{Printer, day_plan, unplaced};
use crate::trouble::{Ended, Trouble};

/// Ends with 1 when an order has no place.
pub(super) fn run(args: &PlanArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    let loaded = load(&args.folder, printer)?;
    let shop = &loaded.shop;
    if let Some(folder) = &args.out {
        out::may_be_written(folder)?;
    }
    let issue = match args.paper {
        Some(size) => Some(issue(&loaded, size, args.made.as_deref())?),
        None => None,
    };
    let before = match &args.after {
        Some(path) => Some(read_plan(path, shop)?),
        None => None,
    };
    let made = planned(shop, &args.budget, before.as_ref(), printer)?;
    let plan = &made.plan;
    let page = day_plan::Page {
        shop,
        plan,
        days: args.days,
        invented: loaded.invented,
    };
    if let Some(folder) = &args.out {
        let made = made_at(&loaded, args.made.as_deref())?;
        let calendars = args.ical.then_some(exchange::ical::Issue {
            made,
            invented: loaded.invented,
        });
        let tables = args.tables.then_some(made);
        let written = out::write(folder, &page, issue.as_ref(), calendars, tables)?;
        printer.message(&written);
    }
    if args.json {
        printer.data(&documents::write_plan(plan, shop))?;
    } else if args.out.is_some() {
        printer.data(&day_plan::short(&page, printer.width()))?;
    } else {
        printer.data(&day_plan::full(&page, printer.width()))?;
    }
    if plan.unplaced.is_empty() {
        return Ok(Ended::Done);
    }
    printer.message(&unplaced::count_line(plan));
    Ok(Ended::NeedsAPerson)
}
