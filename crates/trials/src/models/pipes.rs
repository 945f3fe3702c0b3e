//! How many tools a magazine must be given, worked out from one job to the next.
//!
//! A tool needed again is kept if every magazine filling in between has a slot free for it. Going
//! along the line, at every job the tools used last are tried first; that keeps as many as keeping
//! what is needed soonest does, for the whole line and for every beginning of it. The equality is
//! due to Cherniavskii and Goldengorin, arXiv:2205.06042 \[source: as named with the published
//! tool-switching instances\]; here it is tested against a plain simulation.

use search::Slot;

/// The fillings of one line so far.
#[derive(Clone, Debug, Default)]
pub(crate) struct Fillings {
    /// Free slots of each filling.
    free: Vec<u32>,
    /// Tools kept that were used last at a job, for the job at hand.
    kept_from: Vec<u32>,
    /// Latest filling that is full, plus one.
    full: usize,
}

impl Fillings {
    /// Goes back to a known state: a position, the latest full filling plus one, and the free
    /// slots of all fillings after it.
    pub(crate) fn rewind(&mut self, at: usize, full: usize, free: &[u32]) {
        self.free.clear();
        self.free.resize(full, 0);
        self.free.extend_from_slice(&free[..at - full]);
        self.full = full;
    }

    /// Latest full filling, plus one: nothing before it matters any more.
    pub(crate) fn full(&self) -> usize {
        self.full
    }

    /// Free slots of the fillings after the latest full one.
    pub(crate) fn window(&self) -> &[u32] {
        &self.free[self.full..]
    }

    /// Goes one job on; gives the tools put in for it. `tools` are those of the slots up to it, and
    /// it fits the magazine.
    pub(crate) fn push(&mut self, tools: &[u128], slots: &[Slot], capacity: u32) -> u32 {
        let at = self.free.len();
        let need = tools[slots[at].job];
        if self.kept_from.len() <= at {
            self.kept_from.resize(at + 1, 0);
        }
        let (mut wanted, mut room, mut kept, mut lowest) = (need, u32::MAX, 0, at);
        let bottom = self.full.saturating_sub(1);
        for place in (bottom..at).rev() {
            let here = tools[slots[place].job];
            let stay = (wanted & here).count_ones().min(room);
            self.kept_from[place] = stay;
            if stay > 0 {
                kept += stay;
                room -= stay;
                lowest = place;
                // Those for which there was no room are lost.
                wanted &= !here;
            }
            room = room.min(self.free[place]);
            if wanted == 0 || room == 0 {
                break;
            }
        }
        let mut crossing = 0;
        for place in lowest..at {
            self.free[place] -= crossing;
            if crossing > 0 && self.free[place] == 0 {
                self.full = place + 1;
            }
            crossing += self.kept_from[place];
        }
        let size = need.count_ones();
        self.free.push(capacity - size);
        if capacity == size {
            self.full = at + 1;
        }
        size - kept
    }
}
