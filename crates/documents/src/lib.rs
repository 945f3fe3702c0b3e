//! Text in, text out: a shop folder's files and a plan's JSON against the nouns of `model`.
//!
//! [`read_shop`] turns a [`FileSet`] into a shop and everything there is to say about the files;
//! [`write_plan`] and [`read_plan`] carry a plan out and back without losing a nanometre or a
//! second. The serialisable twins stay private here: `model` knows no format.
//!
//! From the bytes upwards: `text` (size, encoding), `table` and `settings` (CSV and TOML, each value
//! with its line), `fields` and `value` (one vocabulary for both), then a module per file in `shop`.
//!
//! Invariant: no I/O, no clock, no randomness; bytes in, values out. No input makes it panic.

mod codes;
mod csv_line;
mod fields;
mod file_set;
mod findings;
mod intake;
mod known;
mod limits;
mod moment;
mod nearest;
mod plan;
mod settings;
mod shop;
mod table;
mod text;
mod time_value;
mod value;

pub mod words;

pub use codes::{CODES, Code};
pub use file_set::{FileSet, KNOWN_FILES};
pub use intake::{ColumnNames, order_rows};
pub use moment::{local, parse_moment};
pub use plan::{REFUSAL_UNITS, limit_name, read_plan, step_name, step_named, write_plan};
pub use shop::{Base, Cells, OrderRow, default_change_times, read_shop};
