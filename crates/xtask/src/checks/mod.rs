//! The checks, one file each.

mod arrows;
mod codes;
mod commands;
mod heads;
mod lengths;
mod links;
mod marks;
mod purity;
mod sql;

use crate::tree::{Fault, Tree};

/// Looks at the whole tree for one kind of wrong.
type Check = fn(&Tree) -> Vec<Fault>;

/// Every check with its name.
pub(crate) const CHECKS: &[(&str, Check)] = &[
    ("arrows", arrows::check),
    ("purity", purity::check),
    ("sql", sql::check),
    ("lengths", lengths::check),
    ("codes", codes::check),
    ("heads", heads::check),
    ("links", links::check),
    ("commands", commands::check),
    ("marks", marks::check),
];
