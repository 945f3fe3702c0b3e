//! The one executable: arguments in, tables or JSON out, an exit code at the end.
//!
//! `main` parses, [`commands`] call the use cases of `workshop`, and [`printer`] is the only module
//! that writes to the screen. Data goes to standard output, messages to standard error.

mod args;
mod commands;
mod out;
mod printer;
mod trouble;

use args::Args;
use clap::Parser;
use printer::Printer;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;
use trouble::Ended;

fn main() -> ExitCode {
    let args = match Args::try_parse() {
        Ok(args) => args,
        Err(usage) => {
            // Help and version are printed here too; when even that fails there is no one to tell.
            let _ = usage.print();
            return if usage.use_stderr() {
                Ended::BadInput.into()
            } else {
                Ended::Done.into()
            };
        }
    };
    let mut printer = Printer::for_this_terminal();
    let ran = catch_unwind(AssertUnwindSafe(|| {
        commands::run(args.command, &mut printer)
    }));
    match ran {
        Ok(Ok(ended)) => ended.into(),
        Ok(Err(trouble)) => {
            printer.trouble(&trouble);
            trouble.ended().into()
        }
        Err(_) => {
            printer.message("This is a fault of the program, not of the shop's data.");
            Ended::Fault.into()
        }
    }
}
