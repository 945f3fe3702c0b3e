//! The compiled shop as the search sees it.

use crate::forecast::forecast;
use crate::problem::Problem;
use crate::timing::{Scratch, time};
use search::{Place, Sequences, Slot, Touched};

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
        let cost = time(self, scratch, sequences, limit, None);
        scratch.keep(self, sequences);
        cost
    }
    fn trial(&self, scratch: &mut Scratch, sequences: &Sequences, _: &Touched, limit: i64) -> i64 {
        time(self, scratch, sequences, limit, None)
    }
    fn keep(&self, scratch: &mut Scratch, sequences: &Sequences, _: &Touched) {
        scratch.keep(self, sequences);
    }
    fn forecasts(&self) -> bool {
        true
    }
    fn forecast(
        &self,
        scratch: &Scratch,
        base: &Sequences,
        sequences: &Sequences,
        touched: &Touched,
    ) -> i64 {
        forecast(self, &scratch.base, base, sequences, touched)
    }
    fn pains(&self, scratch: &Scratch, pains: &mut Vec<i64>) {
        scratch.pains(self, pains);
    }
}
