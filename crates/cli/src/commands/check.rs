//! `check`: everything to mend or to know about a shop folder.

use crate::args::CheckArgs;
use crate::printer::{Printer, findings};
use crate::trouble::{Ended, Trouble};
use units::Finding;

/// Findings go to standard error, one a line; what was read, and their count, to standard output.
pub(super) fn run(args: &CheckArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    let checked = workshop::check(&args.folder)?;
    let wrong = checked.findings.iter().any(Finding::is_error);
    if args.json {
        printer.json(&findings::as_json(&checked.findings))?;
    } else {
        for finding in &checked.findings {
            printer.message(&finding.to_string());
        }
        let count = findings::count_line(&checked.findings);
        match &checked.shop {
            Some(shop) => {
                printer.data(&findings::read_line(shop))?;
                printer.data(&count)?;
            }
            None => printer.message(count.trim_end()),
        }
    }
    Ok(if wrong { Ended::BadInput } else { Ended::Done })
}
