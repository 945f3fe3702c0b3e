//! The published problems as plain data.

/// What is to be made small.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Goal {
    /// Weight times lateness, over all jobs.
    WeightedTardiness,
    /// When the last machine is done.
    Makespan,
    /// Completion times of all jobs together.
    FlowTime,
    /// Time of all machines together: the length of a tour, or tools switched.
    Total,
}

/// Machines between whose jobs stand setups.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SetupShop {
    /// Number of jobs.
    pub jobs: usize,
    /// Processing time by machine and job.
    pub process: Vec<Vec<i64>>,
    /// Setup before a job that comes first, by machine and job.
    pub first: Vec<Vec<i64>>,
    /// Setup from one job to the next, by machine; row by row, the row is the job before.
    pub setup: Vec<Vec<i64>>,
    /// Time after a job that comes last.
    pub last: Vec<i64>,
    /// Weight by job.
    pub weight: Vec<i64>,
    /// Due time by job; may be before the start.
    pub due: Vec<i64>,
    /// What is to be made small.
    pub goal: Goal,
}

/// Machines with tool magazines in which every tool takes one slot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ToolShop {
    /// Slots of each machine's magazine.
    pub capacity: Vec<u32>,
    /// Time to put one tool in, by machine.
    pub switch_time: Vec<i64>,
    /// Processing time by machine and job.
    pub process: Vec<Vec<i64>>,
    /// Tools of each job, as bits.
    pub tools: Vec<u128>,
    /// What is to be made small; a weighted tardiness is not among them.
    pub goal: Goal,
}

/// Machines with tool magazines in which a tool takes as many slots as its size. Where in the
/// magazine a tool stands is left open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SizedShop {
    /// The shop, its capacities in slots.
    pub shop: ToolShop,
    /// Slots a tool takes, by tool.
    pub size: Vec<u32>,
}

/// An instance of any of the problems.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Instance {
    /// Setups between jobs.
    Setups(SetupShop),
    /// Tool magazines.
    Tools(ToolShop),
}
