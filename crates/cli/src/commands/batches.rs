//! `batches`: what suits one bed together.

use super::{load, usual_from};
use crate::args::BatchesArgs;
use crate::printer::{Printer, batches};
use crate::trouble::{Ended, Trouble};

pub(super) fn run(args: &BatchesArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    let loaded = load(&args.folder, printer)?;
    let shop = &loaded.shop;
    let from = usual_from(shop);
    let report = workshop::batches(shop, from);
    if args.dot {
        printer.data(&report.dot)?;
    } else if args.json {
        printer.json(&batches::as_json(shop, &report))?;
    } else {
        let text = batches::as_text(shop, &report, from, loaded.invented, printer.width());
        printer.data(&text)?;
    }
    Ok(Ended::Done)
}
