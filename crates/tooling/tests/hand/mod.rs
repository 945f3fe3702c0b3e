//! A shop small enough to reckon by hand: one brake, a straight punch and a gooseneck, three dies,
//! one part with one bend. Everything is invented.

// Each test program uses its own share of it, and unwraps what it made itself.
#![allow(
    dead_code,
    missing_docs,
    unreachable_pub,
    clippy::unwrap_used,
    clippy::panic
)]

use model::{Bend, BendKind, Die, Horn, Part, Profile, Punch, Section, SectionStatus, Shop};
use testkit::{Features, Recipe, Sections, Tools, invent};
use tooling::{
    Bed, BedChange, Composer, Custody, Job, Options, Request, Stand, Stock, ToolingOption, change,
    options_for,
};
use units::{Kilograms, Length, Moment, ProfileId, Seconds, SectionId};

pub const STRAIGHT: usize = 0;
pub const GOOSENECK: usize = 1;
pub const V8: usize = 2;
pub const V16: usize = 3;
pub const V25: usize = 4;

pub fn mm(mm: i64) -> Length {
    Length::from_whole_mm(mm)
}

/// The shop with no section yet. Brake: 1 350 kN, bed 3 100, 2 550 between frames, throat 410, open
/// 500, stroke 250, 2 700 between drives, holders 60 and 30. Rules: gap 20, overhang 100, box short
/// 10, daylight clearance 15, crash clearance 0.5. Part: 2 mm steel of 430 MPa, one bend of 1 000.
pub fn bare_shop() -> Shop {
    let recipe = Recipe {
        brakes: 1,
        parts: 1,
        proven: 0.0,
        tooled: 0.0,
        tools: Tools::Few,
        features: Features::default(),
        ..Recipe::bed(1, 0.0, Sections::Scarce, 2)
    };
    let mut shop = invent(&recipe);
    "oehler".clone_into(&mut shop.rules.force_form);
    shop.rules.k_factor = None;
    shop.sections.clear();
    let part = Part {
        material: shop.materials[0].id.clone(),
        thickness: mm(2),
        blank: (mm(1_000), mm(100)),
        developed_for_v: None,
        length_tolerance: Length::from_mm(0.5),
        angle_tolerance: units::Degrees::of(1.0),
        crew: None,
        bends: vec![bend(1, 1_000)],
        ..shop.parts[0].clone()
    };
    shop.parts = vec![Part {
        approval: model::Approval::Own,
        proven_only: false,
        ..part
    }];
    shop
}

/// The shop with one set of every profile: 1 000, 500, 500, 300, 200, 100.
pub fn shop() -> Shop {
    let mut shop = bare_shop();
    for profile in [STRAIGHT, GOOSENECK, V8, V16, V25] {
        for length in [1_000, 500, 500, 300, 200, 100] {
            own(&mut shop, profile, "A", length, Horn::None);
        }
    }
    shop
}

/// Adds a section and returns its index.
pub fn own(shop: &mut Shop, profile: usize, set: &str, length: i64, horn: Horn) -> usize {
    let number = shop.sections.len();
    shop.sections.push(Section {
        id: SectionId::new(&format!("S{number}")).unwrap(),
        profile: shop.profiles[profile].id().clone(),
        set: set.to_owned(),
        length: mm(length),
        horn,
        drawer: "drawer".to_owned(),
        mass: Kilograms::of(5.0),
        status: SectionStatus::Good,
    });
    number
}

pub fn bend(number: u8, length: i64) -> Bend {
    Bend {
        number,
        angle: units::Degrees::of(90.0),
        length: mm(length),
        leg: mm(50),
        direction: model::Direction::Up,
        edge: model::Edge::A,
        radius: None,
        inside: None,
        side_return: Length::ZERO,
        return_depth: Length::ZERO,
        lift: Length::ZERO,
        taper: units::Degrees::of(0.0),
        flange_height: mm(50),
        kind: BendKind::Air,
        line: None,
    }
}

pub fn punch_mut(shop: &mut Shop, at: usize) -> &mut Punch {
    match &mut shop.profiles[at] {
        Profile::Punch(punch) => punch,
        Profile::Die(_) => panic!("a die"),
    }
}

pub fn die_mut(shop: &mut Shop, at: usize) -> &mut Die {
    match &mut shop.profiles[at] {
        Profile::Die(die) => die,
        Profile::Punch(_) => panic!("a punch"),
    }
}

pub fn id(shop: &Shop, profile: usize) -> ProfileId {
    shop.profiles[profile].id().clone()
}

