//! What jobs of a line add up to at least when they are done earlier or later as a whole.
//!
//! A stretch's weighted tardiness bends upward over its shift, so that tangents never lie above it;
//! with sums from the line's beginning a tangent costs four look-ups, however long the stretch is.
//! (Convex tardiness of a fixed order: common knowledge of scheduling, see C.-J. Liao, H.-H. Tsou
//! and K.-L. Huang 2012 for sums of this kind \[memory\].)

use super::Due;
use std::ops::Range;

/// Shifts to either side at which tangents are kept: a unit, and each twice as far as the one before.
const SIDE: usize = 9;
/// All of them, none in the middle.
const SHIFTS: usize = 2 * SIDE + 1;

/// Sums over a line's beginning, as if all of it were done later by a shift.
#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    /// What the jobs add up to.
    tardy: i64,
    /// Weights of those that are late when anything is later.
    late: i64,
}

/// Tangents of one line.
#[derive(Clone, Debug, Default)]
pub(super) struct Tangents {
    /// Binary logarithm of the smallest shift.
    unit: u32,
    shifts: [i64; SHIFTS],
    /// By position: sums of the jobs before it, by shift.
    sums: Vec<[Sum; SHIFTS]>,
    /// Up to this position they hold.
    up_to: usize,
}

impl Tangents {
    /// The line has changed from a position on.
    pub(super) fn changed_from(&mut self, position: usize) {
        self.up_to = self.up_to.min(position);
    }

    /// Brings them up to date with a line's jobs and when they are done, the finest of them for a
    /// sixteenth of the usual leg.
    pub(super) fn draw(&mut self, usual_leg: i64, jobs: impl ExactSizeIterator<Item = (Due, i64)>) {
        if self.sums.is_empty() {
            self.begin(usual_leg);
        }
        let count = jobs.len();
        if self.up_to == count {
            return;
        }
        self.sums.resize(count + 1, Default::default());
        let mut row = self.sums[self.up_to];
        for (position, (Due { weight, due }, done)) in jobs.enumerate().skip(self.up_to) {
            for (sum, shift) in row.iter_mut().zip(&self.shifts) {
                let by = done + shift - due;
                if by >= 0 {
                    sum.tardy += weight * by;
                    sum.late += weight;
                }
            }
            self.sums[position + 1] = row;
        }
        self.up_to = count;
    }

    fn begin(&mut self, usual_leg: i64) {
        self.unit = (usual_leg / 16).max(1).ilog2();
        for step in 0..SIDE {
            self.shifts[SIDE + 1 + step] = 1 << (self.unit as usize + step);
            self.shifts[SIDE - 1 - step] = -(1 << (self.unit as usize + step));
        }
        self.sums.push(Default::default());
    }

    /// What a stretch adds up to at least when done later by `shift`: by the tangents at the next
    /// shifts to either side.
    #[inline]
    pub(super) fn at_least(&self, stretch: Range<usize>, shift: i64) -> i64 {
        let steps = shift.unsigned_abs() >> self.unit;
        // Of shifts so far from none or less, and of the next that is further.
        let near = ((u64::BITS - steps.leading_zeros()) as usize).min(SIDE - 1);
        let (low, high) = if shift < 0 {
            (SIDE - near - 1, SIDE - near)
        } else {
            (SIDE + near, SIDE + near + 1)
        };
        let (first, last) = (&self.sums[stretch.start], &self.sums[stretch.end]);
        let tangent = |at: usize| {
            let (first, last) = (first[at], last[at]);
            last.tardy - first.tardy + (shift - self.shifts[at]) * (last.late - first.late)
        };
        tangent(low).max(tangent(high)).max(0)
    }
}
