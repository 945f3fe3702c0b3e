//! How much is read before a file is refused.

/// Largest file in bytes.
pub(crate) const LARGEST_FILE: usize = 64 << 20;
/// Longest line of a table in bytes.
pub(crate) const LONGEST_LINE: usize = 1 << 20;
/// Most rows of a table.
pub(crate) const MOST_ROWS: usize = 200_000;
/// Most findings handed back.
pub(crate) const MOST_FINDINGS: usize = 1_000;
