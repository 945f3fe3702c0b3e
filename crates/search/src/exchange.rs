//! Exchanges of two stretches of a line, for problems that can tell quickly what becomes of them.

use crate::{Sequences, Slot, Touched};
use std::ops::Range;

/// Exchanges that are looked at together because they have much in common.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Row {
    /// A stretch with every stretch that begins right after it.
    Stretch {
        /// Machine index.
        machine: usize,
        /// Position of its first slot.
        from: usize,
        /// Position after its last slot, before the line's end.
        to: usize,
    },
    /// A slot with every later one, the next aside.
    Slot {
        /// Machine index.
        machine: usize,
        /// Its position.
        at: usize,
    },
}

/// Two stretches of one line change places; what stands between them stays between them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Exchange {
    /// Machine index.
    pub machine: usize,
    /// Positions of the one that stands first; not empty.
    pub first: Range<usize>,
    /// Positions of the other; not empty, and not before the end of the first.
    pub second: Range<usize>,
}

impl Exchange {
    /// Makes it.
    pub(crate) fn apply(&self, answer: &mut Sequences, room: &mut Vec<Slot>) -> Touched {
        let line = &mut answer.machines[self.machine];
        room.clear();
        room.extend_from_slice(&line[self.second.clone()]);
        room.extend_from_slice(&line[self.first.end..self.second.start]);
        room.extend_from_slice(&line[self.first.clone()]);
        line[self.first.start..self.second.end].copy_from_slice(room);
        let tail = line.len() - self.second.end;
        Touched::nothing().and_before(self.machine, self.first.start, tail)
    }
}

/// All rows of an answer, pinned slots aside.
pub(crate) fn rows(answer: &Sequences, pinned: impl Fn(usize) -> usize, rows: &mut Vec<Row>) {
    rows.clear();
    for (machine, line) in answer.machines.iter().enumerate() {
        for from in pinned(machine)..line.len() {
            let stretches = (from + 1..line.len()).map(|to| Row::Stretch { machine, from, to });
            rows.extend(stretches);
            if from + 2 < line.len() {
                rows.push(Row::Slot { machine, at: from });
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answer(length: usize) -> Sequences {
        let line = (0..length).map(|job| Slot { job, way: 0 }).collect();
        Sequences {
            machines: vec![line],
        }
    }

    fn jobs(answer: &Sequences) -> Vec<usize> {
        answer.machines[0].iter().map(|slot| slot.job).collect()
    }

    #[test]
    fn stretches_change_places_and_what_is_between_stays() {
        let mut line = answer(8);
        let exchange = Exchange {
            machine: 0,
            first: 1..3,
            second: 4..7,
        };
        let touched = exchange.apply(&mut line, &mut Vec::new());
        assert_eq!(jobs(&line), [0, 4, 5, 6, 3, 1, 2, 7]);
        assert_eq!(
            (touched.spots(), touched.tails()),
            (&[(0, 1)][..], &[1][..])
        );
    }

    /// Every two neighbouring stretches, and every two slots, are in one row once; pinned ones in none.
    #[test]
    fn rows_name_every_exchange_once() {
        let (line, mut all) = (answer(6), Vec::new());
        rows(&line, |_| 2, &mut all);
        let count = |row: &Row| match *row {
            Row::Stretch { to, .. } => 6 - to,
            Row::Slot { at, .. } => 6 - at - 2,
        };
        // Of four loose slots: ten choices of three bounds out of five, and three pairs that are
        // not neighbours.
        assert_eq!(all.iter().map(count).sum::<usize>(), 10 + 3);
        let first = |row: &Row| match *row {
            Row::Stretch { from, .. } => from,
            Row::Slot { at, .. } => at,
        };
        assert!(all.iter().all(|row| first(row) >= 2));
    }
}
