//! Time to handle a part at the brake, for quoting before anything is known of the shop's own.

use units::{Length, Seconds};

/// Set-up time that goes with [`press_brake_seconds`]: about 45 min `[memory, unverified]`.
pub const SETUP: Seconds = Seconds::from_minutes(45);

/// Time to load, bend and unload one part by hand.
///
/// **Formula** t = 2·(1 + N) + 0.02·(2 + N)·(L + W), N bends, L and W in cm.
///
/// **Source** Boothroyd, Dewhurst & Knight, *Product Design for Manufacture and Assembly*,
/// press-brake operations (from memory, verify in the book; the coefficients are unverified)
/// `[memory]`. N 5, 44 × 24 cm → 21.52 s.
///
/// **Valid for** parts one person handles; a first guess until the shop's own times are known.
///
/// **Units** count, lengths of the flat blank; seconds.
///
/// **Errors** none; a size below zero counts as zero.
///
/// **Example**
/// ```
/// use units::Length;
/// let mm = Length::from_whole_mm;
/// let seconds = bending::handling::press_brake_seconds(5, mm(440), mm(240));
/// assert!((seconds - 21.52).abs() < 1e-9);
/// ```
#[must_use]
pub fn press_brake_seconds(bends: u32, length: Length, width: Length) -> f64 {
    let bends = f64::from(bends);
    let size_cm = (length.max(Length::ZERO) + width.max(Length::ZERO)).mm() / 10.0;
    2.0 * (1.0 + bends) + 0.02 * (2.0 + bends) * size_cm
}
