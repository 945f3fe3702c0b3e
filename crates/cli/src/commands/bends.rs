//! `bends`: one part, bend by bend, on every brake.

use super::{known_brake, load, usual_from};
use crate::args::BendsArgs;
use crate::out;
use crate::printer::part_sheet::{Depth, Page};
use crate::printer::{CAUTION, Printer, part_sheet};
use crate::trouble::{Ended, Trouble};
use model::Part;
use workshop::Ask;

/// Ends with 1 when no brake asked about can bend the part.
pub(super) fn run(args: &BendsArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    let loaded = load(&args.folder, printer)?;
    let shop = &loaded.shop;
    let only = match &args.brake {
        Some(name) => Some(known_brake(shop, name)?),
        None => None,
    };
    if let Some(folder) = &args.out {
        out::pictures_may_be_written(folder)?;
    }
    let found = shop.parts.iter().find(|part| part.id.as_str() == args.part);
    let part: &Part = found.ok_or_else(|| no_such_part(&args.part))?;
    let ask = Ask {
        at: usual_from(shop),
        sections: args.draw || args.out.is_some() || args.json,
        orders: true,
    };
    let mut study =
        workshop::part_sheet(shop, &part.id, ask).ok_or_else(|| no_such_part(&args.part))?;
    study
        .brakes
        .retain(|brake| only.as_ref().is_none_or(|only| *only == brake.brake));
    if let Some(folder) = &args.out {
        let files = part_sheet::files(part, &study, CAUTION);
        printer.message(&out::write_pictures(folder, &files)?);
    }
    let page = Page {
        shop,
        part,
        study: &study,
        depth: depth(args),
        draw: args.draw,
        explain: args.explain,
        invented: loaded.invented,
        width: printer.width(),
    };
    if args.json {
        printer.json(&part_sheet::as_json(&page))?;
    } else {
        printer.data(&part_sheet::as_text(&page))?;
    }
    let bendable = study.brakes.iter().any(|brake| !brake.options.is_empty());
    Ok(if bendable {
        Ended::Done
    } else {
        Ended::NeedsAPerson
    })
}

fn depth(args: &BendsArgs) -> Depth {
    match (args.all, args.brake.is_some()) {
        (true, true) => Depth::Every,
        (true, false) | (false, true) => Depth::Best,
        (false, false) => Depth::Short,
    }
}

fn no_such_part(name: &str) -> Trouble {
    Trouble::Usage(format!(
        "no part {name:?} in this shop; parts.csv lists them"
    ))
}
