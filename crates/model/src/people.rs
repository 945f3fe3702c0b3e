//! Operators and setters.

use units::{BrakeId, CalendarId, PersonId};

/// What a person does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Bends.
    Operator,
    /// Changes tools.
    Setter,
    /// Both.
    Both,
}

impl Role {
    /// Whether this person bends.
    #[must_use]
    pub fn bends(self) -> bool {
        matches!(self, Role::Operator | Role::Both)
    }

    /// Whether this person changes tools.
    #[must_use]
    pub fn sets(self) -> bool {
        matches!(self, Role::Setter | Role::Both)
    }
}

/// One person on the floor.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    /// A code, not a name.
    pub id: PersonId,
    /// What they do.
    pub role: Role,
    /// When they are there.
    pub calendar: CalendarId,
    /// Brakes they are trained on.
    pub brakes: Vec<BrakeId>,
}
