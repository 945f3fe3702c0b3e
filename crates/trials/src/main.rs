//! Measures the search on published scheduling instances.

mod report;

use clap::{Parser, Subcommand};
use report::{Ask, published, rivals};
use std::io::Write;
use std::process::ExitCode;
use trials::{batches, beds, scale};

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
    /// The search on invented shops: proofs, rivals, baselines, and without some of its means.
    Beds(beds::report::Ask),
    /// How near the bound comes to proved optima of tiny shops.
    Bounds(beds::bounds::Ask),
    /// How planning grows with the shop.
    Scale(scale::Ask),
    /// Which way of finding batches serves invented shops best.
    Batches(batches::Ask),
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let text = match &arguments.command {
        Command::Published(ask) => published(ask).map_err(|error| error.to_string()),
        Command::Rivals(ask) => rivals(ask).map_err(|error| error.to_string()),
        Command::Beds(ask) => beds::report::run(ask).map_err(|error| error.to_string()),
        Command::Bounds(ask) => Ok(beds::bounds::run(ask)),
        Command::Scale(ask) => scale::run(ask).map_err(|error| error.to_string()),
        Command::Batches(ask) => batches::run(ask).map_err(|error| error.to_string()),
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