/// Round figures for what moves tools on the shop's brake, so that what is cheaper can be reckoned
/// by hand: a station of two sections comes off in 100 s and goes on in 180 s.
pub fn round_times(shop: &mut Shop) {
    let times = &mut shop.brakes[0].times;
    (times.base, times.guard) = (Seconds(240), Seconds(60));
    (times.station_off, times.section_off) = (Seconds(60), Seconds(20));
    (times.station_on, times.section_on) = (Seconds(120), Seconds(30));
    (times.station_slide, times.section_turn) = (Seconds(60), Seconds(25));
    times.heavy_section = Seconds(100);
}

/// What the brake offers a part.
pub fn options_of(shop: &Shop, part: usize) -> Options {
    let stock = Stock::new(shop);
    let material = shop.material(&shop.parts[part].material).unwrap();
    let job = Job {
        shop,
        brake: &shop.brakes[0],
        part: &shop.parts[part],
        material,
        strength: material.strength_typical,
        at: shop.as_of.unwrap_or(Moment(0)),
    };
    options_for(&stock, &mut Composer::new(), &job, part, 0)
}

/// The option of a part with these tools for all its bends.
pub fn option(shop: &Shop, part: usize, punch: usize, die: usize) -> ToolingOption {
    let found = options_of(shop, part);
    let like = |option: &&ToolingOption| {
        option
            .needs
            .iter()
            .all(|need| (need.punch, need.die) == (punch, die))
    };
    found
        .options
        .iter()
        .find(like)
        .cloned()
        .unwrap_or_else(|| panic!("{:#?}", found.refusals))
}

/// An option for a single bend of a length in 2 mm sheet over V16 with the straight punch (or 1 mm
/// over V8, 3 mm over V25).
pub fn single(shop: &mut Shop, die: usize, length: i64) -> ToolingOption {
    let thickness = match die {
        V8 => 1,
        V16 => 2,
        _ => 3,
    };
    let part = Part {
        id: units::PartId::new(&format!("P{}", shop.parts.len())).unwrap(),
        thickness: mm(thickness),
        bends: vec![bend(1, length)],
        ..shop.parts[0].clone()
    };
    shop.parts.push(part);
    option(shop, shop.parts.len() - 1, STRAIGHT, die)
}

/// A station of given sections; the profiles are those of the first sections.
pub fn stand(shop: &Shop, left: i64, punch: &[usize], die: &[usize]) -> Stand {
    let stock = Stock::new(shop);
    let profile = |section: usize| {
        stock
            .profile_index(&shop.sections[section].profile)
            .unwrap()
    };
    let tools = (profile(punch[0]), profile(die[0]));
    Stand::assemble(&stock, tools, false, mm(left), punch.to_vec(), die.to_vec()).unwrap()
}

pub fn bed(stands: Vec<Stand>) -> Bed {
    Bed {
        stands: stands.into_iter().map(std::sync::Arc::new).collect(),
    }
}

/// Index of the first section of a profile with a length, behind `skip` others.
pub fn section(shop: &Shop, profile: usize, length: i64, skip: usize) -> usize {
    let id = id(shop, profile);
    let like = |section: &Section| section.profile == id && section.length == mm(length);
    let alike = (0..shop.sections.len()).filter(|&at| like(&shop.sections[at]));
    alike.skip(skip).min().unwrap()
}

/// Where sections are that are not on the bed in question.
#[derive(Default)]
pub struct Elsewhere {
    /// Sections that cannot be had.
    pub gone: Vec<usize>,
    /// Sections that must be waited for, and the seconds.
    pub later: Vec<(usize, i64)>,
    /// Dies that another brake wants.
    pub wanted: Vec<usize>,
}

impl Custody for Elsewhere {
    fn on_this_bed(&self, section: usize) -> bool {
        !self.gone.contains(&section)
    }
    fn wait(&self, section: usize) -> Option<i64> {
        let wait = self
            .later
            .iter()
            .find(|(other, _)| *other == section)
            .map_or(0, |(_, s)| *s);
        (!self.gone.contains(&section)).then_some(wait)
    }
    fn wanted_elsewhere(&self, stand: &Stand) -> bool {
        self.wanted.contains(&stand.die)
    }
}

/// Changes a bed of the shop's brake.
pub fn change_for(
    shop: &Shop,
    bed: &Bed,
    option: &ToolingOption,
    later: &[&ToolingOption],
    custody: &Elsewhere,
) -> Option<BedChange> {
    let stock = Stock::new(shop);
    let request = Request {
        brake: &shop.brakes[0],
        option,
        later,
    };
    change(&stock, &mut Composer::new(), bed, &request, custody)
}
