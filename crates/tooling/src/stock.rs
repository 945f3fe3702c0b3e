//! The sections the shop owns, grouped where they can stand in for one another.

use crate::bed::Stand;
use model::{Die, Horn, Profile, Punch, Section, SectionStatus, Shop};
use units::{Length, ProfileId, SectionId};

/// Sections of one profile, set, length and horn: any of them does.
#[derive(Clone, Debug)]
pub struct Class {
    /// Index of the profile in the shop.
    pub profile: usize,
    /// Set they were ground with.
    pub set: String,
    /// Length along the bed.
    pub length: Length,
    /// Horn.
    pub horn: Horn,
    /// Indices of the sections in the shop, in service only, in stock order.
    pub members: Vec<usize>,
}

/// Index of profiles and sections of a shop.
#[derive(Debug)]
pub struct Stock<'s> {
    shop: &'s Shop,
    classes: Vec<Class>,
    classes_of_profile: Vec<Vec<usize>>,
    heavy: Vec<bool>,
    /// By profile: the block a die is a face of, by the block's first face.
    block_of_die: Vec<Option<usize>>,
    /// By section: the block it is a piece of, likewise.
    block_of_section: Vec<Option<usize>>,
}

impl<'s> Stock<'s> {
    /// Groups the shop's sections.
    #[must_use]
    pub fn new(shop: &'s Shop) -> Stock<'s> {
        let block_of = |profile: &Profile| match profile {
            Profile::Die(die) => first_face(shop, die.block.as_ref()?),
            Profile::Punch(_) => None,
        };
        let mut stock = Stock {
            shop,
            classes: Vec::new(),
            classes_of_profile: vec![Vec::new(); shop.profiles.len()],
            heavy: shop
                .sections
                .iter()
                .map(|section| section.mass > shop.rules.heavy_section_mass)
                .collect(),
            block_of_die: shop.profiles.iter().map(block_of).collect(),
            block_of_section: shop
                .sections
                .iter()
                .map(|section| first_face(shop, &section.profile))
                .collect(),
        };
        for (index, section) in shop.sections.iter().enumerate() {
            if section.status == SectionStatus::Good {
                stock.admit(index, section);
            }
        }
        for classes in &mut stock.classes_of_profile {
            classes.sort_by_key(|&class| std::cmp::Reverse(stock.classes[class].length));
        }
        stock
    }

    fn admit(&mut self, index: usize, section: &Section) {
        // A section of a block serves every die of the block: it is one class under each of them.
        let faces = |profile: &Profile| match profile {
            Profile::Punch(punch) => punch.id == section.profile,
            Profile::Die(die) => {
                die.id == section.profile || die.block.as_ref() == Some(&section.profile)
            }
        };
        let profiles: Vec<usize> = (0..self.shop.profiles.len())
            .filter(|&profile| faces(&self.shop.profiles[profile]))
            .collect();
        for profile in profiles {
            self.admit_as(index, section, profile);
        }
    }

    fn admit_as(&mut self, index: usize, section: &Section, profile: usize) {
        let same = self.classes_of_profile[profile]
            .iter()
            .copied()
            .find(|&class| {
                let class = &self.classes[class];
                class.set == section.set
                    && class.length == section.length
                    && class.horn == section.horn
            });
        if let Some(class) = same {
            self.classes[class].members.push(index);
            return;
        }
        self.classes_of_profile[profile].push(self.classes.len());
        self.classes.push(Class {
            profile,
            set: section.set.clone(),
            length: section.length,
            horn: section.horn,
            members: vec![index],
        });
    }

    /// The shop it indexes.
    #[must_use]
    pub fn shop(&self) -> &'s Shop {
        self.shop
    }

    /// A class by index.
    #[must_use]
    pub fn class(&self, class: usize) -> &Class {
        &self.classes[class]
    }

    /// All classes.
    #[must_use]
    pub fn classes(&self) -> &[Class] {
        &self.classes
    }

    /// Classes of a profile, longest first.
    #[must_use]
    pub fn classes_of(&self, profile: usize) -> &[usize] {
        &self.classes_of_profile[profile]
    }

    /// Whether a section takes two people or a crane.
    #[must_use]
    pub fn is_heavy(&self, section: usize) -> bool {
        self.heavy[section]
    }

    /// Whether a station shows another die of its block when its die sections are turned.
    #[must_use]
    pub fn can_turn(&self, stand: &Stand, die: usize) -> bool {
        let block = self.block_of_die[die];
        block.is_some()
            && stand.die != die
            && self.block_of_die[stand.die] == block
            && stand
                .die_sections
                .iter()
                .all(|&section| self.block_of_section[section] == block)
    }

    /// The section's length.
    #[must_use]
    pub fn section_length(&self, section: usize) -> Length {
        self.shop.sections[section].length
    }

    /// Index of a profile by id.
    #[must_use]
    pub fn profile_index(&self, id: &ProfileId) -> Option<usize> {
        self.shop
            .profiles
            .iter()
            .position(|profile| profile.id() == id)
    }

    /// Index of a section by id.
    #[must_use]
    pub fn section_index(&self, id: &SectionId) -> Option<usize> {
        self.shop
            .sections
            .iter()
            .position(|section| section.id == *id)
    }

    /// The punch at a profile index.
    #[must_use]
    pub fn punch(&self, profile: usize) -> Option<&'s Punch> {
        match self.shop.profiles.get(profile) {
            Some(Profile::Punch(punch)) => Some(punch),
            _ => None,
        }
    }

    /// The die at a profile index.
    #[must_use]
    pub fn die(&self, profile: usize) -> Option<&'s Die> {
        match self.shop.profiles.get(profile) {
            Some(Profile::Die(die)) => Some(die),
            _ => None,
        }
    }
}

/// Index of the first die that is a face of a block; `None` when the id names no block.
fn first_face(shop: &Shop, block: &ProfileId) -> Option<usize> {
    shop.profiles.iter().position(|profile| match profile {
        Profile::Die(die) => die.block.as_ref() == Some(block),
        Profile::Punch(_) => false,
    })
}
