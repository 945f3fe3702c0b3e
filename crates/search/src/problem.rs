//! What the search needs to know of a problem.

use crate::{Sequences, Slot};

/// A machine, and one way of doing a job on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Machine index.
    pub machine: usize,
    /// Index of the way among the job's own.
    pub way: usize,
}

/// A sequencing problem.
pub trait Problem {
    /// Working memory of one evaluation, reused between evaluations.
    type Scratch;

    /// Fresh working memory.
    fn scratch(&self) -> Self::Scratch;
    /// Number of machines.
    fn machines(&self) -> usize;
    /// Number of jobs.
    fn jobs(&self) -> usize;
    /// Every place the job may take; none when it has no place at all.
    fn places(&self, job: usize) -> &[Place];
    /// Slots that stay first on a machine, in this order.
    fn pinned(&self, machine: usize) -> &[Slot];
    /// Jobs that gain from standing next to this one, the most alike first.
    fn alike(&self, job: usize) -> &[usize];
    /// The number to make small. Must not depend on earlier evaluations. An evaluation may stop as
    /// soon as the cost is sure to be above `limit`, and then returns any number above it.
    fn cost(&self, scratch: &mut Self::Scratch, sequences: &Sequences, limit: i64) -> i64;
    /// What each job adds to the cost by its place in time, as of the last evaluation that was not
    /// stopped: moves try to bring forward what hurts. Empty when the problem cannot tell.
    fn pains(&self, scratch: &Self::Scratch, pains: &mut Vec<i64>) {
        let _ = scratch;
        pains.clear();
    }
}
