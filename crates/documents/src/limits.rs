//! How much is read before a file is refused.

/// Largest settings file in bytes. Its tree takes some forty times as much memory as its text, and
/// a thousand brakes fit into a quarter of it.
pub(crate) const LARGEST_SETTINGS: usize = 4 << 20;
/// Largest other file in bytes.
pub(crate) const LARGEST_FILE: usize = 64 << 20;
/// Longest line of a table in bytes.
pub(crate) const LONGEST_LINE: usize = 1 << 20;
/// Most rows of a table.
pub(crate) const MOST_ROWS: usize = 200_000;
/// Most findings handed back.
pub(crate) const MOST_FINDINGS: usize = 1_000;
