//! Findings: what is wrong with the user's data, said so that it can be mended.

use std::fmt;

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth knowing; nothing is wrong.
    Note,
    /// Probably not meant; the data can still be used.
    Warning,
    /// The data cannot be used.
    Error,
}

/// Where in the user's files something stands.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Place {
    /// File name, relative to the shop folder.
    pub file: String,
    /// Line number from 1, when a line is meant.
    pub line: Option<u64>,
    /// Field, column or key, when one is meant.
    pub field: Option<String>,
}

/// `orders.csv:12:due`, `brakes.toml`, `shop.toml:3`.
impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(line) = self.line {
            write!(f, ":{line}")?;
        }
        if let Some(field) = &self.field {
            write!(f, ":{field}")?;
        }
        Ok(())
    }
}

/// One thing to mend in the user's data. All are collected; none stops the reading of the rest.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Stable code such as `D204`; documented in docs/reference/codes.md.
    pub code: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// Where it stands.
    pub place: Place,
    /// What was found there.
    pub found: String,
    /// What was expected instead.
    pub expected: String,
    /// What to do about it.
    pub action: String,
}

impl Finding {
    /// Whether the data cannot be used.
    #[must_use]
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}

/// `work-orders.csv:12:due: error D204: found "soon", expected a date …; write …`
impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let severity = match self.severity {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Error => "error",
        };
        write!(
            f,
            "{}: {severity} {}: {}",
            self.place, self.code, self.found
        )?;
        if !self.expected.is_empty() {
            write!(f, "; expected {}", self.expected)?;
        }
        if !self.action.is_empty() {
            write!(f, "; {}", self.action)?;
        }
        Ok(())
    }
}
