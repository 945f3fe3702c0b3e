//! Tells at once what becomes of a line when two stretches of it change places.
//!
//! The stretches that move, what is between them and what is after keep their order, so each is only
//! done earlier or later as a whole: by a shift that three or four legs tell. A stretch's weighted
//! tardiness bends upward over its shift, so that tangents never lie above it; with sums from the
//! line's beginning a tangent costs four look-ups, however long the stretch is. Most exchanges are
//! known to help nothing by the tangents at no shift; others by those at a few shifts more; what is
//! left is added up job by job. (Convex tardiness of a fixed order: common knowledge of scheduling,
//! see C.-J. Liao, H.-H. Tsou and K.-L. Huang 2012 for sums of this kind \[memory\].)

use super::{Due, Line, SetupModel};
use crate::instance::Goal;
use search::Slot;
use std::ops::Range;

/// Shifts at which tangents are kept, in sixteenths of the mean leg, smallest first.
const SHIFTS: [i64; 11] = [-256, -64, -16, -4, -1, 0, 1, 4, 16, 64, 256];

/// Sums over a line's beginning, as if all of it were done later by a shift.
#[derive(Clone, Debug, Default)]
struct Sums {
    shift: i64,
    /// By position: what the jobs before it add up to.
    tardy: Vec<i64>,
    /// By position: weights of those that are late when anything is later.
    late: Vec<i64>,
}

/// Tangents of one line.
#[derive(Clone, Debug, Default)]
pub(super) struct Tangents {
    by_shift: Vec<Sums>,
    /// Up to this position they hold.
    up_to: usize,
}

impl Tangents {
    /// The line has changed from a position on.
    pub(super) fn changed_from(&mut self, position: usize) {
        self.up_to = self.up_to.min(position);
    }

    /// What a stretch adds up to at least when done later by `shift`.
    fn at_least(&self, stretch: &Range<usize>, shift: i64) -> i64 {
        let above = self.by_shift.partition_point(|sums| sums.shift <= shift);
        let from = |index: Option<usize>| {
            let sums = index.and_then(|index| self.by_shift.get(index));
            sums.map_or(0, |sums| {
                let (first, last) = (stretch.start, stretch.end);
                let late = sums.late[last] - sums.late[first];
                sums.tardy[last] - sums.tardy[first] + (shift - sums.shift) * late
            })
        };
        from(above.checked_sub(1)).max(from(Some(above))).max(0)
    }
}

/// The least that legs can be, by job.
#[derive(Clone, Debug)]
pub(super) struct Least {
    /// From any job, or none, through this one.
    legs: Vec<i64>,
    /// From this job through any other, less the leg from any third through the same.
    steps: Vec<i64>,
}

impl Least {
    /// Of legs in rows of so many jobs, the last row from none.
    pub(super) fn of(legs: &[i64], jobs: usize) -> Least {
        let through = |job: usize| (0..=jobs).map(move |row| legs[row * jobs + job]);
        let least = |job| through(job).min().unwrap_or(0);
        let most: Vec<i64> = (0..jobs)
            .map(|job| through(job).max().unwrap_or(0))
            .collect();
        let step = |job: usize| {
            let row = &legs[job * jobs..(job + 1) * jobs];
            let less = row.iter().zip(&most).map(|(leg, most)| leg - most);
            less.min().unwrap_or(0)
        };
        Least {
            legs: (0..jobs).map(least).collect(),
            steps: (0..jobs).map(step).collect(),
        }
    }
}

/// An exchange: its stretches in their new order, each with what it is done later by.
struct Shifted {
    parts: [(Range<usize>, i64); 4],
    /// When all is done, the time after the last job included.
    end: i64,
}

impl SetupModel {
    /// Brings the tangents up to date.
    pub(super) fn draw_tangents(&self, line: &mut Line, slots: &[Slot]) {
        let tangents = &mut line.tangents;
        if tangents.by_shift.is_empty() {
            let of = |sixteenths: &i64| Sums {
                shift: sixteenths * self.usual_leg / 16,
                ..Sums::default()
            };
            tangents.by_shift.extend(SHIFTS.iter().map(of));
        }
        let from = tangents.up_to;
        if from == slots.len() {
            return;
        }
        for sums in &mut tangents.by_shift {
            sums.tardy.resize(slots.len() + 1, 0);
            sums.late.resize(slots.len() + 1, 0);
            let (mut tardy, mut late) = (sums.tardy[from], sums.late[from]);
            let ends = slots.iter().zip(&line.marks[1..]).enumerate().skip(from);
            for (position, (slot, mark)) in ends {
                let Due { weight, due } = self.dues[slot.job];
                let by = mark.done + sums.shift - due;
                if by >= 0 {
                    tardy += weight * by;
                    late += weight;
                }
                (sums.tardy[position + 1], sums.late[position + 1]) = (tardy, late);
            }
        }
        tangents.up_to = slots.len();
    }

