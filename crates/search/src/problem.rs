//! What the search needs to know of a problem.

use crate::{Exchange, Row, Sequences, Slot};

/// A machine, and one way of doing a job on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Machine index.
    pub machine: usize,
    /// Index of the way among the job's own.
    pub way: usize,
}

/// Where an answer differs from another: at most two machines, and on each the first position that
/// may hold another slot and how many slots at the end are the same for sure. All machines not
/// named are the same.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Touched {
    spots: [(usize, usize); 2],
    tails: [usize; 2],
    count: usize,
}

impl Touched {
    /// Nothing yet.
    #[must_use]
    pub fn nothing() -> Touched {
        Touched::default()
    }

    /// Also a machine from a position on, up to its end.
    #[must_use]
    pub fn and(self, machine: usize, from: usize) -> Touched {
        self.and_before(machine, from, 0)
    }

    /// Also a machine from a position on, but for the slots at its end that are the same.
    #[must_use]
    pub fn and_before(mut self, machine: usize, from: usize, tail: usize) -> Touched {
        for index in 0..self.count {
            if self.spots[index].0 == machine {
                self.spots[index].1 = self.spots[index].1.min(from);
                self.tails[index] = self.tails[index].min(tail);
                return self;
            }
        }
        // No move changes three machines.
        if let Some(free) = self.spots.get_mut(self.count) {
            *free = (machine, from);
            self.tails[self.count] = tail;
            self.count += 1;
        }
        self
    }

    /// The machines, each with its first position that may differ.
    #[must_use]
    pub fn spots(&self) -> &[(usize, usize)] {
        &self.spots[..self.count]
    }

    /// For each of those machines, how many slots at its end are the same, in both answers.
    #[must_use]
    pub fn tails(&self) -> &[usize] {
        &self.tails[..self.count]
    }
}

/// A sequencing problem.
pub trait Problem: Sync {
    /// Working memory of one evaluation, reused between evaluations.
    type Scratch: Send;

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
    /// Jobs that gain from coming directly after this one, those that gain most first. Where the
    /// order of two does not matter each is among the other's.
    fn alike(&self, job: usize) -> &[usize];
    /// The number to make small, see also [`Problem::worth`]. Must not depend on earlier evaluations. An evaluation may stop as
    /// soon as the cost is sure to be above `limit`, and then returns any number above it. The
    /// answer becomes the base that [`Problem::trial`] compares with.
    fn cost(&self, scratch: &mut Self::Scratch, sequences: &Sequences, limit: i64) -> i64;
    /// The cost of an answer that differs from the base only where it is touched: exactly what
    /// [`Problem::cost`] would say, which is what it does unless a problem can do it faster. The
    /// base stays what it was until [`Problem::keep`] is called.
    fn trial(
        &self,
        scratch: &mut Self::Scratch,
        sequences: &Sequences,
        touched: &Touched,
        limit: i64,
    ) -> i64 {
        let _ = touched;
        self.cost(scratch, sequences, limit)
    }
    /// The answer last tried, which was not above its limit, is the base from now on.
    fn keep(&self, scratch: &mut Self::Scratch, sequences: &Sequences, touched: &Touched) {
        let _ = (scratch, sequences, touched);
    }
    /// Whether [`Problem::forecast`] knows anything.
    fn forecasts(&self) -> bool {
        false
    }
    /// A guess of how much more than the base, which is `base`, a touched answer costs. Worth having
    /// where evaluating takes long: of several changes drawn, the one that promises most is evaluated.
    fn forecast(
        &self,
        scratch: &Self::Scratch,
        base: &Sequences,
        sequences: &Sequences,
        touched: &Touched,
    ) -> i64 {
        let _ = (scratch, base, sequences, touched);
        0
    }
    /// The same as [`Problem::trial`], but a problem may give up, and return any number above the limit,
    /// as soon as the answer seems to come out above that, though it might not.
    fn attempt(
        &self,
        scratch: &mut Self::Scratch,
        sequences: &Sequences,
        touched: &Touched,
        limit: i64,
    ) -> i64 {
        self.trial(scratch, sequences, touched, limit)
    }
    /// Whether [`Problem::scan`] knows anything. When it does, the search also breeds answers that no
    /// exchange of stretches makes better.
    fn scans(&self) -> bool {
        false
    }
    /// Any exchange of a row that makes the base, which is `sequences`, cheaper; `None` when there is
    /// none. Worth having where that is far quicker told than tried. Its cost must be what
    /// [`Problem::cost`] would say.
    fn scan(
        &self,
        scratch: &mut Self::Scratch,
        sequences: &Sequences,
        row: Row,
    ) -> Option<Exchange> {
        let _ = (scratch, sequences, row);
        None
    }
    /// The number truly to be made small, of the base, whose cost is `cost`: the cost itself, unless
    /// a problem leads the search by another number that tells more of the way. Of all answers that
    /// were a base the one of the least worth is kept as the best, the cheaper of equals.
    fn worth(&self, scratch: &Self::Scratch, cost: i64) -> i64 {
        let _ = scratch;
        cost
    }
    /// What each job adds to the cost by its place in time, as of the last evaluation that was not
    /// stopped: moves try to bring forward what hurts. Empty when the problem cannot tell.
    fn pains(&self, scratch: &Self::Scratch, pains: &mut Vec<i64>) {
        let _ = scratch;
        pains.clear();
    }
}
