//! `batches`: what suits one bed together.

use super::{load, usual_from};
use crate::args::BatchesArgs;
use crate::out;
use crate::printer::batch_picture::{Shown, as_svg};
use crate::printer::{Printer, batches};
use crate::trouble::{Ended, Trouble};

pub(super) fn run(args: &BatchesArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    let loaded = load(&args.folder, printer)?;
    let shop = &loaded.shop;
    let from = usual_from(shop);
    if let Some(path) = &args.svg {
        out::picture_may_be_written(path)?;
    }
    let report = workshop::batches(shop, from);
    if let Some(path) = &args.svg {
        let shown = Shown {
            shop,
            report: &report,
            from,
            invented: loaded.invented,
        };
        printer.message(&out::write_picture(path, as_svg(&shown).as_bytes())?);
    }
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
