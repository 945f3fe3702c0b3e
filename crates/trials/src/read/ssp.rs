//! One machine with a tool magazine, tools switched.

use super::{JOBS_MOST, ReadError, TOOLS_MOST, Words};
use crate::instance::{Goal, ToolShop};

/// Reads jobs, tools, capacity and a row for each tool.
///
/// # Errors
/// [`ReadError`] with the line.
pub fn ssp(file: &str, text: &str) -> Result<ToolShop, ReadError> {
    let mut words = Words::of(file, text, &[]);
    let jobs = words.count("the number of jobs", JOBS_MOST)?;
    let tools = words.count("the number of tools", TOOLS_MOST)?;
    let capacity = words.count("the capacity", TOOLS_MOST)?;
    let needs = words.tool_rows(tools, jobs)?;
    let capacity = vec![u32::try_from(capacity).unwrap_or(u32::MAX)];
    words.fits(&needs, &capacity)?;
    Ok(ToolShop {
        capacity,
        switch_time: vec![1],
        process: vec![vec![0; jobs]],
        tools: needs,
        goal: Goal::Total,
    })
}
