//! The shops that are planned: sizes, due times, sections. All are invented.

use model::Shop;
use testkit::{Features, Recipe, Sections, Tools, invent};

/// Orders up to which every sequence is to be tried.
pub const PROVED_MOST: usize = 8;

/// How soon orders are due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dates {
    /// Much must be late.
    Tight,
    /// Little must be.
    Loose,
}

/// A kind of shop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Class {
    /// Orders.
    pub orders: usize,
    /// How soon they are due.
    pub dates: Dates,
    /// Sets of sections.
    pub sections: Sections,
}

impl Class {
    /// The four kinds of a size.
    #[must_use]
    pub fn all(orders: usize) -> [Class; 4] {
        let of = |dates, sections| Class {
            orders,
            dates,
            sections,
        };
        [
            of(Dates::Tight, Sections::Scarce),
            of(Dates::Tight, Sections::Ample),
            of(Dates::Loose, Sections::Scarce),
            of(Dates::Loose, Sections::Ample),
        ]
    }

    /// What it is called in tables.
    #[must_use]
    pub fn name(self) -> String {
        format!("{:?}, {:?}", self.dates, self.sections).to_lowercase()
    }

    /// The recipe of one such shop.
    #[must_use]
    pub fn recipe(self, seed: u64) -> Recipe {
        let tight = match self.dates {
            Dates::Tight => 0.5,
            Dates::Loose => -1.0,
        };
        let recipe = Recipe::bed(self.orders, tight, self.sections, seed);
        if self.orders > PROVED_MOST {
            return recipe;
        }
        // Few ways and whole orders, so that all sequences can be tried.
        Recipe {
            tools: Tools::Few,
            features: Features {
                lots: false,
                deliveries: false,
                hems: false,
                blocks: false,
                ..recipe.features
            },
            ..recipe
        }
    }

    /// One such shop.
    #[must_use]
    pub fn shop(self, seed: u64) -> Shop {
        invent(&self.recipe(seed))
    }
}
