//! The compiled shop as the search sees it.

use crate::forecast::forecast;
use crate::problem::Problem;
use crate::timing::{self, Scratch};
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
        let cost = timing::whole(self, scratch, sequences, limit);
        timing::keep(self, scratch, sequences);
        cost
    }
    fn trial(
        &self,
        scratch: &mut Scratch,
        sequences: &Sequences,
        touched: &Touched,
        limit: i64,
    ) -> i64 {
        timing::of_change(self, scratch, sequences, touched, limit)
    }
    fn keep(&self, scratch: &mut Scratch, sequences: &Sequences, _: &Touched) {
        timing::keep(self, scratch, sequences);
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
    fn attempt(
        &self,
        scratch: &mut Scratch,
        sequences: &Sequences,
        touched: &Touched,
        limit: i64,
    ) -> i64 {
        timing::attempt(self, scratch, sequences, touched, limit)
    }
    fn pains(&self, scratch: &Scratch, pains: &mut Vec<i64>) {
        scratch.pains(self, pains);
    }
}
