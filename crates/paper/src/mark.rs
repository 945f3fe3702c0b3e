//! A plan's mark: eight characters that differ where plans differ.

use model::{Plan, Shop};

/// FNV-1a over 64 bits, as its authors give it `[memory]`; the tests hold its published values.
pub(crate) fn fnv(bytes: impl IntoIterator<Item = u8>) -> u64 {
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    for byte in bytes {
        hash ^= u64::from(byte);
        hash = hash.wrapping_mul(0x0000_0100_0000_01b3);
    }
    hash
}

/// The mark of a plan, such as `4F2A-91C3`: two sheets with one mark are of one plan. It tells sheets
/// apart that were mixed up; it proves nothing against somebody who wants to deceive.
#[must_use]
pub fn plan_mark(plan: &Plan, shop: &Shop) -> String {
    let hash = fnv(documents::write_plan(plan, shop).into_bytes());
    let folded = (hash >> 32) ^ (hash & 0xffff_ffff);
    format!("{:04X}-{:04X}", folded >> 16, folded & 0xffff)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of the hash's published test suite `[memory]`.
    #[test]
    fn the_hash_is_the_published_one() {
        assert_eq!(fnv([]), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv(*b"a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(fnv(*b"foobar"), 0x8594_4171_f739_67e8);
    }
}
