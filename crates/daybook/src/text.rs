//! Ids, moments, lengths and steps as JSON has them.

use chrono::{DateTime, SecondsFormat};
use documents::{step_name, step_named};
use model::StepKind;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use units::{
    BrakeId, KitId, Length, LengthUnit, Moment, OrderId, PartId, ProfileId, SectionId, parse_length,
};

/// A value that JSON has as one text.
pub(crate) trait Textual: Sized {
    /// As written; nothing when it is beyond what can be written.
    fn write(&self) -> Option<String>;
    /// Read back, or what is wrong.
    fn read(text: &str) -> Result<Self, String>;
}

macro_rules! id {
    ($($id:ident)*) => {$(
        impl Textual for $id {
            fn write(&self) -> Option<String> {
                Some(self.as_str().to_owned())
            }
            fn read(text: &str) -> Result<$id, String> {
                $id::new(text).map_err(|error| format!("{text:?} is no id: {error}"))
            }
        }
    )*};
}

id!(BrakeId KitId OrderId PartId ProfileId SectionId);

/// RFC 3339 in UTC, whole seconds.
impl Textual for Moment {
    fn write(&self) -> Option<String> {
        let at = DateTime::from_timestamp(self.0, 0)?;
        Some(at.to_rfc3339_opts(SecondsFormat::Secs, true))
    }
    fn read(text: &str) -> Result<Moment, String> {
        let at = DateTime::parse_from_rfc3339(text);
        at.map(|at| Moment(at.timestamp()))
            .map_err(|_| format!("{text:?} is no RFC 3339 time such as 2027-03-22T05:00:00Z"))
    }
}

/// Millimetres, exact to the nanometre.
impl Textual for Length {
    fn write(&self) -> Option<String> {
        Some(self.to_string())
    }
    fn read(text: &str) -> Result<Length, String> {
        parse_length(text, LengthUnit::Millimetre)
            .map_err(|error| format!("{text:?} is no length in mm: {error}"))
    }
}

/// The words of plan JSON.
impl Textual for StepKind {
    fn write(&self) -> Option<String> {
        Some(step_name(*self).to_owned())
    }
    fn read(text: &str) -> Result<StepKind, String> {
        step_named(text).ok_or_else(|| format!("{text:?} is no step of a changeover"))
    }
}

fn written<T: Textual, E: serde::ser::Error>(value: &T) -> Result<String, E> {
    value
        .write()
        .ok_or_else(|| E::custom("beyond what can be written"))
}

/// One value.
pub(crate) mod one {
    use super::{Deserialize, Deserializer, Serialize, Serializer, Textual, written};
    use serde::de::Error as _;

    pub(crate) fn serialize<T: Textual, S: Serializer>(
        value: &T,
        to: S,
    ) -> Result<S::Ok, S::Error> {
        written::<T, S::Error>(value)?.serialize(to)
    }
    pub(crate) fn deserialize<'de, T: Textual, D: Deserializer<'de>>(
        from: D,
    ) -> Result<T, D::Error> {
        let text = String::deserialize(from)?;
        T::read(&text).map_err(D::Error::custom)
    }
}

/// A value or `null`.
pub(crate) mod maybe {
    use super::{Deserialize, Deserializer, Serialize, Serializer, Textual, written};
    use serde::de::Error as _;

    pub(crate) fn serialize<T: Textual, S: Serializer>(
        value: &Option<T>,
        to: S,
    ) -> Result<S::Ok, S::Error> {
        let text = value.as_ref().map(written::<T, S::Error>).transpose()?;
        text.serialize(to)
    }
    pub(crate) fn deserialize<'de, T: Textual, D: Deserializer<'de>>(
        from: D,
    ) -> Result<Option<T>, D::Error> {
        let text = Option::<String>::deserialize(from)?;
        text.map(|text| T::read(&text).map_err(D::Error::custom))
            .transpose()
    }
}

/// A list.
pub(crate) mod list {
    use super::{Deserialize, Deserializer, Serialize, Serializer, Textual, written};
    use serde::de::Error as _;

    pub(crate) fn serialize<T: Textual, S: Serializer>(
        values: &[T],
        to: S,
    ) -> Result<S::Ok, S::Error> {
        let texts: Result<Vec<String>, S::Error> =
            values.iter().map(written::<T, S::Error>).collect();
        texts?.serialize(to)
    }
    pub(crate) fn deserialize<'de, T: Textual, D: Deserializer<'de>>(
        from: D,
    ) -> Result<Vec<T>, D::Error> {
        let texts = Vec::<String>::deserialize(from)?;
        let values: Result<Vec<T>, String> = texts.iter().map(|text| T::read(text)).collect();
        values.map_err(D::Error::custom)
    }
}

/// A value as one text, also where it is a key.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Text<T>(pub(crate) T);

impl<T: Textual> Serialize for Text<T> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        one::serialize(&self.0, to)
    }
}

impl<'de, T: Textual> Deserialize<'de> for Text<T> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Text<T>, D::Error> {
        one::deserialize(from).map(Text)
    }
}
