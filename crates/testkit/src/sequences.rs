//! Jobs anywhere.

use rand::{Rng, RngExt};
use search::{Problem, Sequences, Slot};

/// Every job at a random place, pinned slots first; one in `leave_out` is left out (none when it
/// is zero).
#[must_use]
pub fn random_sequences<P: Problem>(problem: &P, leave_out: u32, rng: &mut impl Rng) -> Sequences {
    let mut sequences = Sequences::new(problem.machines());
    for machine in 0..problem.machines() {
        sequences.machines[machine].extend_from_slice(problem.pinned(machine));
    }
    for job in 0..problem.jobs() {
        let places = problem.places(job);
        let left_out = leave_out > 0 && rng.random_range(0..leave_out) == 0;
        if places.is_empty() || left_out || sequences.find(job).is_some() {
            continue;
        }
        let place = places[rng.random_range(0..places.len())];
        let slots = &mut sequences.machines[place.machine];
        let first = problem.pinned(place.machine).len();
        let at = rng.random_range(first..=slots.len());
        slots.insert(
            at,
            Slot {
                job,
                way: place.way,
            },
        );
    }
    sequences
}
