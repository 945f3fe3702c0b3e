//! One vocabulary for the cells of a table row and the keys of a settings table.

use crate::codes::VALUE_MISSING;
use crate::findings::Problem;
use units::LengthUnit;

/// A value as written, before it means anything.
#[derive(Clone, Debug)]
pub(crate) struct Raw {
    /// The text, without surrounding space.
    pub(crate) text: String,
    /// The unit a length without a suffix has here.
    pub(crate) unit: LengthUnit,
}

/// What kind of value a settings file must hold; a table's cell is text in any case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Text,
    Number,
    NumberOrText,
    DateOrText,
    Flag,
}

impl Kind {
    pub(crate) fn words(self) -> &'static str {
        match self {
            Kind::Text => "a text in quotes",
            Kind::Number => "a number",
            Kind::NumberOrText => "a number, or a text in quotes",
            Kind::DateOrText => "a date, or a text in quotes",
            Kind::Flag => "true or false",
        }
    }
}

/// How a value is read.
pub(crate) trait Parse {
    type Out;
    const KIND: Kind;

    fn parse(&self, raw: &Raw) -> Result<Self::Out, Problem>;
}

/// Named values with places.
pub(crate) trait Fields {
    /// The value of a field; nothing when it is absent, empty, or of the wrong kind (which is then
    /// reported).
    fn raw(&mut self, key: &'static str, kind: Kind) -> Option<Raw>;

    /// Whether something is written there.
    fn has(&self, key: &'static str) -> bool;

    /// Reports a problem at a field.
    fn report(&mut self, key: &'static str, problem: Problem);

    /// An optional field; nothing also when it is bad, which is then reported.
    fn optional<P: Parse>(&mut self, key: &'static str, parse: &P) -> Option<P::Out> {
        let raw = self.raw(key, P::KIND)?;
        match parse.parse(&raw) {
            Ok(value) => Some(value),
            Err(problem) => {
                self.report(key, problem);
                None
            }
        }
    }

    /// An optional field with a default.
    fn or<P: Parse>(&mut self, key: &'static str, parse: &P, default: P::Out) -> P::Out {
        self.optional(key, parse).unwrap_or(default)
    }

    /// A required field.
    fn required<P: Parse>(&mut self, key: &'static str, parse: &P) -> Option<P::Out> {
        if !self.has(key) {
            let action = format!("fill in {key}");
            self.report(
                key,
                Problem::new(VALUE_MISSING, "nothing there", "a value", action),
            );
            return None;
        }
        self.optional(key, parse)
    }
}
