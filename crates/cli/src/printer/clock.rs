//! Moments as the shop floor says them: the words are those of every list and sheet.

pub(crate) use documents::words::{Clock, day_long, days_later, short_duration};
