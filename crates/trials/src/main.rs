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
use trials::{batches, beds, load, odds, peer, replan, scale};

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
    /// The search and another solver on beds that are a setup matrix.
    Peer(peer::report::Ask),
    /// What each part of the search is worth: the search with each left out in turn.
    Ablation(Ask),
    /// The same on invented shops.
    AblationBeds(beds::ablation::Ask),
    /// Two rules of what stays in a magazine, with tools of unequal size.
    Sizes(Sizes),
    /// How long planning again takes after one event.
    Replan(replan::Ask),
    /// Which way of finding batches serves invented shops best.
    Batches(batches::Ask),
    /// The daemon under many callers at once.
    Load(load::Ask),
    /// How often dates promised with odds are kept in shops whose truth is known.
    Odds(odds::Ask),
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let text = match &arguments.command {
        Command::Published(ask) => published(ask).map_err(|error| error.to_string()),
        Command::Rivals(ask) => rivals(ask).map_err(|error| error.to_string()),
        Command::Beds(ask) => beds::report::run(ask).map_err(|error| error.to_string()),
        Command::Bounds(ask) => Ok(beds::bounds::run(ask)),
        Command::Peer(ask) => match peer::report::run(ask) {
            Err(error) if error.is_missing() => {
                let _ = writeln!(std::io::stderr(), "trials: {error}");
                return ExitCode::from(2);
            }
            told => told.map_err(|error| error.to_string()),
        },
        Command::Scale(ask) => scale::run(ask).map_err(|error| error.to_string()),
        Command::Ablation(ask) => ablation(ask).map_err(|error| error.to_string()),
        Command::AblationBeds(ask) => beds::ablation::run(ask).map_err(|error| error.to_string()),
        Command::Sizes(ask) => Ok(sizes(ask)),
        Command::Replan(ask) => replan::run(ask).map_err(|error| error.to_string()),
        Command::Odds(ask) => odds::run(ask).map_err(|error| error.to_string()),
        Command::Batches(ask) => batches::run(ask).map_err(|error| error.to_string()),
        Command::Load(ask) => load::run(ask).map_err(|error| error.to_string()),
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
