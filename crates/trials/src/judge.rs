//! Plain evaluators of answers, for counting only what is true. They share no code with the models:
//! one step after the other, as the problems are described.

use crate::instance::{Goal, SetupShop, SizedShop, ToolShop};

/// Why an answer does not count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// Another number of lines than machines.
    #[error("{0} lines of jobs for {1} machines")]
    Lines(usize, usize),
    /// A job is missing, twice there or unknown.
    #[error("job {0} is not there exactly once")]
    Job(usize),
    /// A job's tools do not fit its machine.
    #[error("job {0} does not fit machine {1}")]
    Misfit(usize, usize),
}

/// Jobs in order for every machine.
pub type Lines = [Vec<usize>];

fn once_each(lines: &Lines, machines: usize, jobs: usize) -> Result<(), Fault> {
    if lines.len() != machines {
        return Err(Fault::Lines(lines.len(), machines));
    }
    let mut times = vec![0; jobs];
    for &job in lines.iter().flatten() {
        match times.get_mut(job) {
            Some(count) => *count += 1,
            None => return Err(Fault::Job(job)),
        }
    }
    match times.iter().position(|&count| count != 1) {
        Some(job) => Err(Fault::Job(job)),
        None => Ok(()),
    }
}

/// The goal from when each machine is done and what its jobs sum up to.
fn total(goal: Goal, ends: &[i64], sums: &[i64]) -> i64 {
    match goal {
        Goal::Makespan => ends.iter().copied().max().unwrap_or(0),
        Goal::Total => ends.iter().sum(),
        Goal::FlowTime | Goal::WeightedTardiness => sums.iter().sum(),
    }
}

/// The value of an answer where setups stand between jobs.
///
/// # Errors
/// [`Fault`] when it is no answer.
pub fn setups(shop: &SetupShop, lines: &Lines) -> Result<i64, Fault> {
    once_each(lines, shop.process.len(), shop.jobs)?;
    let (mut ends, mut sums) = (Vec::new(), Vec::new());
    for (machine, line) in lines.iter().enumerate() {
        let (mut clock, mut sum) = (0, 0);
        for (position, &job) in line.iter().enumerate() {
            clock += if position == 0 {
                shop.first[machine][job]
            } else {
                shop.setup[machine][line[position - 1] * shop.jobs + job]
            };
            clock += shop.process[machine][job];
            sum += match shop.goal {
                Goal::FlowTime => clock,
                _ => shop.weight[job] * 0.max(clock - shop.due[job]),
            };
        }
        clock += line.last().map_or(0, |&job| shop.last[job]);
        ends.push(clock);
        sums.push(sum);
    }
    Ok(total(shop.goal, &ends, &sums))
}

/// The value of an answer with magazines, tools of one slot each.
///
/// # Errors
/// [`Fault`] when it is no answer.
pub fn tools(shop: &ToolShop, lines: &Lines) -> Result<i64, Fault> {
    magazines(shop, &[1; 128], lines)
}

/// The value of an answer with magazines, tools of any size.
///
/// # Errors
/// [`Fault`] when it is no answer.
pub fn sized(shop: &SizedShop, lines: &Lines) -> Result<i64, Fault> {
    magazines(&shop.shop, &shop.size, lines)
}

