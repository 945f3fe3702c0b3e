//! TOML settings: tables of keys, each with its line.

use crate::codes::{TOML_SYNTAX, UNKNOWN_KEY, VALUE_MISSING, WRONG_TYPE};
use crate::fields::{Fields, Kind, Parse, Raw};
use crate::findings::{Findings, Problem, shown};
use crate::limits::LARGEST_SETTINGS;
use crate::nearest::suggestion;
use crate::text::text_of;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};
use units::{LengthUnit, Place};

/// Where lines begin in a file.
pub(crate) struct Lines {
    file: &'static str,
    starts: Vec<usize>,
}

impl Lines {
    fn of(file: &'static str, text: &str) -> Lines {
        let breaks = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n');
        let starts = std::iter::once(0)
            .chain(breaks.map(|(at, _)| at + 1))
            .collect();
        Lines { file, starts }
    }

    fn place(&self, span: &Range<usize>, field: Option<&str>) -> Place {
        let line = self.starts.partition_point(|start| *start <= span.start);
        Place {
            file: self.file.to_owned(),
            line: u64::try_from(line).ok(),
            field: field.map(str::to_owned),
        }
    }
}

/// Reads a settings file. False when it is not well-formed; what is wrong is then among the
/// findings.
pub(crate) fn read_settings(
    file: &'static str,
    bytes: &[u8],
    out: &mut Findings,
    read: impl FnOnce(&mut Settings<'_, '_>),
) -> bool {
    let Some(text) = text_of(file, bytes, LARGEST_SETTINGS, out) else {
        return false;
    };
    let lines = Lines::of(file, text);
    let (table, errors) = DeTable::parse_recoverable(text);
    for error in &errors {
        let span = error.span().unwrap_or(0..0);
        let action = "mend the line, or the quote or bracket before it";
        let found = error.message().to_owned();
        out.add(
            lines.place(&span, None),
            Problem::new(TOML_SYNTAX, found, "TOML", action),
        );
    }
    if !errors.is_empty() {
        return false;
    }
    let mut settings = Settings {
        table: table.get_ref(),
        lines: &lines,
        path: String::new(),
        span: 0..0,
        seen: Vec::new(),
        unit: LengthUnit::Millimetre,
        out,
    };
    read(&mut settings);
    settings.close();
    true
}

/// One table of a settings file. Every key that is asked for is known; those that nobody asked for
/// are reported when it closes.
pub(crate) struct Settings<'t, 'f> {
    table: &'t DeTable<'t>,
    lines: &'t Lines,
    /// The way here, with a full stop at its end, for places; empty at the top.
    path: String,
    span: Range<usize>,
    seen: Vec<&'static str>,
    /// The unit of lengths without a suffix.
    pub(crate) unit: LengthUnit,
    pub(crate) out: &'f mut Findings,
}

