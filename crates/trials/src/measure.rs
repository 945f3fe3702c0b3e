//! Runs a search on an instance and has the answer judged.

use crate::clock::{Clock, Limit};
use crate::instance::Instance;
use crate::judge::{self, Fault};
use crate::models::{SetupModel, ToolModel};
use crate::rivals;
use crate::start;
use clap::ValueEnum;
use search::{Effort, Problem, Sequences, solve};
use std::time::Duration;

/// Which search.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Searcher {
    /// Ours.
    Engine,
    /// Plain simulated annealing.
    Annealing,
    /// Plain iterated local search.
    Iterated,
}

/// What was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measured {
    /// The judge's value.
    pub value: i64,
    /// Steps done; 0 for rivals, which do not count them.
    pub steps: u64,
}

/// Why a run does not count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Untrue {
    /// The answer is none.
    #[error("the answer is none: {0}")]
    NoAnswer(#[from] Fault),
    /// The judge finds another value.
    #[error("the search says {said}, the judge {judged}")]
    OtherValue {
        /// The search's value.
        said: i64,
        /// The judge's.
        judged: i64,
    },
}

/// Searches an instance for a time; making the model and the first answer counts.
///
/// # Errors
/// [`Untrue`] when the judge does not agree.
pub fn run(
    instance: &Instance,
    searcher: Searcher,
    effort: Effort,
    time: Duration,
) -> Result<Measured, Untrue> {
    let limit = Limit::new(Clock::start(), time);
    let (answer, said, steps) = match instance {
        Instance::Setups(shop) => {
            let mut model = SetupModel::new(shop.clone());
            let first = start::setups(shop, &model);
            model.calibrate(&first);
            search_with(&model, first, searcher, effort, limit)
        }
        Instance::Tools(shop) => {
            let mut model = ToolModel::new(shop.clone());
            let first = start::tools(shop, &model);
            model.calibrate(&first);
            search_with(&model, first, searcher, effort, limit)
        }
    };
    let jobs = |line: &Vec<search::Slot>| line.iter().map(|slot| slot.job).collect();
    let lines: Vec<Vec<usize>> = answer.machines.iter().map(jobs).collect();
    let judged = match instance {
        Instance::Setups(shop) => judge::setups(shop, &lines)?,
        Instance::Tools(shop) => judge::tools(shop, &lines)?,
    };
    if judged != said {
        return Err(Untrue::OtherValue { said, judged });
    }
    Ok(Measured {
        value: judged,
        steps,
    })
}

fn search_with<P: Problem>(
    model: &P,
    first: Sequences,
    searcher: Searcher,
    effort: Effort,
    mut limit: Limit,
) -> (Sequences, i64, u64) {
    match searcher {
        Searcher::Engine => {
            let outcome = solve(model, first, effort, &mut limit, &mut ());
            (outcome.best, outcome.cost, outcome.steps)
        }
        Searcher::Annealing => {
            let (answer, worth) = rivals::annealing(model, first, effort.seed, limit);
            (answer, worth, 0)
        }
        Searcher::Iterated => {
            let (answer, worth) = rivals::iterated(model, first, effort.seed, limit);
            (answer, worth, 0)
        }
    }
}
