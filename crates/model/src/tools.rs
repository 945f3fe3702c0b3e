//! Tooling stock: profiles, and the physical sections that are the things on the bed.

use units::{Degrees, Kilograms, KilonewtonsPerMetre, Length, ProfileId, SectionId};

/// A punch profile.
#[derive(Clone, Debug, PartialEq)]
pub struct Punch {
    /// Profile id.
    pub id: ProfileId,
    /// Included angle of the tip.
    pub angle: Degrees,
    /// Tip radius.
    pub tip_radius: Length,
    /// Seat to tip.
    pub height: Length,
    /// Line load it bears.
    pub load: KilonewtonsPerMetre,
    /// Tang; must equal the brake's.
    pub tang: String,
    /// Depth of a returned flange it clears in front of its body (zero for a straight punch).
    pub relief: Length,
    /// Height above the tip up to which the relief reaches; the body closes above it.
    pub relief_height: Length,
    /// Thickness of the body, front to back.
    pub body: Length,
    /// Whether it is the upper half of a pair that flattens hems.
    pub flattening: bool,
}

/// A die profile.
#[derive(Clone, Debug, PartialEq)]
pub struct Die {
    /// Profile id.
    pub id: ProfileId,
    /// V opening.
    pub v: Length,
    /// Included angle of the groove.
    pub angle: Degrees,
    /// Seat to shoulders.
    pub height: Length,
    /// Depth of the groove below the shoulders.
    pub groove_depth: Length,
    /// Line load it bears.
    pub load: KilonewtonsPerMetre,
    /// Mount; must equal the brake's.
    pub mount: String,
    /// Thickness of the body, front to back.
    pub width: Length,
    /// Block it is one face of, when several V openings share one body: sections are then stocked
    /// as sections of the block and stand with any of its faces up.
    pub block: Option<ProfileId>,
    /// Whether it is the lower half of a pair that flattens hems. It has no V.
    pub flattening: bool,
}

/// A profile of either kind.
#[derive(Clone, Debug, PartialEq)]
pub enum Profile {
    /// Above.
    Punch(Punch),
    /// Below.
    Die(Die),
}

impl Profile {
    /// The profile's id.
    #[must_use]
    pub fn id(&self) -> &ProfileId {
        match self {
            Profile::Punch(punch) => &punch.id,
            Profile::Die(die) => &die.id,
        }
    }
}

/// A punch section with one end cut back so that it clears a returned flange of a box side.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Horn {
    /// A plain section.
    None,
    /// Horn on the left end.
    Left,
    /// Horn on the right end.
    Right,
}

/// Whether a section may be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SectionStatus {
    /// Fit for use.
    Good,
    /// Out of service: damaged, away for grinding, missing.
    Out,
}

/// One physical section of a profile.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// Its own id, stamped on it.
    pub id: SectionId,
    /// Profile, or block of dies.
    pub profile: ProfileId,
    /// Set it was ground with; a station's punch sections come from one set, its die sections too.
    pub set: String,
    /// Length along the bed.
    pub length: Length,
    /// Horn, for punches.
    pub horn: Horn,
    /// Where it is kept.
    pub drawer: String,
    /// Mass.
    pub mass: Kilograms,
    /// Whether it may be used.
    pub status: SectionStatus,
}
