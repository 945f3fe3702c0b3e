//! Changes, and their names.

use model::Clamping;
use std::fmt;
use units::{BrakeId, CalendarId, Length, PersonId, ProfileId};

/// One thing that is different.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    /// A second set of sections of a punch, a die or a block of dies.
    AnotherSet {
        /// The profile or block.
        profile: ProfileId,
        /// Lengths bought, each as often as it stands here; a whole set once more when empty.
        lengths: Vec<Length>,
    },
    /// More sections that go with the set there is, of any length.
    MoreSections {
        /// The profile or block.
        profile: ProfileId,
        /// Their lengths.
        lengths: Vec<Length>,
    },
    /// Another way of clamping the tools of a brake, with the change times that go with it.
    Clamping {
        /// The brake.
        brake: BrakeId,
        /// The new clamping.
        clamping: Clamping,
    },
    /// An axis of the back gauge, or a longer one, there from the first day.
    Axis {
        /// The brake.
        brake: BrakeId,
        /// Which axis.
        axis: GaugeAxis,
        /// Least position.
        from: Length,
        /// Greatest position.
        to: Length,
    },
    /// Gauge fingers driven along the bed instead of slid by hand.
    PoweredFingers {
        /// The brake.
        brake: BrakeId,
    },
    /// A shift more for the brakes on a calendar, behind the last of each day, worked by as many
    /// people again as work in that last one.
    FurtherShift {
        /// The brakes' calendar.
        calendar: CalendarId,
    },
    /// Another brake of the same kind, on the same calendar and for the same people.
    AnotherBrake {
        /// The brake there is.
        like: BrakeId,
    },
    /// Another person with the same hours and training.
    AnotherPerson {
        /// The person there is.
        like: PersonId,
    },
    /// A person trained on one more brake.
    Trained {
        /// The person.
        person: PersonId,
        /// The brake.
        brake: BrakeId,
    },
    /// One V opening fewer: the die is sold, or that face of a block is no longer used.
    Without {
        /// The die.
        die: ProfileId,
    },
}

/// A back-gauge axis with a range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GaugeAxis {
    /// Front to back.
    X,
    /// X1 against X2.
    XDifference,
    /// Height.
    R,
}

impl GaugeAxis {
    /// The axis as people call it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            GaugeAxis::X => "X",
            GaugeAxis::XDifference => "X1/X2",
            GaugeAxis::R => "R",
        }
    }
}

/// The clamping as shop files write it.
pub(crate) fn clamping_name(clamping: Clamping) -> &'static str {
    match clamping {
        Clamping::Bolted => "bolted",
        Clamping::Quick => "quick",
        Clamping::Powered => "powered",
    }
}

impl Change {
    /// The kind of change in one word, for machines.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Change::AnotherSet { .. } => "another-set",
            Change::MoreSections { .. } => "more-sections",
            Change::Clamping { .. } => "clamping",
            Change::Axis { .. } => "gauge-axis",
            Change::PoweredFingers { .. } => "powered-fingers",
            Change::FurtherShift { .. } => "further-shift",
            Change::AnotherBrake { .. } => "another-brake",
            Change::AnotherPerson { .. } => "another-person",
            Change::Trained { .. } => "trained",
            Change::Without { .. } => "without-die",
        }
    }
}

/// Its name in words; [`Change::parse`] reads it back.
impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Change::AnotherSet { profile, lengths } => {
                write!(f, "another set of {profile}")?;
                if lengths.is_empty() {
                    return Ok(());
                }
                f.write_str(" with ")?;
                list(f, lengths)
            }
            Change::MoreSections { profile, lengths } => {
                f.write_str("sections ")?;
                list(f, lengths)?;
                write!(f, " more of {profile}")
            }
            Change::Clamping { brake, clamping } => {
                write!(f, "{} clamping on {brake}", clamping_name(*clamping))
            }
            Change::Axis {
                brake,
                axis,
                from,
                to,
            } => write!(f, "{} axis from {from} to {to} on {brake}", axis.name()),
            Change::PoweredFingers { brake } => write!(f, "powered fingers on {brake}"),
            Change::FurtherShift { calendar } => write!(f, "further shift on {calendar}"),
            Change::AnotherBrake { like } => write!(f, "another brake like {like}"),
            Change::AnotherPerson { like } => write!(f, "another person like {like}"),
            Change::Trained { person, brake } => write!(f, "{person} trained on {brake}"),
            Change::Without { die } => write!(f, "without {die}"),
        }
    }
}

fn list(f: &mut fmt::Formatter<'_>, lengths: &[Length]) -> fmt::Result {
    for (index, length) in lengths.iter().enumerate() {
        if index > 0 {
            f.write_str(" ")?;
        }
        write!(f, "{length}")?;
    }
    Ok(())
}
