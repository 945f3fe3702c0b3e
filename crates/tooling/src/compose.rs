//! Station lengths out of stocked sections.

use crate::Stock;
use crate::strokes::Strokes;
use model::Horn;
use rustc_hash::FxHashMap;
use std::sync::{Arc, Mutex, PoisonError};
use units::Length;

/// Compositions kept per request, or one of each set when there are more sets; more than this never
/// changed a plan on the demo shop.
const KEPT: usize = 8;
/// Most sections in one half of a station. A full box station of short sections is about ten.
const PIECES_MOST: usize = 14;
/// Bound on the enumeration of one request; the pieces-first order finds good ones early.
const TRIED_MOST: usize = 40_000;

/// The lengths that will do for one half of a station.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Span {
    /// Least sum of sections.
    pub least: Length,
    /// Greatest sum.
    pub most: Length,
    /// Whether a left and a right horn section must stand at the ends.
    pub horns: bool,
}

/// Sections, as classes from left to right, that make up a length.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Composition {
    /// Classes from left to right; a class may occur more than once.
    pub classes: Vec<usize>,
    /// Sum of lengths.
    pub length: Length,
}

/// Compositions by profile and span.
type Known = FxHashMap<(usize, Span), Arc<[Composition]>>;

/// Finds compositions and remembers them, and what is known of the strokes of the part at hand. A clone
/// learns what the others have found and tells them what it finds, in whatever thread: all must be
/// asked about one stock.
#[derive(Clone, Debug, Default)]
pub struct Composer {
    pub(crate) strokes: Strokes,
    /// What this one has been asked, which it looks up without waiting for anyone.
    known: Known,
    known_to_all: Arc<Mutex<Known>>,
}

impl Composer {
    /// An empty memory.
    #[must_use]
    pub fn new() -> Composer {
        Composer::default()
    }

    /// Ways to make up `span` from one set of the profile, fewest sections first, then least
    /// length. Availability is not looked at: a composition that is owned may still be on
    /// another bed.
    pub fn compositions(
        &mut self,
        stock: &Stock<'_>,
        profile: usize,
        span: Span,
    ) -> Arc<[Composition]> {
        let asked = (profile, span);
        if let Some(known) = self.known.get(&asked) {
            return Arc::clone(known);
        }
        // A composition is added whole, so that what a thread that panicked has left is good.
        let known_to_all = || {
            self.known_to_all
                .lock()
                .unwrap_or_else(PoisonError::into_inner)
        };
        let told = known_to_all().get(&asked).map(Arc::clone);
        let found = told.unwrap_or_else(|| {
            let found: Arc<[Composition]> = compose(stock, profile, span).into();
            known_to_all().insert(asked, Arc::clone(&found));
            found
        });
        self.known.insert(asked, Arc::clone(&found));
        found
    }
}

fn compose(stock: &Stock<'_>, profile: usize, span: Span) -> Vec<Composition> {
    let mut sets: Vec<&str> = stock
        .classes_of(profile)
        .iter()
        .map(|&class| stock.class(class).set.as_str())
        .collect();
    sets.sort_unstable();
    sets.dedup();
    let rank = |composition: &Composition| (composition.classes.len(), composition.length);
    let (mut best_of_sets, mut others) = (Vec::new(), Vec::new());
    for set in sets {
        let mut of_set = compose_from_set(stock, profile, span, set);
        of_set.sort_by_key(rank);
        let mut of_set = of_set.into_iter();
        best_of_sets.extend(of_set.next());
        others.extend(of_set);
    }
    // The best of each set stays: the sets before it may all be on other beds.
    others.sort_by_key(rank);
    others.truncate(KEPT.saturating_sub(best_of_sets.len()));
    best_of_sets.extend(others);
    best_of_sets.sort_by_key(rank);
    best_of_sets
}

fn compose_from_set(stock: &Stock<'_>, profile: usize, span: Span, set: &str) -> Vec<Composition> {
    let of_set = |horn: Horn| {
        stock
            .classes_of(profile)
            .iter()
            .copied()
            .filter(move |&class| {
                let class = stock.class(class);
                class.set == set && class.horn == horn
            })
    };
    let plain: Vec<usize> = of_set(Horn::None).collect();
    if !span.horns {
        return middle(stock, &plain, span.least, span.most)
            .into_iter()
            .map(|classes| finish(stock, classes))
            .collect();
    }
    let mut found = Vec::new();
    for left in of_set(Horn::Left) {
        for right in of_set(Horn::Right) {
            let ends = stock.class(left).length + stock.class(right).length;
            if ends > span.most {
                continue;
            }
            let least = (span.least - ends).max(Length::ZERO);
            let middles = if least == Length::ZERO {
                vec![Vec::new()]
            } else {
                middle(stock, &plain, least, span.most - ends)
            };
            found.extend(middles.into_iter().map(|mut classes| {
                classes.insert(0, left);
                classes.push(right);
                finish(stock, classes)
            }));
        }
    }
    found
}

fn finish(stock: &Stock<'_>, classes: Vec<usize>) -> Composition {
    let length = classes.iter().map(|&class| stock.class(class).length).sum();
    Composition { classes, length }
}

/// Multisets of plain classes, longest first, with a sum within `least..=most`: first those with
/// the fewest sections, and those with up to two more, so that a later choice can avoid a section
/// that is on another bed.
fn middle(stock: &Stock<'_>, plain: &[usize], least: Length, most: Length) -> Vec<Vec<usize>> {
    let mut tries = TRIED_MOST;
    let mut found: Vec<Vec<usize>> = Vec::new();
    let mut fewest = None;
    for pieces in 1..=PIECES_MOST {
        if fewest.is_some_and(|fewest| pieces > fewest + 2) || tries == 0 {
            break;
        }
        let mut here = Vec::new();
        let mut search = Pieces {
            stock,
            plain,
            least,
            most,
            tries: &mut tries,
            out: &mut here,
        };
        search.extend(&mut Vec::new(), 0, pieces, Length::ZERO);
        here.sort_by_key(|classes: &Vec<usize>| {
            classes
                .iter()
                .map(|&class| stock.class(class).length)
                .sum::<Length>()
        });
        here.truncate(KEPT);
        if fewest.is_none() && !here.is_empty() {
            fewest = Some(pieces);
        }
        found.extend(here);
    }
    found
}

struct Pieces<'a, 's> {
    stock: &'a Stock<'s>,
    plain: &'a [usize],
    least: Length,
    most: Length,
    tries: &'a mut usize,
    out: &'a mut Vec<Vec<usize>>,
}

impl Pieces<'_, '_> {
    /// Adds exactly `left` more sections from `plain[from..]` (longest first).
    fn extend(&mut self, chosen: &mut Vec<usize>, from: usize, left: usize, sum: Length) {
        if left == 0 {
            if sum >= self.least {
                self.out.push(chosen.clone());
            }
            return;
        }
        for at in from..self.plain.len() {
            if *self.tries == 0 {
                return;
            }
            *self.tries -= 1;
            let class = self.plain[at];
            let length = self.stock.class(class).length;
            let reach = i64::try_from(left).unwrap_or(i64::MAX);
            if sum.nanometres() + length.nanometres().saturating_mul(reach)
                < self.least.nanometres()
            {
                return; // this and every shorter class falls short
            }
            let used = chosen.iter().filter(|&&c| c == class).count();
            if sum + length > self.most || used == self.stock.class(class).members.len() {
                continue;
            }
            chosen.push(class);
            self.extend(chosen, at, left - 1, sum + length);
            chosen.pop();
        }
    }
}
