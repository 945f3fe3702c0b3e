//! `quote`: when a job that is not in the shop yet would be done.

use super::part::{Described, drawn};
use super::{load, planned, read_plan, usual_from};
use crate::args::QuoteArgs;
use crate::out;
use crate::printer::quote::Page;
use crate::printer::{Printer, quote, quote_tables};
use crate::trouble::{Ended, Trouble};
use model::Shop;
use units::{Length, LengthUnit, MaterialId, Moment, PartId, parse_length};
use workshop::{Job, QuoteAsk, QuoteError, QuoteSheet, Rough, Wanted, quote_json};

/// Ends with 1 when the job has no place.
pub(super) fn run(args: &QuoteArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    if let Some(path) = &args.table {
        out::table_may_be_written(path)?;
    }
    let loaded = load(&args.folder, printer)?;
    let shop = &loaded.shop;
    let wanted = wanted(args, shop)?;
    let due = moment(shop, "--due", args.due.as_deref())?;
    let ready = moment(shop, "--ready", args.ready.as_deref())?;
    let from = match moment(shop, "--from", args.budget.from.as_deref())? {
        Some(from) => from,
        None => usual_from(shop),
    };
    let before = match &args.after {
        Some(path) => read_plan(path, shop)?,
        None => planned(shop, &args.budget, None, printer)?.plan,
    };
    let ask = QuoteAsk {
        job: Job {
            wanted,
            quantity: args.quantity,
            ready: ready.unwrap_or(from).max(from),
            weight: args.weight,
        },
        from,
        seed: args.budget.seed,
        samples: args.samples,
        chance: None,
    };
    let answer = workshop::quote(shop, &ask, &before).map_err(|error| match error {
        QuoteError::Job(error) => Trouble::Usage(error.to_string()),
        QuoteError::Rejected(rejected) => Trouble::Rejected(rejected),
    })?;
    let sheet = QuoteSheet {
        quote: &answer,
        ask: &ask,
        due,
        stands: args.after.is_some(),
        invented: loaded.invented,
    };
    if let Some(path) = &args.table {
        let tables = quote_tables::all(&quote_json(&sheet));
        printer.message(&out::write_tables(path, &tables, from)?);
    }
    if args.json {
        printer.json(&quote_json(&sheet))?;
    } else {
        let width = printer.width();
        printer.data(&quote::as_text(&Page { sheet, width }))?;
    }
    if answer.answer.place.is_some() {
        return Ok(Ended::Done);
    }
    printer.message("This job has no place: a person has to decide.");
    Ok(Ended::NeedsAPerson)
}

fn moment(shop: &Shop, option: &str, text: Option<&str>) -> Result<Option<Moment>, Trouble> {
    text.map(|text| documents::parse_moment(text, shop.zone))
        .transpose()
        .map_err(|problem| Trouble::Usage(format!("{option}: {problem}")))
}

/// What is to be bent; the options have been seen to be complete.
fn wanted(args: &QuoteArgs, shop: &Shop) -> Result<Wanted, Trouble> {
    let usage = |option: &str, problem: &dyn std::fmt::Display| {
        Trouble::Usage(format!("{option}: {problem}"))
    };
    if let Some(part) = &args.part {
        let id = PartId::new(part).map_err(|problem| usage("--part", &problem))?;
        return Ok(Wanted::Known(id));
    }
    if let Some(path) = &args.dxf {
        let stem = path.file_stem().map(|stem| stem.display().to_string());
        let what = Described {
            id: PartId::new("DRAWN").map_err(|problem| usage("--dxf", &problem))?,
            name: stem.unwrap_or_default(),
            thickness: args.thickness.as_deref().unwrap_or_default(),
            material: args.material.as_deref().unwrap_or_default(),
        };
        let (_, drawn) = drawn(shop, path, &args.drawing, what)?;
        return Ok(Wanted::Drawn {
            part: Box::new(drawn.part),
            assumed: drawn.assumed,
        });
    }
    let length = |option: &str, text: &Option<String>| -> Result<Length, Trouble> {
        let text = text.as_deref().unwrap_or_default();
        parse_length(text, LengthUnit::Millimetre).map_err(|problem| usage(option, &problem))
    };
    let material = MaterialId::new(args.material.as_deref().unwrap_or_default());
    Ok(Wanted::Described(Rough {
        bends: args.bends.unwrap_or_default(),
        length: length("--length", &args.length)?,
        width: length("--width", &args.width)?,
        thickness: length("--thickness", &args.thickness)?,
        material: material.map_err(|problem| usage("--material", &problem))?,
        flange: match &args.flange {
            Some(_) => Some(length("--flange", &args.flange)?),
            None => None,
        },
    }))
}
