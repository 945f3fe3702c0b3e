//! Whether parts stand on one bed, and what that bed looks like.

use crate::graph::{BRAKES_COMPARED, Saving, change_free, strip, work};
use crate::shared::Shared;
use std::sync::Arc;
use tooling::{Bed, BedChange, Composer, Stand, Stock, ToolingOption};
use units::Seconds;

/// Setups of a part tried on a brake until one stands beside what is there already.
const SETUPS_TRIED: usize = 4;

/// A bed on which several parts are bent one after the other while all that stands stays.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Layout {
    /// The brake, as an index into the shop's brakes.
    pub brake: usize,
    /// Everything that stands once the last part is set up.
    pub bed: Bed,
    /// The parts in the order in which they are set up.
    pub setups: Vec<Setup>,
    /// Changeover seconds that bending them in this order saves against a bed stripped between every
    /// two of them; both beds are bare in the end.
    pub saved: Seconds,
}

/// Whether all that stood stays where and as it stood.
pub(crate) fn stay(change: &BedChange) -> bool {
    change.removed.is_empty() && change.turned.is_empty() && change.slid.is_empty()
}

/// One part on a bed that it shares.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Setup {
    /// Index of the part.
    pub part: usize,
    /// Index of its tooling option among those given.
    pub option: usize,
    /// Stations of the bed that it uses, as indices into the bed's, in the order of its needs.
    pub stations: Vec<usize>,
}

/// Lays out beds for several parts.
pub struct Beds<'a, 's> {
    stock: &'a Stock<'s>,
    composer: &'a mut Composer,
    options: &'a [&'a ToolingOption],
    shared: Shared,
    setups_tried: usize,
}

