//! Measures the search on published scheduling instances.

mod ablation;
mod report;
mod sizes;

use ablation::ablation;
use clap::{Parser, Subcommand};
use report::{Ask, published, rivals};
use sizes::{Sizes, sizes};
use std::io::Write;
use std::process::ExitCode;

/// Measures the search on published scheduling instances.
#[derive(Debug, Parser)]
#[command(name = "trials")]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// The search against the values known for each set.
    Published(Ask),
    /// The search against plain rivals at equal time.
    Rivals(Ask),
    /// What each part of the search is worth: the search with each left out in turn.
    Ablation(Ask),
    /// Two rules of what stays in a magazine, with tools of unequal size.
    Sizes(Sizes),
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let text = match &arguments.command {
        Command::Published(ask) => published(ask),
        Command::Rivals(ask) => rivals(ask),
        Command::Ablation(ask) => ablation(ask),
        Command::Sizes(ask) => Ok(sizes(ask)),
    };
    let written = match &text {
        Ok(text) => std::io::stdout().write_all(text.as_bytes()),
        Err(error) => writeln!(std::io::stderr(), "trials: {error}"),
    };
    if text.is_ok() && written.is_ok() {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}
