//! `bends`: one part, bend by bend, on every brake.

use super::{known_brake, load, usual_from};
use crate::args::BendsArgs;
use crate::printer::{Printer, part_sheet};
use crate::trouble::{Ended, Trouble};
use model::Part;

/// Ends with 1 when no brake asked about can bend the part.
pub(super) fn run(args: &BendsArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    let loaded = load(&args.folder, printer)?;
    let shop = &loaded.shop;
    let only = match &args.brake {
        Some(name) => Some(known_brake(shop, name)?),
        None => None,
    };
    let found = shop.parts.iter().find(|part| part.id.as_str() == args.part);
    let part: &Part = found.ok_or_else(|| no_such_part(&args.part))?;
    let mut sheet = workshop::part_sheet(shop, &part.id, usual_from(shop))
        .ok_or_else(|| no_such_part(&args.part))?;
    sheet
        .brakes
        .retain(|brake| only.as_ref().is_none_or(|only| *only == brake.brake));
    if args.json {
        printer.json(&part_sheet::as_json(shop, part, &sheet))?;
    } else {
        let text = part_sheet::as_text(shop, part, &sheet, loaded.invented, printer.width());
        printer.data(&text)?;
    }
    let bendable = sheet.brakes.iter().any(|brake| !brake.bends.is_empty());
    Ok(if bendable {
        Ended::Done
    } else {
        Ended::NeedsAPerson
    })
}

fn no_such_part(name: &str) -> Trouble {
    Trouble::Usage(format!(
        "no part {name:?} in this shop; parts.csv lists them"
    ))
}
