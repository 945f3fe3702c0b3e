//! Unrelated machines with setups that depend on machine and sequence, makespan.

use super::{JOBS_MOST, MACHINES_MOST, ReadError, Words};
use crate::instance::{Goal, SetupShop};

/// Reads jobs and machines, for each job pairs of machine and processing time, and after `SSD` a
/// matrix for each machine.
///
/// # Errors
/// [`ReadError`] with the line.
pub fn upms_sdst(file: &str, text: &str) -> Result<SetupShop, ReadError> {
    let mut words = Words::of(file, text, &[]);
    let jobs = words.count("the number of jobs", JOBS_MOST)?;
    let machines = words.count("the number of machines", MACHINES_MOST)?;
    // A 1 and the machines once more.
    words.word("a one")?;
    words.word("the number of machines")?;
    let mut process = vec![Vec::with_capacity(jobs); machines];
    let most = i64::try_from(machines).unwrap_or(i64::MAX) - 1;
    for _ in 0..jobs {
        let mut row = vec![0; machines];
        for _ in 0..machines {
            let machine = words.number("a machine", 0, most)?;
            let machine = usize::try_from(machine).unwrap_or(0);
            row[machine] = words.amount("a processing time")?;
        }
        for (of_machine, time) in process.iter_mut().zip(row) {
            of_machine.push(time);
        }
    }
    words.skip_to("SSD")?;
    let mut setup = Vec::with_capacity(machines);
    for _ in 0..machines {
        words.word("the heading of a machine's setups")?;
        setup.push(words.amounts("a setup time", jobs * jobs)?);
    }
    Ok(SetupShop {
        jobs,
        process,
        first: vec![vec![0; jobs]; machines],
        setup,
        last: vec![0; jobs],
        weight: vec![1; jobs],
        due: vec![0; jobs],
        goal: Goal::Makespan,
    })
}
