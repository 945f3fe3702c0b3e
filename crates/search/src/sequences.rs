//! An answer: for every machine, jobs in order, each with the way it is done.

/// One job in a sequence.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Slot {
    /// Job index.
    pub job: usize,
    /// Index of the way among the job's own.
    pub way: usize,
}

/// For every machine, its slots in order. A job stands at most once in all of them.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Sequences {
    /// By machine.
    pub machines: Vec<Vec<Slot>>,
}

impl Sequences {
    /// Empty sequences for a number of machines.
    #[must_use]
    pub fn new(machines: usize) -> Sequences {
        Sequences {
            machines: vec![Vec::new(); machines],
        }
    }

    /// Where a job stands: machine and position.
    #[must_use]
    pub fn find(&self, job: usize) -> Option<(usize, usize)> {
        self.machines
            .iter()
            .enumerate()
            .find_map(|(machine, slots)| {
                slots
                    .iter()
                    .position(|slot| slot.job == job)
                    .map(|position| (machine, position))
            })
    }

    /// Jobs placed.
    #[must_use]
    pub fn len(&self) -> usize {
        self.machines.iter().map(Vec::len).sum()
    }

    /// Whether no job is placed.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// By hand, so that `clone_from` reuses the buffers: the search does it at every step.
impl Clone for Sequences {
    fn clone(&self) -> Sequences {
        Sequences {
            machines: self.machines.clone(),
        }
    }

    fn clone_from(&mut self, source: &Sequences) {
        self.machines.clone_from(&source.machines);
    }
}
