//! Changes of accounts and tokens. Each is written together with the event that tells of it, so the log
//! says who let whom in.

use super::error::OfficeError;
use super::numbers::{signed, unsigned};
use super::writing::TRIES_MOST;
use super::{CHANGED, IdempotencyKey, Office, UNCHANGED};
use daybook::Happening;
use std::sync::Arc;
use store::{Account, Answer, EventNumber, NewEvent, NewToken, PeopleChange, StoreError, TokenId};
use units::Moment;

/// The name events carry of whoever changes accounts at the database itself.
pub const CONSOLE: &str = "console";

/// Names that events carry and no person may have: whoever has none, the daemon's parts, and the
/// console.
pub const RESERVED_NAMES: [&str; 6] = [
    "local",
    super::PLANNER,
    "folder",
    "inbox",
    "nobody",
    CONSOLE,
];

/// What is to be changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PeopleWish<'a> {
    /// An account is to be so. Whoever is signed in with it is out when it is disabled or has a new
    /// password.
    Put {
        /// The account.
        account: &'a Account,
        /// Whether its password is new.
        new_password: bool,
    },
    /// A token is to be made for an account.
    MakeToken {
        /// The hash of its secret.
        hash: &'a [u8; 32],
        /// The account.
        account: &'a str,
        /// What it is for.
        label: &'a str,
        /// From when on it is refused; `None`: never.
        expires: Option<Moment>,
    },
    /// A token is to be refused from now on.
    EndToken(TokenId),
}

/// What came of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PeopleDone {
    /// The token that was made.
    pub token: Option<TokenId>,
    /// Whether this was done before, by the same request: nothing was done now.
    pub repeated: bool,
}

/// A wish, worked out for the site as it is.
struct Change<'a> {
    happening: Happening,
    what: PeopleChange<'a>,
    token: Option<TokenId>,
}

impl Office {
    /// Changes who may do what, and notes it in the log as done by `who`. Nothing is written when
    /// nothing would change but the caller's key.
    ///
    /// # Errors
    /// [`OfficeError::KeyUsed`], [`OfficeError::Store`] when there is no such account or token or the
    /// store cannot be written; in each case nothing has changed.
    pub async fn change_people(
        &self,
        who: &str,
        wish: PeopleWish<'_>,
        key: Option<&IdempotencyKey>,
    ) -> Result<PeopleDone, OfficeError> {
        for _ in 0..TRIES_MOST {
            if let Some(key) = key
                && let Some(answer) = self.site().answer(&key.key).await?
            {
                return done_before(key, &answer);
            }
            // Whatever is read after the state is as new as it or newer; if newer, an event has told of
            // it and the change is refused.
            let state = self.state();
            let change = self.work_out(&wish).await?;
            let now = self.now();
            let token = change.as_ref().and_then(|change| change.token);
            let answer = key.map(|key| answer(key, change.is_some(), token, now));
            let answers = answer.as_slice();
            let last = EventNumber(signed(state.number));
            let written = match &change {
                None if answers.is_empty() => return Ok(done(token)),
                None => self.site().append(last, &[], answers).await,
                Some(change) => {
                    let event = NewEvent {
                        at: now,
                        who: who.to_owned(),
                        kind: change.happening.kind().to_owned(),
                        json: written(&change.happening)?,
                    };
                    let site = self.site();
                    let what = &change.what;
                    site.change_people(last, &[event], answers, what, now).await
                }
            };
            match written {
                Ok(_) => {
                    if let Some(change) = change {
                        let mut after = state.as_ref().clone();
                        after.apply(&change.happening, state.number + 1, now, who);
                        self.take_up(Arc::new(after));
                    }
                    return Ok(done(token));
                }
                Err(StoreError::Behind { .. } | StoreError::KeyTaken { .. }) => {
                    self.catch_up().await?;
                }
                Err(error) => return Err(error.into()),
            }
        }
        Err(OfficeError::Busy)
    }

    /// `None` when it is so already.
    async fn work_out<'a>(&self, wish: &PeopleWish<'a>) -> Result<Option<Change<'a>>, OfficeError> {
        let change = match *wish {
            PeopleWish::Put {
                account,
                new_password,
            } => {
                let before = self.site().account(&account.name).await?;
                if before.as_ref() == Some(account) {
                    return Ok(None);
                }
                Change {
                    happening: put(before.as_ref(), account, new_password),
                    what: PeopleChange::PutAccount {
                        account,
                        sessions_end: account.disabled || new_password,
                    },
                    token: None,
                }
            }
            PeopleWish::MakeToken {
                hash,
                account,
                label,
                expires,
            } => {
                let token = TokenId(self.site().last_token().await?.0 + 1);
                Change {
                    happening: Happening::TokenMade {
                        account: account.to_owned(),
                        token: unsigned(token.0),
                        label: label.to_owned(),
                        expires,
                    },
                    what: PeopleChange::AddToken(NewToken {
                        token,
                        hash,
                        account,
                        label,
                        expires,
                    }),
                    token: Some(token),
                }
            }
            PeopleWish::EndToken(number) => {
                let tokens = self.site().tokens().await?;
                let token = tokens.into_iter().find(|token| token.id == number);
                let token = token.ok_or(StoreError::NoSuchToken(number.0))?;
                Change {
                    happening: Happening::TokenEnded {
                        account: token.account,
                        token: unsigned(number.0),
                    },
                    what: PeopleChange::RevokeToken(number),
                    token: None,
                }
            }
        };
        Ok(Some(change))
    }
}

fn put(before: Option<&Account>, account: &Account, new_password: bool) -> Happening {
    let name = account.name.clone();
    let only_disabled = before.is_some_and(|before| {
        !before.disabled && account.disabled && before.role == account.role && !new_password
    });
    if only_disabled {
        return Happening::AccountDisabled { account: name };
    }
    Happening::AccountPut {
        account: name,
        role: account.role.clone(),
        new_password,
        disabled: account.disabled,
    }
}

fn written(happening: &Happening) -> Result<String, OfficeError> {
    happening.to_json().map_err(|why| OfficeError::Unwritable {
        why: why.to_string(),
    })
}

fn done(token: Option<TokenId>) -> PeopleDone {
    PeopleDone {
        token,
        repeated: false,
    }
}

/// The number of a token is kept with a caller's key, its secret is not.
fn answer(key: &IdempotencyKey, changed: bool, token: Option<TokenId>, at: Moment) -> Answer {
    Answer {
        key: key.key.clone(),
        request: key.request,
        status: if changed { CHANGED } else { UNCHANGED },
        body: token.map_or_else(String::new, |token| token.0.to_string()),
        at,
    }
}

fn done_before(key: &IdempotencyKey, answer: &Answer) -> Result<PeopleDone, OfficeError> {
    if answer.request != key.request {
        return Err(OfficeError::KeyUsed);
    }
    Ok(PeopleDone {
        token: answer.body.parse().ok().map(TokenId),
        repeated: true,
    })
}
