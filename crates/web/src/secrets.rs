//! Passwords, tokens and sessions: made here, and kept as hashes alone.
//!
//! A password is short enough to be guessed, so its hash is slow and big: argon2id (RFC 9106) with
//! 19 MiB, 2 passes and 1 lane, which is the least that is advised for passwords on a server
//! \[memory\] and takes some tens of milliseconds. A token or a session is 256 random bits: nothing
//! guesses those, so one SHA-256 is enough and every request can afford it.

use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{CustomizedPasswordHasher, PasswordVerifier};
use argon2::{Algorithm, Argon2, Params, Version};
use sha2::{Digest, Sha256};
use std::fmt::Write;
use subtle::ConstantTimeEq;

/// Memory of a password's hash, KiB.
const MEMORY: u32 = 19 * 1024;
/// Passes over it.
const PASSES: u32 = 2;
/// Lanes.
const LANES: u32 = 1;

/// What a token begins with, so that one that has strayed into a text is recognised.
const TOKEN_HEAD: &str = "bw_";

/// A hash of a token, a session or a word of a session.
pub type Hash = [u8; 32];

/// Why no secret could be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SecretError {
    /// The operating system gives no random numbers.
    #[error("the operating system gives no random numbers")]
    NoRandom,
    /// The password could not be hashed.
    #[error("the password could not be hashed")]
    NoHash,
}

/// A token: `bw_` and 256 random bits. It is shown once; [`hash`] of it is kept.
///
/// # Errors
/// [`SecretError::NoRandom`].
pub fn new_token() -> Result<String, SecretError> {
    Ok(format!("{TOKEN_HEAD}{}", random_word()?))
}

/// 256 random bits in 64 hexadecimal digits.
pub(crate) fn random_word() -> Result<String, SecretError> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes).map_err(|_| SecretError::NoRandom)?;
    Ok(hex(&bytes))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        // Writing into a text cannot fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// The hash under which a token or a session is kept.
#[must_use]
pub fn hash(secret: &str) -> Hash {
    Sha256::digest(secret.as_bytes()).into()
}

/// A hash of several parts, none of which can run into the next.
pub(crate) fn hash_parts(parts: &[&[u8]]) -> Hash {
    let mut hasher = Sha256::new();
    for part in parts {
        hasher.update((part.len() as u64).to_be_bytes());
        hasher.update(part);
    }
    hasher.finalize().into()
}

/// The word that writes of a session must carry. It follows from the session's secret, which another
/// site cannot read, and does not give it away.
pub(crate) fn session_word(session: &str) -> String {
    hex(&hash_parts(&[b"session word", session.as_bytes()]))
}

/// The word as a page shows it: other digits each time, so that the length of a compressed page tells
/// nothing about it. 128 hexadecimal digits: a pad, and the word laid over it.
pub(crate) fn masked(word: &str) -> Option<String> {
    let pad = random_word().ok()?;
    let over = over(word, &pad)?;
    Some(pad + &over)
}

/// The word that was masked; one that was not stays as it is.
pub(crate) fn unmasked(sent: &str) -> Option<String> {
    match sent.split_at_checked(64) {
        Some((pad, rest)) if !rest.is_empty() => over(rest, pad),
        _ => Some(sent.to_owned()),
    }
}

/// One row of hexadecimal digits laid over another of that length, bit by bit.
fn over(one: &str, other: &str) -> Option<String> {
    if one.len() != other.len() {
        return None;
    }
    let digits = one.chars().zip(other.chars());
    digits
        .map(|(one, other)| {
            let bits = one.to_digit(16)? ^ other.to_digit(16)?;
            char::from_digit(bits, 16)
        })
        .collect()
}

/// Whether two hashes are the same, in a time that does not tell where they differ.
pub(crate) fn same(one: &Hash, other: &Hash) -> bool {
    one.ct_eq(other).into()
}

fn hasher() -> Result<Argon2<'static>, SecretError> {
    let params = Params::new(MEMORY, PASSES, LANES, None).map_err(|_| SecretError::NoHash)?;
    Ok(Argon2::new(Algorithm::Argon2id, Version::V0x13, params))
}

/// A password's hash as a PHC string, with its own salt. Takes long on purpose.
///
/// # Errors
/// [`SecretError`].
pub fn hash_password(password: &str) -> Result<String, SecretError> {
    let mut salt = [0; 16];
    getrandom::fill(&mut salt).map_err(|_| SecretError::NoRandom)?;
    let hasher = hasher()?;
    let params = hasher.params().clone();
    let hash: PasswordHash = hasher
        .hash_password_customized(password.as_bytes(), &salt, None, None, params)
        .map_err(|_| SecretError::NoHash)?;
    Ok(hash.to_string())
}

/// Whether a password is the one that was hashed. Without a hash the answer is no, and takes as long:
/// otherwise the time would tell which accounts there are.
#[must_use]
pub fn check_password(password: &str, hashed: Option<&str>) -> bool {
    let Some(hashed) = hashed else {
        let _ = hash_password(password);
        return false;
    };
    let (Ok(hasher), Ok(hashed)) = (hasher(), PasswordHash::new(hashed)) else {
        return false;
    };
    hasher.verify_password(password.as_bytes(), &hashed).is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_password_is_known_again_and_another_is_not() {
        let hashed = hash_password("nine cold chisels").unwrap();
        assert!(
            hashed.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"),
            "{hashed}"
        );
        assert!(check_password("nine cold chisels", Some(&hashed)));
        assert!(!check_password("nine cold chisel", Some(&hashed)));
        assert!(!check_password("nine cold chisels", None));
        assert!(!check_password("nine cold chisels", Some("no hash")));
        assert_ne!(hashed, hash_password("nine cold chisels").unwrap());
    }

    #[test]
    fn tokens_differ_and_have_their_bits() {
        let (one, other) = (new_token().unwrap(), new_token().unwrap());
        assert_eq!(one.len(), 3 + 64);
        assert_ne!(one, other);
        assert!(!same(&hash(&one), &hash(&other)));
        assert!(same(&hash(&one), &hash(&one)));
    }

    #[test]
    fn the_hash_is_the_one_of_the_standard() {
        // FIPS 180-4, the example "abc".
        let abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(hex(&hash("abc")), abc);
    }

    #[test]
    fn a_masked_word_looks_different_each_time_and_is_the_same() {
        let word = session_word("a session");
        let (one, other) = (masked(&word).unwrap(), masked(&word).unwrap());
        assert_ne!(one, other);
        assert!(!one.contains(&word));
        for sent in [&one, &other, &word] {
            assert_eq!(unmasked(sent).as_ref(), Some(&word));
        }
        assert_eq!(unmasked(&format!("{one}0")), None);
        assert_eq!(unmasked(&"x".repeat(128)), None);
    }

    #[test]
    fn parts_do_not_run_into_one_another() {
        assert_ne!(hash_parts(&[b"ab", b"c"]), hash_parts(&[b"a", b"bc"]));
    }
}