impl<'t> Settings<'t, '_> {
    /// The place of a key; of the table when the key is not there.
    pub(crate) fn place(&self, key: &str) -> Place {
        let span = self
            .find(key)
            .map_or_else(|| self.span.clone(), |(span, _)| span);
        self.lines
            .place(&span, Some(&format!("{}{key}", self.path)))
    }

    fn find(&self, key: &str) -> Option<(Range<usize>, &'t Spanned<DeValue<'t>>)> {
        let (key, value) = self.table.get_key_value(key)?;
        Some((key.span(), value))
    }

    fn mark(&mut self, key: &'static str) {
        if !self.seen.contains(&key) {
            self.seen.push(key);
        }
    }

    fn wrong_type(&mut self, key: &'static str, found: &str, expected: &str) {
        let action = format!("write {expected}");
        self.report(key, Problem::new(WRONG_TYPE, found, expected, action));
    }

    /// Reads a table below this one, when it is there.
    pub(crate) fn inside<T>(
        &mut self,
        key: &'static str,
        read: impl FnOnce(&mut Settings<'t, '_>) -> T,
    ) -> Option<T> {
        self.mark(key);
        let (_, value) = self.find(key)?;
        match value.get_ref() {
            DeValue::Table(table) => {
                Some(self.open(table, value.span(), format!("{}{key}.", self.path), read))
            }
            other => {
                self.wrong_type(key, kind_of(other), "a table");
                None
            }
        }
    }

    /// Reads every table of a list of tables. False when the key is absent.
    pub(crate) fn each(
        &mut self,
        key: &'static str,
        mut read: impl FnMut(&mut Settings<'t, '_>),
    ) -> bool {
        self.mark(key);
        let Some((_, value)) = self.find(key) else {
            return false;
        };
        let DeValue::Array(items) = value.get_ref() else {
            self.wrong_type(key, kind_of(value.get_ref()), "a list of tables");
            return true;
        };
        // The lists at the top are what their file is about: the line says which entry is meant.
        let path = if self.path.is_empty() {
            String::new()
        } else {
            format!("{}{key}.", self.path)
        };
        for item in items.iter() {
            match item.get_ref() {
                DeValue::Table(table) => {
                    self.open(table, item.span(), path.clone(), &mut read);
                }
                other => self.wrong_type(key, kind_of(other), "a list of tables"),
            }
        }
        true
    }

    /// Reads every table in the table at a key; their names are the user's own.
    pub(crate) fn each_named(
        &mut self,
        key: &'static str,
        mut read: impl FnMut(&str, Place, &mut Settings<'t, '_>),
    ) {
        self.mark(key);
        let Some((_, value)) = self.find(key) else {
            return;
        };
        let DeValue::Table(named) = value.get_ref() else {
            self.wrong_type(key, kind_of(value.get_ref()), "a table");
            return;
        };
        for (name, value) in named {
            let path = format!("{}{key}.{}", self.path, name.get_ref());
            let place = self.lines.place(&name.span(), Some(&path));
            if let DeValue::Table(table) = value.get_ref() {
                self.open(table, value.span(), format!("{path}."), |inner| {
                    read(name.get_ref(), place, inner);
                });
            } else {
                let found = kind_of(value.get_ref());
                let problem = Problem::new(WRONG_TYPE, found, "a table", "write a table");
                self.out.add(place, problem);
            }
        }
    }

    fn open<T>(
        &mut self,
        table: &'t DeTable<'t>,
        span: Range<usize>,
        path: String,
        read: impl FnOnce(&mut Settings<'t, '_>) -> T,
    ) -> T {
        let mut inner = Settings {
            table,
            lines: self.lines,
            path,
            span,
            seen: Vec::new(),
            unit: self.unit,
            out: self.out,
        };
        let value = read(&mut inner);
        inner.close();
        value
    }

    /// The scalars of a list, each read alike; nothing when the key is absent or any of them is
    /// bad.
    pub(crate) fn list<P: Parse>(&mut self, key: &'static str, parse: &P) -> Option<Vec<P::Out>> {
        self.mark(key);
        let (_, value) = self.find(key)?;
        let DeValue::Array(items) = value.get_ref() else {
            self.wrong_type(key, kind_of(value.get_ref()), "a list in square brackets");
            return None;
        };
        self.scalars(key, items.iter(), parse)
    }

    /// A list of lists of scalars.
    pub(crate) fn lists<P: Parse>(
        &mut self,
        key: &'static str,
        parse: &P,
    ) -> Option<Vec<Vec<P::Out>>> {
        self.mark(key);
        let (_, value) = self.find(key)?;
        let DeValue::Array(outer) = value.get_ref() else {
            self.wrong_type(key, kind_of(value.get_ref()), "a list of lists");
            return None;
        };
        let mut lists = Vec::new();
        let mut good = true;
        for item in outer.iter() {
            let list = if let DeValue::Array(items) = item.get_ref() {
                self.scalars(key, items.iter(), parse)
            } else {
                self.wrong_type(key, kind_of(item.get_ref()), "a list of lists");
                None
            };
            good &= list.is_some();
            lists.extend(list);
        }
        good.then_some(lists)
    }

    fn scalars<'v, P: Parse>(
        &mut self,
        key: &'static str,
        items: impl Iterator<Item = &'v Spanned<DeValue<'t>>>,
        parse: &P,
    ) -> Option<Vec<P::Out>>
    where
        't: 'v,
    {
        let mut values = Vec::new();
        let mut good = true;
        for item in items {
            let Some(text) = scalar(item.get_ref(), P::KIND) else {
                good = false;
                self.wrong_type(key, kind_of(item.get_ref()), P::KIND.words());
                continue;
            };
            match parse.parse(&Raw {
                text,
                unit: self.unit,
            }) {
                Ok(value) => values.push(value),
                Err(problem) => {
                    good = false;
                    self.report(key, problem);
                }
            }
        }
        good.then_some(values)
    }

    /// Reports a list that must be there.
    pub(crate) fn absent(&mut self, key: &'static str, expected: &str) {
        let action = format!("add {key}");
        self.report(
            key,
            Problem::new(VALUE_MISSING, "nothing there", expected, action),
        );
    }

    fn close(self) {
        for (key, _) in self.table {
            let name = key.get_ref();
            if self.seen.iter().any(|seen| seen == name) {
                continue;
            }
            if !self.out.has_room(self.lines.file) {
                return;
            }
            let action = suggestion(name, self.seen.iter().copied(), "take the key out");
            let place = self
                .lines
                .place(&key.span(), Some(&format!("{}{name}", self.path)));
            let expected = format!("one of {}", self.seen.join(", "));
            self.out.add(
                place,
                Problem::new(UNKNOWN_KEY, shown(name), expected, action),
            );
        }
    }
}

impl Fields for Settings<'_, '_> {
    fn raw(&mut self, key: &'static str, kind: Kind) -> Option<Raw> {
        self.mark(key);
        let (_, value) = self.find(key)?;
        match scalar(value.get_ref(), kind) {
            Some(text) if text.is_empty() => None,
            Some(text) => Some(Raw {
                text,
                unit: self.unit,
            }),
            None => {
                self.wrong_type(key, kind_of(value.get_ref()), kind.words());
                None
            }
        }
    }

    fn has(&self, key: &'static str) -> bool {
        self.find(key)
            .is_some_and(|(_, value)| value.get_ref().as_str() != Some(""))
    }

    fn report(&mut self, key: &'static str, problem: Problem) {
        self.mark(key);
        let place = self.place(key);
        self.out.add(place, problem);
    }
}

/// The text of a scalar of this kind.
fn scalar(value: &DeValue<'_>, kind: Kind) -> Option<String> {
    use Kind::{DateOrText, Flag, Number, NumberOrText, Text};
    match (value, kind) {
        (DeValue::String(text), Text | NumberOrText | DateOrText) => Some(text.trim().to_owned()),
        (DeValue::Integer(number), Number | NumberOrText) => Some(number.to_string()),
        (DeValue::Float(number), Number | NumberOrText) => Some(number.as_str().to_owned()),
        (DeValue::Boolean(flag), Flag) => Some(flag.to_string()),
        (DeValue::Datetime(date), DateOrText) => Some(date.to_string()),
        _ => None,
    }
}

fn kind_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
