//! How close a planned bend comes to what brake and tools bear.

use model::{Brake, Shop, Station};
use units::{Kilonewtons, Length, ProfileId};

/// From this share of a limit on, a person is told.
pub const NEAR: f64 = 0.9;

/// The limit a bend comes closest to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// Share of the limit, 1 at the limit.
    pub share: f64,
    /// What would give way first.
    pub link: &'static str,
}

impl Load {
    /// `87 % clamp`.
    #[must_use]
    pub fn text(self) -> String {
        format!("{:.0} % {}", self.share * 100.0, self.link)
    }

    /// Whether a person should know.
    #[must_use]
    pub fn is_near(self) -> bool {
        self.share >= NEAR
    }
}

/// One bend under its tools.
#[derive(Clone, Copy, Debug)]
pub struct Loaded<'a> {
    /// Force.
    pub force: Kilonewtons,
    /// Length over which it is carried, at most: the bend's, or the punch's if that is shorter.
    pub length: Length,
    /// Punch.
    pub punch: &'a ProfileId,
    /// Die.
    pub die: &'a ProfileId,
}

/// The closest limit of a bend at a station. The force is carried by the bend's length, or by the
/// punch's where that is shorter.
#[must_use]
pub fn load_at(
    shop: &Shop,
    brake: &Brake,
    station: &Station,
    force: Kilonewtons,
    bend: Length,
) -> Load {
    let pieces = station.punch_sections.iter();
    let punch: Length = pieces.map(|piece| piece.length).sum();
    let loaded = Loaded {
        force,
        length: bend.min(punch),
        punch: &station.punch,
        die: &station.die,
    };
    closest_limit(shop, brake, loaded)
}

/// The closest limit of the chain: rated force of the brake, and line loads of bed, clamps, holder,
/// rail, punch and die. A bed without a line load of its own counts with rated force over 60 % of
/// the frame distance, as docs/rules.md has it.
#[must_use]
pub fn closest_limit(shop: &Shop, brake: &Brake, bend: Loaded<'_>) -> Load {
    let line = bend.force.get() / bend.length.metres();
    let bed = brake.bed_load.map_or_else(
        || brake.force.get() / (0.6 * brake.between_frames.metres()),
        |load| load.get(),
    );
    let punch = shop.punch(bend.punch).map(|punch| punch.load.get());
    let die = shop.die(bend.die).map(|die| die.load.get());
    let links = [
        (Some(bed), "bed"),
        (Some(brake.clamp_load.get()), "clamps"),
        (Some(brake.holder_load.get()), "holder"),
        (Some(brake.rail_load.get()), "rail"),
        (punch, "punch"),
        (die, "die"),
    ];
    let force = Load {
        share: bend.force.get() / brake.force.get(),
        link: "force",
    };
    links
        .into_iter()
        .filter_map(|(limit, link)| {
            limit.map(|limit| Load {
                share: line / limit,
                link,
            })
        })
        .fold(force, |closest, other| {
            if other.share > closest.share {
                other
            } else {
                closest
            }
        })
}
