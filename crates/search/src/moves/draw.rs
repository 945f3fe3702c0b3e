//! What moves draw from: jobs, places and positions, near ones more often than far ones.

use crate::{Place, Problem, Sequences, Slot, Touched};
use rand::{Rng, RngExt};

/// Where every job of an answer stands.
#[derive(Clone, Debug, Default)]
pub(crate) struct Index {
    spots: Vec<Option<(usize, usize)>>,
}

impl Index {
    pub(crate) fn build(&mut self, jobs: usize, answer: &Sequences) {
        self.spots.clear();
        self.spots.resize(jobs, None);
        for (machine, line) in answer.machines.iter().enumerate() {
            self.renew(machine, line, 0, line.len());
        }
    }

    /// Enters the slots of a line from one position to another.
    pub(crate) fn renew(&mut self, machine: usize, line: &[Slot], from: usize, to: usize) {
        for (ahead, slot) in line[from..to].iter().enumerate() {
            self.spots[slot.job] = Some((machine, from + ahead));
        }
    }

    fn find(&self, job: usize) -> Option<(usize, usize)> {
        self.spots[job]
    }
}

/// What a move may look at besides the answer, which it takes as it is before the move.
pub(crate) struct Ground<'a, P> {
    pub(crate) problem: &'a P,
    /// What each job adds to the cost, or empty.
    pub(crate) pains: &'a [i64],
    pub(crate) index: &'a Index,
}

impl<P: Problem> Ground<'_, P> {
    /// Slots that must stay first on a machine.
    pub(crate) fn first(&self, machine: usize) -> usize {
        self.problem.pinned(machine).len()
    }

    /// A random placed job that is not pinned: its machine and position.
    pub(crate) fn slot<R: Rng>(&self, answer: &Sequences, rng: &mut R) -> Option<(usize, usize)> {
        let loose = |machine: usize| answer.machines[machine].len() - self.first(machine);
        let machines = answer.machines.len();
        let total: usize = (0..machines).map(loose).sum();
        if total == 0 {
            return None;
        }
        let mut index = rng.random_range(0..total);
        for machine in 0..machines {
            if index < loose(machine) {
                return Some((machine, self.first(machine) + index));
            }
            index -= loose(machine);
        }
        None
    }

    /// One of the jobs like this one, and where it stands.
    pub(crate) fn like<R: Rng>(&self, job: usize, rng: &mut R) -> Option<(usize, usize)> {
        self.index.find(*pick(self.problem.alike(job), rng)?)
    }

    /// A slot's counterpart on another machine: its first way there.
    pub(crate) fn on(&self, slot: Slot, from: usize, to: usize) -> Option<Slot> {
        if from == to {
            return Some(slot);
        }
        let places = self.problem.places(slot.job);
        let place = places.iter().find(|place| place.machine == to)?;
        Some(Slot {
            job: slot.job,
            way: place.way,
        })
    }

    /// Any of a job's ways on a machine.
    pub(crate) fn any_way<R: Rng>(&self, job: usize, to: usize, rng: &mut R) -> Option<Place> {
        let places = self.problem.places(job);
        let fits = |place: &&Place| place.machine == to;
        let count = places.iter().filter(fits).count();
        if count == 0 {
            return None;
        }
        let chosen = rng.random_range(0..count);
        places.iter().filter(fits).nth(chosen).copied()
    }
}

pub(crate) fn pick<'a, T, R: Rng>(items: &'a [T], rng: &mut R) -> Option<&'a T> {
    (!items.is_empty()).then(|| &items[rng.random_range(0..items.len())])
}

pub(crate) fn one_in<R: Rng>(count: u32, rng: &mut R) -> bool {
    rng.random_range(0..count) == 0
}

/// From 1 to `most`, small ones far more often: uniform up to a bound that is uniform itself.
pub(crate) fn few<R: Rng>(most: usize, rng: &mut R) -> usize {
    let bound = rng.random_range(1..=most.max(1));
    rng.random_range(1..=bound)
}

/// A position from `first` to `last`: half of the time anywhere, else near a given one.
pub(crate) fn position<R: Rng>(first: usize, last: usize, near: usize, rng: &mut R) -> usize {
    if last <= first {
        return first;
    }
    if one_in(2, rng) {
        return rng.random_range(first..=last);
    }
    let distance = few(last - first, rng);
    let (before, after) = (near >= first + distance, near + distance <= last);
    match (before, after) {
        (true, false) => near - distance,
        (false, true) => near + distance,
        (true, true) if one_in(2, rng) => near - distance,
        (true, true) => near + distance,
        (false, false) => rng.random_range(first..=last),
    }
}

/// What a run of jobs taken from one place and put at another touches: machine and position in the
/// lines before and after, and the length.
pub(crate) fn moved(
    answer: &Sequences,
    (machine, from): (usize, usize),
    (to_machine, to): (usize, usize),
    length: usize,
) -> Touched {
    let line = answer.machines[machine].len();
    if machine == to_machine {
        let (low, high) = (from.min(to), from.max(to) + length);
        return Touched::nothing().and_before(machine, low, line - high);
    }
    let to_line = answer.machines[to_machine].len();
    Touched::nothing()
        .and_before(machine, from, line - from)
        .and_before(to_machine, to, to_line - to - length)
}
