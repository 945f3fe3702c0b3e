//! What a shop should be like.

use crate::dice::Dice;

/// Everything that is asked of an invented shop.
#[derive(Clone, Debug, PartialEq)]
pub struct Recipe {
    /// Seed; another one gives another shop of the same kind.
    pub seed: u64,
    /// Open orders.
    pub orders: usize,
    /// Press brakes, at least one.
    pub brakes: usize,
    /// Parts, at least one.
    pub parts: usize,
    /// People, at least one.
    pub people: usize,
    /// Due times: 1 is so tight that most must be late, 0 that many are. A good plan of a shop of
    /// [`Recipe::bed`] is late with few at −1.
    pub due_tightness: f64,
    /// How many sets of sections there are.
    pub sections: Sections,
    /// How many profiles there are, and so how many ways to make a part.
    pub tools: Tools,
    /// When and where the shop is.
    pub season: Season,
    /// Share of beds that carry tools, 0 to 1.
    pub tooled: f64,
    /// Share of parts with a proven setup, 0 to 1.
    pub proven: f64,
    /// What else occurs.
    pub features: Features,
}

/// Sets of sections.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sections {
    /// One set of each profile for three or four brakes.
    Scarce,
    /// About two sets of each profile for three brakes.
    Ample,
}

/// Profiles.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tools {
    /// Two punches and three dies: nearly every part has one way on a brake.
    Few,
    /// Five punches and eight dies.
    Many,
}

/// When and where.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Season {
    /// An ordinary summer Monday.
    Plain,
    /// The Friday before clocks go forward by an hour.
    ClocksForward,
    /// The Friday before clocks go back by an hour.
    ClocksBack,
    /// The Friday before clocks go back by half an hour.
    ClocksBackHalf,
}

/// What occurs in a shop. What is on occurs with some of its orders, parts or brakes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
#[allow(missing_docs)] // each is a word of the shop
pub struct Features {
    pub kits: bool,
    pub lots: bool,
    pub deliveries: bool,
    pub chains: bool,
    /// Some orders may be cut into two or three runs, on several brakes.
    pub split: bool,
    pub tied: bool,
    pub certificates: bool,
    pub two_person: bool,
    pub tapers: bool,
    pub boxes: bool,
    pub inspectors: bool,
    pub running: bool,
    pub down: bool,
    pub closed: bool,
    pub overtime: bool,
    pub nights: bool,
    /// Parts with a hem, and the tools that bend and flatten it.
    pub hems: bool,
    /// Large radii by many strokes side by side.
    pub stepped: bool,
    /// About a third of the parts say where their bend lines lie.
    pub lines: bool,
    /// Two dies are faces of one block.
    pub blocks: bool,
    /// Some deductions are measured.
    pub own_deductions: bool,
    /// Runs stay within a shift.
    pub within_shifts: bool,
    /// Some parts fit no brake, some orders lack blanks.
    pub misfits: bool,
}

impl Features {
    /// Whatever an ordinary shop has.
    #[must_use]
    pub fn ordinary() -> Features {
        Features {
            kits: true,
            lots: true,
            deliveries: true,
            chains: true,
            split: false,
            tied: true,
            certificates: true,
            two_person: true,
            tapers: true,
            boxes: true,
            inspectors: true,
            running: true,
            down: true,
            closed: true,
            overtime: true,
            nights: false,
            hems: true,
            stepped: true,
            lines: true,
            blocks: true,
            own_deductions: true,
            within_shifts: false,
            misfits: false,
        }
    }
}

/// Orders, and the brakes of a shop with so many.
const SIZES: [(usize, usize); 6] = [
    (8, 2),
    (30, 3),
    (100, 5),
    (300, 8),
    (1_000, 12),
    (5_000, 40),
];

impl Recipe {
    /// The plain recipe of a size: 8, 30, 100, 300, 1 000 or 5 000 orders on 2, 3, 5, 8, 12 or 40
    /// brakes; other sizes take the brakes of the next larger one.
    #[must_use]
    pub fn bed(orders: usize, tight: f64, sections: Sections, seed: u64) -> Recipe {
        let brakes = SIZES
            .iter()
            .find(|(size, _)| orders <= *size)
            .map_or(40, |(_, brakes)| *brakes);
        let mut parts = 4;
        while parts * parts * parts < orders * orders * 6 {
            parts += 1;
        }
        Recipe {
            seed,
            orders,
            brakes,
            parts: parts.min(orders.max(1)),
            people: 2 + brakes * 3 / 2,
            due_tightness: tight,
            sections,
            tools: Tools::Many,
            season: Season::Plain,
            tooled: 0.7,
            proven: 0.5,
            features: Features::ordinary(),
        }
    }

    /// A small shop in which anything may occur.
    #[must_use]
    pub fn anything(seed: u64) -> Recipe {
        let mut dice = Dice::new(seed ^ 0x005e_ed0f);
        let orders = dice.count(1, 14);
        let brakes = dice.count(1, 4);
        Recipe {
            seed,
            orders,
            brakes,
            parts: dice.count(1, orders.min(8)),
            people: dice.count(2, 3 + brakes),
            due_tightness: dice.share(),
            sections: dice.pick(&[Sections::Scarce, Sections::Ample]),
            tools: dice.pick(&[Tools::Few, Tools::Many]),
            season: dice.pick(&[
                Season::Plain,
                Season::ClocksForward,
                Season::ClocksBack,
                Season::ClocksBackHalf,
            ]),
            tooled: dice.share(),
            proven: dice.share(),
            features: any_features(&mut dice),
        }
    }

    /// Three to five orders on one or two brakes of a shop in which anything may occur. Most of such
    /// shops have few enough sequences to try them all.
    #[must_use]
    pub fn tiny(seed: u64) -> Recipe {
        let mut dice = Dice::new(seed ^ 0x07_1411);
        let orders = dice.count(3, 5);
        let tools = if dice.one_in(4) {
            Tools::Many
        } else {
            Tools::Few
        };
        Recipe {
            orders,
            brakes: dice.count(1, 2),
            parts: dice.count(1, orders),
            people: dice.count(2, 4),
            tools,
            ..Recipe::anything(seed)
        }
    }

    /// A few orders with few ways to do them, whose every sequence can be tried: so many orders,
    /// one or two brakes.
    #[must_use]
    pub fn provable(orders: usize, brakes: usize, seed: u64) -> Recipe {
        let mut dice = Dice::new(seed ^ 0x0b5e_55ed);
        let mut features = any_features(&mut dice);
        // Shares of orders are jobs of their own: more of them than orders were asked for.
        (features.lots, features.deliveries, features.misfits) = (false, false, false);
        features.split = false;
        // More tools are more ways.
        (features.hems, features.blocks) = (false, false);
        Recipe {
            brakes,
            orders,
            parts: orders,
            tools: Tools::Few,
            features,
            ..Recipe::anything(seed)
        }
    }
}

fn any_features(dice: &mut Dice) -> Features {
    let mut maybe = || dice.one_in(2);
    Features {
        kits: maybe(),
        lots: maybe(),
        deliveries: maybe(),
        chains: maybe(),
        tied: maybe(),
        certificates: maybe(),
        two_person: maybe(),
        tapers: maybe(),
        boxes: maybe(),
        inspectors: maybe(),
        running: maybe(),
        down: maybe(),
        closed: maybe(),
        overtime: maybe(),
        nights: maybe(),
        within_shifts: maybe() && maybe(),
        misfits: maybe(),
        hems: maybe(),
        stepped: maybe(),
        lines: maybe(),
        blocks: maybe(),
        own_deductions: maybe(),
        split: maybe(),
    }
}
