//! The asymmetric travelling salesman.

use super::{JOBS_MOST, ReadError, Trouble, Words};
use crate::instance::{Goal, SetupShop};

/// Reads a full matrix. The first place is where the tour starts and ends, the others are the jobs:
/// the way from it is the first setup, the way back comes after the last job.
///
/// # Errors
/// [`ReadError`] with the line.
pub fn atsp(file: &str, text: &str) -> Result<SetupShop, ReadError> {
    let mut words = Words::of(file, text, &[':']);
    words.skip_to("DIMENSION")?;
    let places = words.count("the number of places", JOBS_MOST)?;
    words.skip_to("EDGE_WEIGHT_FORMAT")?;
    let format = words.word("the format")?;
    if format != "FULL_MATRIX" {
        return Err(words.error(Trouble::Kind {
            what: "EDGE_WEIGHT_FORMAT",
            found: format.to_owned(),
            wanted: "FULL_MATRIX",
        }));
    }
    words.skip_to("EDGE_WEIGHT_SECTION")?;
    let matrix = words.amounts("a distance", places * places)?;
    let jobs = places - 1;
    let at = |from: usize, to: usize| matrix[from * places + to];
    let mut setup = Vec::with_capacity(jobs * jobs);
    for from in 1..places {
        setup.extend((1..places).map(|to| at(from, to)));
    }
    Ok(SetupShop {
        jobs,
        process: vec![vec![0; jobs]],
        first: vec![(1..places).map(|to| at(0, to)).collect()],
        setup: vec![setup],
        last: (1..places).map(|from| at(from, 0)).collect(),
        weight: vec![1; jobs],
        due: vec![0; jobs],
        goal: Goal::Total,
    })
}
