//! The shop as it would be with a change.

mod brakes;
mod hours;
mod tools;

use crate::change::Change;
use model::Shop;
use units::IdError;

/// Why a change cannot be made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ApplyError {
    /// The change names what the shop has not.
    #[error("there is no {what} {id} in this shop")]
    Missing {
        /// What was meant.
        what: &'static str,
        /// Its id.
        id: String,
    },
    /// The shop has it already, or better.
    #[error("{0}: nothing would be different")]
    Nothing(String),
    /// It does not go.
    #[error("{0}")]
    Impossible(String),
    /// No id could be made for something new.
    #[error("no id can be made out of {from}: {why}")]
    Id {
        /// What it was to be made from.
        from: String,
        /// What is wrong with it.
        why: IdError,
    },
}

impl Change {
    /// The shop with this change and no other. The shop itself stays as it is.
    ///
    /// # Errors
    /// [`ApplyError`] when the change names what is not there, would alter nothing, or does not go.
    pub fn apply(&self, shop: &Shop) -> Result<Shop, ApplyError> {
        let mut shop = shop.clone();
        match self {
            Change::AnotherSet { profile, lengths } => {
                tools::another_set(&mut shop, profile, lengths)?;
            }
            Change::MoreSections { profile, lengths } => {
                tools::more_sections(&mut shop, profile, lengths)?;
            }
            Change::Without { die } => tools::without(&mut shop, die)?,
            Change::Clamping { brake, clamping } => brakes::clamp(&mut shop, brake, *clamping)?,
            Change::Axis {
                brake,
                axis,
                from,
                to,
            } => brakes::fit_axis(&mut shop, brake, *axis, (*from, *to))?,
            Change::PoweredFingers { brake } => brakes::power_fingers(&mut shop, brake)?,
            Change::AnotherBrake { like } => brakes::another(&mut shop, like)?,
            Change::FurtherShift { calendar } => hours::further_shift(&mut shop, calendar)?,
            Change::AnotherPerson { like } => hours::another_person(&mut shop, like)?,
            Change::Trained { person, brake } => hours::train(&mut shop, person, brake)?,
        }
        Ok(shop)
    }
}

fn missing(what: &'static str, id: impl std::fmt::Display) -> ApplyError {
    ApplyError::Missing {
        what,
        id: id.to_string(),
    }
}

/// An id that is not taken, made out of one there is.
fn fresh<I>(
    from: &str,
    new: impl Fn(&str) -> Result<I, IdError>,
    taken: impl Fn(&I) -> bool,
) -> Result<I, ApplyError> {
    // Long enough to tell things apart, short enough to leave room for the number.
    let stem: String = from.chars().take(IdError::LONGEST - 12).collect();
    let mut number = 1_u32;
    loop {
        let text = if number == 1 {
            format!("{stem}.new")
        } else {
            format!("{stem}.new{number}")
        };
        let id = new(&text).map_err(|why| ApplyError::Id {
            from: from.to_owned(),
            why,
        })?;
        if !taken(&id) {
            return Ok(id);
        }
        number += 1;
    }
}
