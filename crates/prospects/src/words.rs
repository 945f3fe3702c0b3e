//! A change read from its words.

use crate::change::{Change, GaugeAxis};
use model::{Clamping, Profile, Shop};
use units::{
    BrakeId, CalendarId, Length, LengthUnit, ParseError, PersonId, ProfileId, parse_length,
};

/// How a change is written, a line each.
const FORMS: &str = "  another set of PROFILE
  another set of PROFILE with LENGTH...
  sections LENGTH... more of PROFILE
  quick clamping on BRAKE (or powered)
  R axis from LENGTH to LENGTH on BRAKE (or X, or X1/X2)
  powered fingers on BRAKE
  further shift on CALENDAR
  another brake like BRAKE
  another person like PERSON
  PERSON trained on BRAKE
  without DIE";

/// Why words are not a change of this shop.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WordsError {
    /// Not one of the forms.
    #[error("{0:?} is not a change this program knows; changes are written as\n{FORMS}")]
    Form(String),
    /// A length cannot be read.
    #[error("{text:?} is not a length: {why}")]
    Length {
        /// What stands there.
        text: String,
        /// What is wrong with it.
        why: ParseError,
    },
    /// An id is not in the shop.
    #[error("no {what} {id:?} in this shop; there are {known}")]
    Unknown {
        /// What was meant.
        what: &'static str,
        /// What stands there.
        id: String,
        /// Those there are.
        known: String,
    },
}

impl Change {
    /// Reads the words of a change, such as `another set of P-88` or `R axis from -20 to 150 on B2`.
    /// Lengths are millimetres unless they carry `in`. A face of a block stands for the block where
    /// sections are bought.
    ///
    /// # Errors
    /// [`WordsError`] for words that are no change, a length that is none, and ids the shop has not.
    pub fn parse(shop: &Shop, text: &str) -> Result<Change, WordsError> {
        let words: Vec<&str> = text.split_whitespace().collect();
        let lower: Vec<String> = words.iter().map(|word| word.to_lowercase()).collect();
        let lower: Vec<&str> = lower.iter().map(String::as_str).collect();
        let reader = Reader { shop };
        match (lower.as_slice(), words.as_slice()) {
            (["another", "set", "of", _], [.., profile]) => Ok(Change::AnotherSet {
                profile: reader.stock(profile)?,
                lengths: Vec::new(),
            }),
            (["another", "set", "of", _, "with", ..], [_, _, _, profile, _, lengths @ ..])
                if !lengths.is_empty() =>
            {
                Ok(Change::AnotherSet {
                    profile: reader.stock(profile)?,
                    lengths: reader.lengths(lengths)?,
                })
            }
            (["sections", .., "more", "of", _], [_, lengths @ .., _, _, profile])
                if !lengths.is_empty() =>
            {
                Ok(Change::MoreSections {
                    profile: reader.stock(profile)?,
                    lengths: reader.lengths(lengths)?,
                })
            }
            (["quick", "clamping", "on", _], [.., brake]) => {
                reader.clamping(brake, Clamping::Quick)
            }
            (["powered", "clamping", "on", _], [.., brake]) => {
                reader.clamping(brake, Clamping::Powered)
            }
            (["powered", "fingers", "on", _], [.., brake]) => Ok(Change::PoweredFingers {
                brake: reader.brake(brake)?,
            }),
            ([axis, "axis", "from", _, "to", _, "on", _], [_, _, _, from, _, to, _, brake]) => {
                let axis = match *axis {
                    "x" => GaugeAxis::X,
                    "x1/x2" => GaugeAxis::XDifference,
                    "r" => GaugeAxis::R,
                    _ => return Err(WordsError::Form(text.to_owned())),
                };
                Ok(Change::Axis {
                    brake: reader.brake(brake)?,
                    axis,
                    from: length(from)?,
                    to: length(to)?,
                })
            }
            (["further", "shift", "on", _], [.., calendar]) => Ok(Change::FurtherShift {
                calendar: reader.calendar(calendar)?,
            }),
            (["another", "brake", "like", _], [.., brake]) => Ok(Change::AnotherBrake {
                like: reader.brake(brake)?,
            }),
            (["another", "person", "like", _], [.., person]) => Ok(Change::AnotherPerson {
                like: reader.person(person)?,
            }),
            ([_, "trained", "on", _], [person, .., brake]) => Ok(Change::Trained {
                person: reader.person(person)?,
                brake: reader.brake(brake)?,
            }),
            (["without", _], [.., die]) => Ok(Change::Without {
                die: reader.die(die)?,
            }),
            _ => Err(WordsError::Form(text.to_owned())),
        }
    }
}

