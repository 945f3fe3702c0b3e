//! One machine, weighted tardiness, setups that depend on the sequence.

use super::{JOBS_MOST, NUMBER_MOST, ReadError, Words};
use crate::instance::{Goal, SetupShop};

/// Reads the sections `Problem Size`, `Process Times`, `Weights`, `Duedates` and `Setup Times`
/// (triples from, to, time; from −1 is the first setup). Due times may be negative.
///
/// # Errors
/// [`ReadError`] with the line.
pub fn wtsds(file: &str, text: &str) -> Result<SetupShop, ReadError> {
    let mut words = Words::of(file, text, &[]);
    words.skip_to("Size:")?;
    let jobs = words.count("the number of jobs", JOBS_MOST)?;
    words.skip_to("Process")?;
    words.skip_to("Times:")?;
    let process = words.amounts("a processing time", jobs)?;
    words.skip_to("Weights:")?;
    let weight = words.amounts("a weight", jobs)?;
    words.skip_to("Duedates:")?;
    let due = (0..jobs)
        .map(|_| words.number("a due time", -NUMBER_MOST, NUMBER_MOST))
        .collect::<Result<_, _>>()?;
    words.skip_to("Setup")?;
    words.skip_to("Times:")?;
    let (mut first, mut setup) = (vec![0; jobs], vec![0; jobs * jobs]);
    let most = i64::try_from(jobs).unwrap_or(i64::MAX) - 1;
    while words.peek().is_some_and(|word| word != "End") {
        let from = words.number("the job before a setup", -1, most)?;
        let to = words.number("the job after a setup", 0, most)?;
        let to = usize::try_from(to).unwrap_or(0);
        let time = words.amount("a setup time")?;
        match usize::try_from(from) {
            Ok(from) => setup[from * jobs + to] = time,
            Err(_) => first[to] = time,
        }
    }
    Ok(SetupShop {
        jobs,
        process: vec![process],
        first: vec![first],
        setup: vec![setup],
        last: vec![0; jobs],
        weight,
        due,
        goal: Goal::WeightedTardiness,
    })
}
