//! The compiled shop as the search sees it.

use crate::problem::Problem;
use crate::timing::{Scratch, time};
use search::{Place, Sequences, Slot};

impl search::Problem for Problem<'_> {
    type Scratch = Scratch;

    fn scratch(&self) -> Scratch {
        Scratch::default()
    }
    fn machines(&self) -> usize {
        self.shop.brakes.len()
    }
    fn jobs(&self) -> usize {
        self.jobs.len()
    }
    fn places(&self, job: usize) -> &[Place] {
        &self.places[job]
    }
    fn pinned(&self, machine: usize) -> &[Slot] {
        &self.pinned[machine]
    }
    fn alike(&self, job: usize) -> &[usize] {
        &self.alike[job]
    }
    fn cost(&self, scratch: &mut Scratch, sequences: &Sequences, limit: i64) -> i64 {
        time(self, scratch, sequences, limit, None)
    }
    fn pains(&self, scratch: &Scratch, pains: &mut Vec<i64>) {
        scratch.pains(self, pains);
    }
}
