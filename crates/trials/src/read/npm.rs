//! Different machines with tool magazines.

use super::{JOBS_MOST, MACHINES_MOST, ReadError, TOOLS_MOST, Trouble, Words};
use crate::instance::{Goal, ToolShop};

/// Reads rows separated by `;`, padded with `NA`: sizes, capacities, switching times, a row of
/// processing times for each machine, a row of zeros and ones for each tool.
///
/// # Errors
/// [`ReadError`] with the line.
pub fn ssp_npm(file: &str, text: &str, goal: Goal) -> Result<ToolShop, ReadError> {
    let mut words = Words::of(file, text, &[';', '"']);
    let machines = words.count("the number of machines", MACHINES_MOST)?;
    let jobs = words.count("the number of jobs", JOBS_MOST)?;
    let tools = words.count("the number of tools", TOOLS_MOST)?;
    skip_padding(&mut words)?;
    let mut capacity = Vec::with_capacity(machines);
    for _ in 0..machines {
        let slots = words.count("a capacity", TOOLS_MOST)?;
        capacity.push(u32::try_from(slots).unwrap_or(u32::MAX));
    }
    skip_padding(&mut words)?;
    let switch_time = words.amounts("a switching time", machines)?;
    skip_padding(&mut words)?;
    let mut process = Vec::with_capacity(machines);
    for _ in 0..machines {
        process.push(words.amounts("a processing time", jobs)?);
        skip_padding(&mut words)?;
    }
    let mut needs = vec![0_u128; jobs];
    for tool in 0..tools {
        for need in &mut needs {
            if words.number("a zero or one of the tool matrix", 0, 1)? == 1 {
                *need |= 1 << tool;
            }
        }
        skip_padding(&mut words)?;
    }
    if let Some(word) = words.peek() {
        let found = word.to_owned();
        words.word("the end")?;
        let wanted = "the end";
        return Err(words.error(Trouble::NotANumber { found, wanted }));
    }
    words.fits(&needs, &capacity)?;
    Ok(ToolShop {
        capacity,
        switch_time,
        process,
        tools: needs,
        goal,
    })
}

fn skip_padding(words: &mut Words) -> Result<(), ReadError> {
    while words.peek() == Some("NA") {
        words.word("padding")?;
    }
    Ok(())
}
