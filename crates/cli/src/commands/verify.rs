//! `verify`: the judge, alone.

use super::{load, read_plan};
use crate::args::VerifyArgs;
use crate::printer::{Printer, verdict};
use crate::trouble::{Ended, Trouble};

/// Ends with 1 when the plan is rejected, with 2 when it cannot be read.
pub(super) fn run(args: &VerifyArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    let loaded = load(&args.folder, printer)?;
    let plan = read_plan(&args.plan, &loaded.shop)?;
    let judged = workshop::verify(&loaded.shop, &plan);
    if args.json {
        printer.json(&verdict::as_json(&judged))?;
    } else {
        printer.data(&verdict::as_text(&plan, &judged))?;
    }
    Ok(if judged.accepted() {
        Ended::Done
    } else {
        Ended::NeedsAPerson
    })
}
