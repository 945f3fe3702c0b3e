//! Numbers as the store has them, signed, and as the daybook has them, unsigned. Both count from 1, so
//! neither conversion ever has anything to cut off.

/// For the store.
pub(super) fn signed(number: u64) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

/// From the store.
pub(super) fn unsigned(number: i64) -> u64 {
    u64::try_from(number).unwrap_or(0)
}
