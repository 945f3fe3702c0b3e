//! The table of magazines with tools of unequal size.

use clap::Args;
use std::fmt::Write as _;
use tabled::builder::Builder;
use tabled::settings::object::Rows;
use tabled::settings::{Alignment, Style};
use trials::unequal::{compare, draw};

/// What is to be compared.
#[derive(Debug, Args)]
pub(crate) struct Sizes {
    /// Instances of each kind, drawn from seeds 1, 2, ...
    #[arg(long, default_value_t = 50)]
    instances: u64,
    /// Steps of each search.
    #[arg(long, default_value_t = 5_000)]
    steps: u64,
}

/// Widest tools in slots.
const LARGEST: [u32; 4] = [1, 2, 4, 8];
/// Room beyond that of the job that needs most, in percent of it.
const SPARE: [u32; 2] = [20, 60];

/// A line for each kind of instance.
pub(crate) fn sizes(ask: &Sizes) -> String {
    let mut builder = Builder::default();
    builder.push_record([
        "widest tool",
        "spare room",
        "drawn: soonest",
        "drawn: per slot",
        "saved",
        "searched: soonest",
        "searched: per slot",
        "saved",
    ]);
    for largest in LARGEST {
        for spare in SPARE {
            let (mut drawn, mut searched) = ([0, 0], [0, 0]);
            for seed in 1..=ask.instances {
                let switches = compare(&draw(largest, spare, seed), ask.steps, seed);
                for rule in 0..2 {
                    drawn[rule] += switches.as_drawn[rule];
                    searched[rule] += switches.searched[rule];
                }
            }
            let mut record = vec![largest.to_string(), format!("{spare} %")];
            record.extend(means(drawn, ask.instances));
            record.extend(means(searched, ask.instances));
            builder.push_record(record);
        }
    }
    let mut table = builder.build();
    table
        .with(Style::markdown())
        .modify(Rows::new(1..), Alignment::right());
    let mut text = table.to_string();
    let _ = writeln!(text);
    text
}

/// Both rules' mean, and what the second saves.
#[allow(clippy::cast_precision_loss)] // counts
fn means([soonest, per_slot]: [i64; 2], instances: u64) -> [String; 3] {
    let mean = |sum: i64| format!("{:.2}", sum as f64 / instances.max(1) as f64);
    let saved = 100.0 * (soonest - per_slot) as f64 / soonest.max(1) as f64;
    [mean(soonest), mean(per_slot), format!("{saved:.1} %")]
}
