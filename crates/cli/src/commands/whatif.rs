//! `whatif`: which change of the shop pays.

use super::{interrupt, load, usual_from};
use crate::args::WhatifArgs;
use crate::printer::whatif::Page;
use crate::printer::{Printer, whatif, whatif_json};
use crate::trouble::{Ended, Trouble};
use prospects::{Candidate, Change};
use workshop::{WhatIfAsk, WhatIfError, what_if};

/// Ends with 1 when an interrupt came before anything could be compared.
pub(super) fn run(args: &WhatifArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    let loaded = load(&args.folder, printer)?;
    let shop = &loaded.shop;
    let from = match &args.from {
        None => usual_from(shop),
        Some(text) => documents::parse_moment(text, shop.zone)
            .map_err(|problem| Trouble::Usage(format!("--from: {problem}")))?,
    };
    let mut changes: Vec<Candidate> = Vec::new();
    for words in &args.changes {
        let change = Change::parse(shop, words)
            .map_err(|problem| Trouble::Usage(format!("--change: {problem}")))?;
        if !changes.iter().any(|one| one.change == change) {
            changes.push(Candidate::asked(change));
        }
    }
    let ask = WhatIfAsk {
        from,
        seed: args.seed,
        seeds: args.seeds,
        iterations: args.iterations,
        further: args.further,
        changes,
    };
    let interrupt = interrupt::watch_keyboard()?;
    let progress = printer.plans_progress();
    let answer = what_if(shop, &ask, interrupt, &|done, all| progress.made(done, all));
    printer.end_progress();
    let answer = answer.map_err(|error| match error {
        WhatIfError::Change { .. } => Trouble::Usage(format!("--change: {error}")),
        WhatIfError::Rejected(rejected) => Trouble::Rejected(rejected),
    })?;
    let page = Page {
        shop,
        answer: &answer,
        ask: &ask,
        invented: loaded.invented,
        width: printer.width(),
    };
    if args.json {
        printer.json(&whatif_json::as_json(&page))?;
    } else {
        printer.data(&whatif::as_text(&page))?;
    }
    if !answer.complete {
        printer.message("Interrupted: this is partial.");
    }
    if answer.tried.is_empty() && !answer.complete {
        return Ok(Ended::NeedsAPerson);
    }
    Ok(Ended::Done)
}
