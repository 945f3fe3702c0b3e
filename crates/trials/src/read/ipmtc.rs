//! Identical machines with tool magazines, makespan.

use super::{JOBS_MOST, MACHINES_MOST, ReadError, TOOLS_MOST, Words};
use crate::instance::{Goal, ToolShop};

/// Reads machines, jobs, tools, capacity; the time of one switch; processing times; a row for each
/// tool.
///
/// # Errors
/// [`ReadError`] with the line.
pub fn ipmtc(file: &str, text: &str) -> Result<ToolShop, ReadError> {
    let mut words = Words::of(file, text, &[]);
    let machines = words.count("the number of machines", MACHINES_MOST)?;
    let jobs = words.count("the number of jobs", JOBS_MOST)?;
    let tools = words.count("the number of tools", TOOLS_MOST)?;
    let capacity = words.count("the capacity", TOOLS_MOST)?;
    let switch = words.amount("the time of a switch")?;
    let process = words.amounts("a processing time", jobs)?;
    let needs = words.tool_rows(tools, jobs)?;
    let capacity = vec![u32::try_from(capacity).unwrap_or(u32::MAX); machines];
    words.fits(&needs, &capacity)?;
    Ok(ToolShop {
        capacity,
        switch_time: vec![switch; machines],
        process: vec![process; machines],
        tools: needs,
        goal: Goal::Makespan,
    })
}
