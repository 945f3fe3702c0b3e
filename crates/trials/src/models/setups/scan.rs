//! Tells at once what becomes of a line when two stretches of it change places.
//!
//! The stretches that move, what is between them and what is after keep their order, so each is only
//! done earlier or later as a whole: by a shift that a leg or two tell. Most exchanges are known to
//! help nothing by how steeply the tardiness of the stretches rises where they are; others by their
//! tangents at a few shifts more ([`super::tangents`]); what is left is added up job by job.

use super::{Due, Line, Mark, SetupModel};
use search::Slot;
use std::ops::Range;

/// Up to so many jobs are added up as quickly as tangents are looked up.
const FEW: usize = 3;

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

/// A stretch that keeps its order.
struct Moved {
    stretch: Range<usize>,
    /// What it is done later by.
    shift: i64,
}

/// What a stretch between two marks adds up to at least when done later by `shift`, by how steeply
/// it rises where it is.
#[inline]
fn steep(from: Mark, to: Mark, shift: i64) -> i64 {
    (to.sum - from.sum + shift * (to.late - from.late)).max(0)
}

impl SetupModel {
    /// Brings the tangents up to date.
    pub(super) fn draw_tangents(&self, line: &mut Line, slots: &[Slot]) {
        let marks = &line.marks[1..];
        let jobs = slots.iter().zip(marks);
        let jobs = jobs.map(|(slot, mark)| (self.dues[slot.job], mark.done));
        line.tangents.draw(self.usual_leg, jobs);
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
        let begun = self.least.legs[first] - marks[from + 1].done;
        // What comes after moves by as much, or as what follows the stretch.
        let later = forward + middle.done + begun + self.least.steps[last];
        let rest = line.tangents.at_least(to..slots.len(), forward.min(later));
        let left = line.cost - before.sum - rest;
        // Done later by this or more, the stretch alone costs all that is left.
        let mut hopeless = i64::MAX;
        let mut sum = before.sum;
        for end in to + 1..=slots.len() {
            let mark = marks[end];
            if mark.done + forward + begun >= hopeless {
                break;
            }
            sum += self.due(slots[end - 1].job, mark.done + forward);
            let back = mark.done + forward + leg(slots[end - 1].job, first) - marks[from + 1].done;
            let (shift, finish) = self.after(line, slots, (last, middle.done + back), end);
            let own = steep(before, middle, back);
            if own >= left {
                hopeless = hopeless.min(back);
                continue;
            }
            if self.guide.cost(finish, sum + own + steep(mark, all, shift)) >= line.cost {
                continue;
            }
            let moved = [
                Moved {
                    stretch: from..to,
                    shift: back,
                },
                Moved {
                    stretch: end..slots.len(),
                    shift,
                },
            ];
            let least = self.least(line, slots, &moved[0]);
            if least >= left {
                hopeless = hopeless.min(back);
                continue;
            }
            if self.better(line, slots, (sum, least), &moved, finish) {
                return Some(end);
            }
        }
        None
    }

    /// The first slot after the next that had better change places with the one at a position.
    pub(super) fn better_partner(&self, line: &Line, slots: &[Slot], at: usize) -> Option<usize> {
        let legs = &self.legs[0];
        let leg = |row: usize, job: usize| legs[row * self.shop.jobs + job];
        let marks = &line.marks;
        let (before, all, count) = (marks[at], marks[slots.len()], slots.len());
        let (row, job, next) = (self.row(slots, at), slots[at].job, slots[at + 1].job);
        for other in at + 2..count {
            let partner = slots[other].job;
            let ahead = before.done + leg(row, partner);
            let between = ahead + leg(partner, next) - marks[at + 2].done;
            let late = marks[other].done + between + leg(slots[other - 1].job, job);
            let sum = before.sum + self.due(partner, ahead) + self.due(job, late);
            let (after, finish) = self.after(line, slots, (job, late), other + 1);
            let steepest = sum
                + steep(marks[at + 1], marks[other], between)
                + steep(marks[other + 1], all, after);
            if self.guide.cost(finish, steepest) >= line.cost {
                continue;
            }
            let moved = [
                Moved {
                    stretch: at + 1..other,
                    shift: between,
                },
                Moved {
                    stretch: other + 1..count,
                    shift: after,
                },
            ];
            let least = self.least(line, slots, &moved[0]);
            if self.better(line, slots, (sum, least), &moved, finish) {
                return Some(other);
            }
        }
        None
    }

    /// By what all from a position on is later when this job is done before it, and when all is.
    #[inline]
    fn after(
        &self,
        line: &Line,
        slots: &[Slot],
        (job, done): (usize, i64),
        position: usize,
    ) -> (i64, i64) {
        match slots.get(position) {
            Some(next) => {
                let begun = done + self.legs[0][job * self.shop.jobs + next.job];
                let shift = begun - line.marks[position + 1].done;
                (shift, line.end + shift)
            }
            None => (0, done + self.shop.last[job]),
        }
    }

    /// Whether a line costs less when two stretches of it are moved, the first adding up to `least` at
    /// least, and all else adds up to `sum`.
    fn better(
        &self,
        line: &Line,
        slots: &[Slot],
        (sum, least): (i64, i64),
        moved: &[Moved; 2],
        finish: i64,
    ) -> bool {
        let [one, two] = moved;
        let after = self.least(line, slots, two);
        if self.guide.cost(finish, sum + least + after) >= line.cost {
            return false;
        }
        let one = self.exactly(line, slots, one);
        if self.guide.cost(finish, sum + one + after) >= line.cost {
            return false;
        }
        let two = self.exactly(line, slots, two);
        self.guide.cost(finish, sum + one + two) < line.cost
    }

    /// What a moved stretch adds up to at least.
    #[inline]
    fn least(&self, line: &Line, slots: &[Slot], moved: &Moved) -> i64 {
        if moved.stretch.len() <= FEW {
            return self.exactly(line, slots, moved);
        }
        line.tangents.at_least(moved.stretch.clone(), moved.shift)
    }

    /// What a moved stretch adds up to.
    #[inline]
    fn exactly(&self, line: &Line, slots: &[Slot], moved: &Moved) -> i64 {
        let done = &line.marks[moved.stretch.start + 1..];
        let jobs = slots[moved.stretch.clone()].iter().zip(done);
        jobs.map(|(slot, mark)| self.due(slot.job, mark.done + moved.shift))
            .sum()
    }

    /// What a job adds when done at a time.
    #[inline]
    fn due(&self, job: usize, done: i64) -> i64 {
        let Due { weight, due } = self.dues[job];
        weight * (done - due).max(0)
    }
}