    /// The end of the first stretch after `[from, to)` for which changing places with it makes the
    /// line cost less.
    pub(super) fn better_stretch(
        &self,
        line: &Line,
        slots: &[Slot],
        (from, to): (usize, usize),
    ) -> Option<usize> {
        let legs = &self.legs[0];
        let leg = |row: usize, job: usize| legs[row * self.shop.jobs + job];
        let marks = &line.marks;
        let (first, last) = (slots[from].job, slots[to - 1].job);
        let (before, middle, all) = (marks[from], marks[to], marks[slots.len()]);
        // The other stretch begins at the same time wherever it ends.
        let forward = before.done + leg(self.row(slots, from), slots[to].job) - marks[to + 1].done;
        let known = |one: &super::Mark, two: &super::Mark, shift: i64| {
            (two.sum - one.sum + shift * (two.late - one.late)).max(0)
        };
        for end in to + 1..=self.reach(line, slots, (from, to), forward) {
            let mark = &marks[end];
            let back = mark.done + forward + leg(slots[end - 1].job, first) - marks[from + 1].done;
            let mut least = before.sum;
            let mut finish = middle.done + back;
            if let Some(next) = slots.get(end) {
                let shift = finish + leg(last, next.job) - marks[end + 1].done;
                least += known(mark, &all, shift);
                finish = line.end + shift;
            } else {
                finish += self.shop.last[last];
            }
            least += known(&middle, mark, forward) + known(&before, &middle, back);
            if self.guide.cost(finish, least) < line.cost
                && self.better(line, slots, &(from..to), &(to..end))
            {
                return Some(end);
            }
        }
        None
    }

    /// The last end up to which changing places with the stretch from `to` on may help: the further
    /// it goes, the later is what it changes places with, and the rest saves only so much.
    fn reach(
        &self,
        line: &Line,
        slots: &[Slot],
        (from, to): (usize, usize),
        forward: i64,
    ) -> usize {
        if self.shop.goal == Goal::Total {
            return slots.len();
        }
        let (marks, first, last) = (&line.marks, slots[from].job, slots[to - 1].job);
        let begun = self.least.legs[first] - marks[from + 1].done;
        // The rest is moved by the one or by the other.
        let later = forward + marks[to].done + begun + self.least.steps[last];
        let rest = to..slots.len();
        let saved = line.tangents.at_least(&rest, forward.min(later));
        let left = line.cost - marks[from].sum - saved;
        let (mut near, mut far) = (to, slots.len());
        while near < far {
            let end = (near + far).div_ceil(2);
            let back = marks[end].done + forward + begun;
            if line.tangents.at_least(&(from..to), back) < left {
                near = end;
            } else {
                far = end - 1;
            }
        }
        near
    }

    /// The first slot after the next that had better change places with the one at a position.
    pub(super) fn better_partner(&self, line: &Line, slots: &[Slot], at: usize) -> Option<usize> {
        let better = |&other: &usize| self.better(line, slots, &(at..at + 1), &(other..other + 1));
        (at + 2..slots.len()).find(better)
    }

    /// Whether a line costs less when two stretches of it change places.
    fn better(
        &self,
        line: &Line,
        slots: &[Slot],
        first: &Range<usize>,
        second: &Range<usize>,
    ) -> bool {
        let shifted = self.shifted(line, slots, first, second);
        let at_least = |(part, shift): &(Range<usize>, i64)| line.tangents.at_least(part, *shift);
        let least = shifted.parts.each_ref().map(at_least);
        let mut sum = line.marks[first.start].sum + least.iter().sum::<i64>();
        for ((part, shift), least) in shifted.parts.iter().zip(least) {
            if self.guide.cost(shifted.end, sum) >= line.cost {
                return false;
            }
            sum -= least;
            let marks = &line.marks[part.start + 1..];
            for (slot, mark) in slots[part.clone()].iter().zip(marks) {
                let Due { weight, due } = self.dues[slot.job];
                sum += weight * (mark.done + shift - due).max(0);
            }
        }
        self.guide.cost(shifted.end, sum) < line.cost
    }

    fn shifted(
        &self,
        line: &Line,
        slots: &[Slot],
        first: &Range<usize>,
        second: &Range<usize>,
    ) -> Shifted {
        let after = second.end..slots.len();
        let parts = [
            second.clone(),
            first.end..second.start,
            first.clone(),
            after,
        ];
        let mut done = line.marks[first.start].done;
        let mut row = self.row(slots, first.start);
        let shifts = parts.clone().map(|part| {
            if part.is_empty() {
                return 0;
            }
            let head = slots[part.start].job;
            let begun = done + self.legs[0][row * self.shop.jobs + head];
            let shift = begun - line.marks[part.start + 1].done;
            done = line.marks[part.end].done + shift;
            row = slots[part.end - 1].job;
            shift
        });
        let [one, two, three, four] = parts;
        let end = done + self.shop.last.get(row).copied().unwrap_or(0);
        Shifted {
            parts: [
                (one, shifts[0]),
                (two, shifts[1]),
                (three, shifts[2]),
                (four, shifts[3]),
            ],
            end,
        }
    }
}
