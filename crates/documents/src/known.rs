//! What ids there are, and where each stands first.

use crate::codes::{Code, DUPLICATE_ID};
use crate::findings::{Findings, Problem, shown};
use crate::nearest::suggestion;
use std::collections::BTreeMap;
use std::fmt::Display;
use std::sync::atomic::{AtomicU32, Ordering};
use units::Place;

/// Near names are looked for so many times; a table that is wrong throughout needs no more.
const MOST_SUGGESTIONS: u32 = 50;

/// The ids of one list.
pub(crate) struct Known<T> {
    places: BTreeMap<T, Place>,
    /// Whether the whole list could be read. When it could not, an id that is not in it is no
    /// finding: the list's own error says enough.
    complete: bool,
    suggestions: AtomicU32,
}

impl<T: Ord + Clone + Display> Known<T> {
    pub(crate) fn new() -> Known<T> {
        Known {
            places: BTreeMap::new(),
            complete: true,
            suggestions: AtomicU32::new(0),
        }
    }

    /// Some of the list is unreadable.
    pub(crate) fn mark_incomplete(&mut self) {
        self.complete = false;
    }

    /// Adds an id; false, with a finding, when it is there already.
    pub(crate) fn add(&mut self, id: &T, place: Place, out: &mut Findings) -> bool {
        if let Some(first) = self.places.get(id) {
            let found = format!("{id} is already at {first}");
            let action = "give one of the two another id, or take it out";
            out.add(
                place,
                Problem::new(DUPLICATE_ID, found, "an id used once", action),
            );
            return false;
        }
        self.places.insert(id.clone(), place);
        true
    }

    /// Where an id stands.
    pub(crate) fn place(&self, id: &T) -> Option<&Place> {
        self.places.get(id)
    }

    /// What is wrong with a reference to this id, when something is.
    pub(crate) fn missing(&self, id: &T, code: Code, file: &str) -> Option<Problem> {
        if !self.complete || self.places.contains_key(id) {
            return None;
        }
        let otherwise = format!("add it to {file}, or correct the id");
        let action = self.suggest(id, otherwise);
        let expected = format!("one of the ids in {file}");
        Some(Problem::new(code, shown(&id.to_string()), expected, action))
    }

    fn suggest(&self, id: &T, otherwise: String) -> String {
        if self.suggestions.load(Ordering::Relaxed) >= MOST_SUGGESTIONS {
            return otherwise;
        }
        self.suggestions.fetch_add(1, Ordering::Relaxed);
        let names: Vec<String> = self.places.keys().take(5_000).map(T::to_string).collect();
        suggestion(
            &id.to_string(),
            names.iter().map(String::as_str),
            &otherwise,
        )
    }
}