fn length(text: &str) -> Result<Length, WordsError> {
    let text = text.trim_end_matches(',');
    parse_length(text, LengthUnit::Millimetre).map_err(|why| WordsError::Length {
        text: text.to_owned(),
        why,
    })
}

struct Reader<'s> {
    shop: &'s Shop,
}

impl Reader<'_> {
    fn lengths(&self, texts: &[&str]) -> Result<Vec<Length>, WordsError> {
        texts.iter().map(|text| length(text)).collect()
    }

    fn clamping(&self, brake: &str, clamping: Clamping) -> Result<Change, WordsError> {
        Ok(Change::Clamping {
            brake: self.brake(brake)?,
            clamping,
        })
    }

    fn brake(&self, text: &str) -> Result<BrakeId, WordsError> {
        let all = self.shop.brakes.iter().map(|brake| &brake.id);
        among(all, "brake", text, BrakeId::as_str)
    }

    fn person(&self, text: &str) -> Result<PersonId, WordsError> {
        let all = self.shop.people.iter().map(|person| &person.id);
        among(all, "person", text, PersonId::as_str)
    }

    /// Calendars of brakes alone: a shift more is one for brakes.
    fn calendar(&self, text: &str) -> Result<CalendarId, WordsError> {
        let staffs = |id: &CalendarId| {
            let mut brakes = self.shop.brakes.iter();
            brakes.any(|brake| brake.calendar == *id)
        };
        let all = self.shop.calendars.iter().map(|calendar| &calendar.id);
        among(
            all.filter(|id| staffs(id)),
            "calendar of a brake",
            text,
            CalendarId::as_str,
        )
    }

    fn die(&self, text: &str) -> Result<ProfileId, WordsError> {
        let dies = self
            .shop
            .profiles
            .iter()
            .filter_map(|profile| match profile {
                Profile::Die(die) => Some(&die.id),
                Profile::Punch(_) => None,
            });
        among(dies, "die", text, ProfileId::as_str)
    }

    /// What sections are stocked as: a punch, a die, or the block that a die is a face of.
    fn stock(&self, text: &str) -> Result<ProfileId, WordsError> {
        let named = self.shop.profiles.iter().find_map(|profile| match profile {
            Profile::Die(die) if die.id.as_str() == text => die.block.as_ref(),
            _ => None,
        });
        if let Some(block) = named {
            return Ok(block.clone());
        }
        let all = self.shop.profiles.iter().map(|profile| match profile {
            Profile::Die(die) => die.block.as_ref().unwrap_or(&die.id),
            Profile::Punch(punch) => &punch.id,
        });
        among(all, "punch, die or block", text, ProfileId::as_str)
    }
}

fn among<'a, I: Clone + PartialEq + 'a>(
    mut all: impl Iterator<Item = &'a I> + Clone,
    what: &'static str,
    text: &str,
    as_str: impl Fn(&I) -> &str,
) -> Result<I, WordsError> {
    let known = all.clone();
    if let Some(found) = all.find(|id| as_str(id) == text) {
        return Ok(found.clone());
    }
    let mut names: Vec<&str> = Vec::new();
    for id in known {
        if !names.contains(&as_str(id)) {
            names.push(as_str(id));
        }
    }
    Err(WordsError::Unknown {
        what,
        id: text.to_owned(),
        known: if names.is_empty() {
            "none".to_owned()
        } else {
            names.join(", ")
        },
    })
}
