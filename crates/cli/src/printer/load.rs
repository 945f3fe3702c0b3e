//! How close a bend comes to what brake and tools bear.

use model::{Brake, Shop};
use units::{Kilonewtons, Length, ProfileId};

/// From this share of a limit on, a person is told.
pub(crate) const NEAR: f64 = 0.9;

/// The limit a bend comes closest to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Load {
    /// Share of the limit, 1 at the limit.
    pub(crate) share: f64,
    /// What would give way first.
    pub(crate) link: &'static str,
}

impl Load {
    /// `87 % clamp`.
    pub(crate) fn text(self) -> String {
        format!("{:.0} % {}", self.share * 100.0, self.link)
    }

    /// Whether a person should know.
    pub(crate) fn is_near(self) -> bool {
        self.share >= NEAR
    }
}

/// One bend under its tools.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Loaded<'a> {
    /// Force.
    pub(crate) force: Kilonewtons,
    /// Length over which it is carried, at most: the bend's, or the punch's if that is shorter.
    pub(crate) length: Length,
    /// Punch.
    pub(crate) punch: &'a ProfileId,
    /// Die.
    pub(crate) die: &'a ProfileId,
}

/// The closest limit of the chain: rated force of the brake, and line loads of bed, clamps, holder,
/// rail, punch and die. A bed without a line load of its own counts with rated force over 60 % of
/// the frame distance, as docs/rules.md has it.
pub(crate) fn closest_limit(shop: &Shop, brake: &Brake, bend: Loaded<'_>) -> Load {
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