impl<'a, 's> Beds<'a, 's> {
    /// Of the tooling options of all parts that matter, the best of each part and brake first.
    #[must_use]
    pub fn new(
        stock: &'a Stock<'s>,
        composer: &'a mut Composer,
        options: &'a [&'a ToolingOption],
    ) -> Beds<'a, 's> {
        Beds {
            stock,
            composer,
            options,
            shared: Shared::of(options),
            setups_tried: SETUPS_TRIED,
        }
    }

    /// The same, trying fewer or more setups of each part; 1 is the best setup alone.
    #[must_use]
    pub fn trying(mut self, setups: usize) -> Beds<'a, 's> {
        self.setups_tried = setups;
        self
    }

    /// A bed of the first few brakes that can make all the parts, if one takes them in this order
    /// without a station coming off, and saves something by it when there are several. `None` proves
    /// nothing: another order might stand.
    pub fn of(&mut self, parts: &[usize]) -> Option<Layout> {
        let brakes = 0..self.stock.shop().brakes.len();
        let takes_all = |brake: &usize| {
            parts
                .iter()
                .all(|&part| !self.shared.options_of(part, *brake).is_empty())
        };
        let brakes: Vec<usize> = brakes.filter(takes_all).take(BRAKES_COMPARED).collect();
        // The best setups of all first, on every brake: others are worth a try, not a preference.
        let best = brakes.iter().find_map(|&brake| self.best(parts, brake));
        best.or_else(|| brakes.iter().find_map(|&brake| self.others(parts, brake)))
    }

    /// Every part with its best setup.
    fn best(&mut self, parts: &[usize], brake: usize) -> Option<Layout> {
        let mut laying = Laying::default();
        for (at, &part) in parts.iter().enumerate() {
            let option = *self.shared.options_of(part, brake).first()?;
            let later = self.best_of(&parts[at + 1..], brake);
            let change = self.fits(&laying.bed, option, &later)?;
            laying.take(self.options[option], option, change);
        }
        self.worthwhile(brake, laying)
    }

    /// The first part with each of its setups in turn, every other with the setup that puts on
    /// fewest stations.
    fn others(&mut self, parts: &[usize], brake: usize) -> Option<Layout> {
        if self.setups_tried < 2 {
            return None;
        }
        let (&first, rest) = parts.split_first()?;
        self.tried(first, brake)
            .into_iter()
            .find_map(|option| self.beside(option, rest, brake))
    }

    fn beside(&mut self, first: usize, rest: &[usize], brake: usize) -> Option<Layout> {
        let mut laying = Laying::default();
        let change = self.fits(&laying.bed, first, &self.best_of(rest, brake))?;
        laying.take(self.options[first], first, change);
        for (at, &part) in rest.iter().enumerate() {
            let later = self.best_of(&rest[at + 1..], brake);
            let mut least: Option<(usize, BedChange)> = None;
            for option in self.tried(part, brake) {
                let Some(change) = self.fits(&laying.bed, option, &later) else {
                    continue;
                };
                let fewer =
                    |(_, least): &(usize, BedChange)| change.inserted.len() < least.inserted.len();
                if least.as_ref().is_none_or(fewer) {
                    least = Some((option, change));
                }
            }
            let (option, change) = least?;
            laying.take(self.options[option], option, change);
        }
        self.worthwhile(brake, laying)
    }

    fn tried(&self, part: usize, brake: usize) -> Vec<usize> {
        let all = self.shared.options_of(part, brake).iter();
        all.take(self.setups_tried).copied().collect()
    }

    fn best_of(&self, parts: &[usize], brake: usize) -> Vec<&'a ToolingOption> {
        let best = |&part: &usize| self.shared.options_of(part, brake).first();
        let options = self.options;
        parts
            .iter()
            .filter_map(best)
            .map(|&option| options[option])
            .collect()
    }

    /// The bed changed for an option, unless a station that stands must come off, be turned or be
    /// slid for it.
    fn fits(&mut self, bed: &Bed, option: usize, later: &[&ToolingOption]) -> Option<BedChange> {
        let option = self.options[option];
        let brake = &self.stock.shop().brakes[option.brake];
        change_free(self.stock, self.composer, bed, brake, option, later).filter(stay)
    }

    /// The bed, unless its parts only happen to stand beside one another.
    fn worthwhile(&mut self, brake: usize, laying: Laying) -> Option<Layout> {
        let several = laying.taken.len() > 1;
        let layout = self.finish(brake, laying);
        (!several || layout.saved > Seconds::ZERO).then_some(layout)
    }

    fn finish(&mut self, brake: usize, laying: Laying) -> Layout {
        let saved = self.saved(brake, &laying);
        let place = |left: &units::Length| {
            let stands = &laying.bed.stands;
            stands.iter().position(|stand| stand.left == *left)
        };
        let setups = laying.taken.iter().map(|taken| Setup {
            part: taken.part,
            option: taken.option,
            stations: taken.lefts.iter().filter_map(place).collect(),
        });
        Layout {
            brake,
            setups: setups.collect(),
            saved,
            bed: laying.bed,
        }
    }

    /// Each part on a bare bed that is stripped after it, less what the shared bed takes and its
    /// stripping in the end. What is taken off for the next is one preparation with what goes on.
    fn saved(&mut self, brake: usize, laying: &Laying) -> Seconds {
        let (stock, machine) = (self.stock, &self.stock.shop().brakes[brake]);
        let mut saved = Seconds::ZERO;
        for taken in &laying.taken {
            let option = self.options[taken.option];
            let bare = Bed::default();
            let Some(alone) = change_free(stock, self.composer, &bare, machine, option, &[]) else {
                continue; // it stands beside others, so it stands alone
            };
            saved = saved + work(stock, option, &alone) - work(stock, option, &taken.change);
            saved = saved + strip(stock, machine, &alone.bed) - machine.times.base;
        }
        saved + machine.times.base - strip(stock, machine, &laying.bed)
    }

    /// The stations that an edge is about: those put on for one part that serve the other as they
    /// stand.
    pub fn shared_stations(&mut self, saving: &Saving) -> Vec<Arc<Stand>> {
        let [first, second] = saving.setups.map(|option| self.options[option]);
        let brake = &self.stock.shop().brakes[saving.brake];
        let (stock, bare) = (self.stock, Bed::default());
        let laid = change_free(stock, self.composer, &bare, brake, first, &[second]);
        let Some(laid) = laid else {
            return Vec::new();
        };
        let after = change_free(stock, self.composer, &laid.bed, brake, second, &[]);
        let Some(after) = after else {
            return Vec::new();
        };
        let mut stayed: Vec<usize> = after.stand_of_need.clone();
        stayed.retain(|stand| !after.inserted.contains(stand));
        stayed.sort_unstable();
        stayed.dedup();
        let stands = stayed.into_iter().filter_map(|at| after.bed.stands.get(at));
        stands.cloned().collect()
    }
}

/// A bed on which parts are set up one after the other.
#[derive(Default)]
struct Laying {
    bed: Bed,
    taken: Vec<Taken>,
}

struct Taken {
    part: usize,
    option: usize,
    /// Left ends of its stations: they tell them apart, and nothing moves any more.
    lefts: Vec<units::Length>,
    change: BedChange,
}

impl Laying {
    fn take(&mut self, of: &ToolingOption, option: usize, change: BedChange) {
        let stands = change.stand_of_need.iter();
        let lefts = stands.filter_map(|&at| Some(change.bed.stands.get(at)?.left));
        self.taken.push(Taken {
            part: of.part,
            option,
            lefts: lefts.collect(),
            change: change.clone(),
        });
        self.bed = change.bed;
    }
}
