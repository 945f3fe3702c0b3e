//! Typed ids: an order's id cannot stand where a part's is meant.

use std::fmt;
use std::sync::Arc;

/// Why a text is not an id.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum IdError {
    /// Nothing written.
    Empty,
    /// More than [`IdError::LONGEST`] characters.
    TooLong(usize),
    /// A character that is neither letter, digit nor one of `- _ . / + # :`.
    BadCharacter(char),
}

impl IdError {
    /// The longest id in characters.
    pub const LONGEST: usize = 64;
}

impl fmt::Display for IdError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            IdError::Empty => write!(f, "nothing written"),
            IdError::TooLong(length) => {
                write!(
                    f,
                    "{length} characters, at most {} allowed",
                    IdError::LONGEST
                )
            }
            IdError::BadCharacter(c) => {
                write!(
                    f,
                    "character {c:?}, expected letters, digits and - _ . / + # :"
                )
            }
        }
    }
}

impl std::error::Error for IdError {}

fn check(text: &str) -> Result<(), IdError> {
    if text.is_empty() {
        return Err(IdError::Empty);
    }
    let length = text.chars().count();
    if length > IdError::LONGEST {
        return Err(IdError::TooLong(length));
    }
    match text
        .chars()
        .find(|c| !(c.is_alphanumeric() || "-_./+#:".contains(*c)))
    {
        Some(bad) => Err(IdError::BadCharacter(bad)),
        None => Ok(()),
    }
}

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(Arc<str>);

        impl $name {
            /// Checks the text: 1 to 64 letters, digits or `- _ . / + # :`.
            ///
            /// # Errors
            /// [`IdError`] says which rule is broken.
            pub fn new(text: &str) -> Result<$name, IdError> {
                check(text).map(|()| $name(Arc::from(text)))
            }

            /// The id as text.
            #[must_use]
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.0)
            }
        }
    };
}

id!(
    /// A press brake.
    BrakeId);
id!(
    /// A staffing calendar.
    CalendarId);
id!(
    /// Orders that are only of use together.
    KitId);
id!(
    /// A sheet material.
    MaterialId);
id!(
    /// A work order.
    OrderId);
id!(
    /// A part.
    PartId);
id!(
    /// An operator or setter.
    PersonId);
id!(
    /// A punch or die profile.
    ProfileId);
id!(
    /// One physical section of a profile.
    SectionId);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_checked() {
        assert!(OrderId::new("W-1042/2").is_ok());
        assert_eq!(OrderId::new(""), Err(IdError::Empty));
        assert_eq!(OrderId::new("a b"), Err(IdError::BadCharacter(' ')));
        assert_eq!(OrderId::new(&"x".repeat(65)), Err(IdError::TooLong(65)));
    }
}