/// The value of an answer with magazines, tools of any size, when it is told what each magazine
/// holds at first and while each job is done, whatever the rule behind.
///
/// # Errors
/// [`Fault`] when it is no answer, or a magazine holds too much or not what its job needs.
pub fn carried_out(shop: &SizedShop, lines: &Lines, held: &[Vec<u128>]) -> Result<i64, Fault> {
    let (size, shop) = (&shop.size, &shop.shop);
    once_each(lines, shop.capacity.len(), shop.tools.len())?;
    let (mut ends, mut sums) = (Vec::new(), Vec::new());
    for (machine, line) in lines.iter().enumerate() {
        let held = held.get(machine).map_or(&[][..], Vec::as_slice);
        let (mut clock, mut sum) = (0, 0);
        for (position, &job) in line.iter().enumerate() {
            let misfit = Fault::Misfit(job, machine);
            let (before, now) = match (held.get(position), held.get(position + 1)) {
                (Some(before), Some(now)) => (listed(*before), listed(*now)),
                _ => return Err(misfit),
            };
            let needs = listed(shop.tools[job]);
            let fits = [&before, &now].map(|tools| room(tools, size) <= shop.capacity[machine]);
            if fits != [true, true] || needs.iter().any(|tool| !now.contains(tool)) {
                return Err(misfit);
            }
            let put_in = now.iter().filter(|tool| !before.contains(tool)).count();
            clock += i64::try_from(put_in).unwrap_or(0) * shop.switch_time[machine];
            clock += shop.process[machine][job];
            sum += clock;
        }
        ends.push(clock);
        sums.push(sum);
    }
    Ok(total(shop.goal, &ends, &sums))
}

fn magazines(shop: &ToolShop, size: &[u32], lines: &Lines) -> Result<i64, Fault> {
    once_each(lines, shop.capacity.len(), shop.tools.len())?;
    let (mut ends, mut sums) = (Vec::new(), Vec::new());
    for (machine, line) in lines.iter().enumerate() {
        let needs: Vec<Vec<usize>> = line.iter().map(|&job| listed(shop.tools[job])).collect();
        let misfit = needs
            .iter()
            .position(|need| room(need, size) > shop.capacity[machine]);
        if let Some(position) = misfit {
            return Err(Fault::Misfit(line[position], machine));
        }
        let inserted = insertions(&needs, size, shop.capacity[machine]);
        let (mut clock, mut sum) = (0, 0);
        for (&job, count) in line.iter().zip(inserted) {
            clock += count * shop.switch_time[machine] + shop.process[machine][job];
            sum += clock;
        }
        ends.push(clock);
        sums.push(sum);
    }
    Ok(total(shop.goal, &ends, &sums))
}

fn listed(tools: u128) -> Vec<usize> {
    (0..128).filter(|tool| tools >> tool & 1 == 1).collect()
}

fn room(tools: &[usize], size: &[u32]) -> u32 {
    tools.iter().map(|&tool| size[tool]).sum()
}

/// Tools put in before each job. The magazine is full of what is needed soonest from the start, at
/// no cost; to make room, what is needed latest goes out.
fn insertions(needs: &[Vec<usize>], size: &[u32], capacity: u32) -> Vec<i64> {
    let next_use = |tool: usize, from: usize| {
        let ahead = needs[from..].iter().position(|need| need.contains(&tool));
        ahead.map_or(usize::MAX, |ahead| from + ahead)
    };
    let mut magazine = first_filling(needs, size, capacity);
    let mut counts = Vec::new();
    for (position, need) in needs.iter().enumerate() {
        let mut count = 0;
        for &tool in need {
            if !magazine.contains(&tool) {
                magazine.push(tool);
                count += 1;
            }
        }
        while room(&magazine, size) > capacity {
            let latest = (0..magazine.len())
                .filter(|&index| !need.contains(&magazine[index]))
                .max_by_key(|&index| (next_use(magazine[index], position + 1), magazine[index]));
            let Some(latest) = latest else { break };
            magazine.remove(latest);
        }
        counts.push(count);
    }
    counts
}

/// What is needed soonest, as long as it fits.
fn first_filling(needs: &[Vec<usize>], size: &[u32], capacity: u32) -> Vec<usize> {
    let mut magazine: Vec<usize> = Vec::new();
    for &tool in needs.iter().flatten() {
        if !magazine.contains(&tool) {
            if room(&magazine, size) + size[tool] > capacity {
                break;
            }
            magazine.push(tool);
        }
    }
    magazine
}
