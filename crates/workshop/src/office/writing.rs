//! Writing what happened: one writer a site, as many commands at once as are waiting.
//!
//! A change on disk takes milliseconds whatever its size, so commands that wait for one are decided
//! one after the other and written together. Either all of them are written or none; each caller
//! hears only after that.

use super::error::OfficeError;
use super::numbers::signed;
use super::{Done, Inner, Office, Terms};
use daybook::{Command, State};
use std::sync::{Arc, Weak};
use store::{Answer, EventNumber, NewEvent, StoreError};
use tokio::sync::{mpsc, oneshot};

/// Commands written in one change at most: enough to spread the cost of a disk's sync, few enough
/// that nobody waits long.
const TOGETHER_MOST: usize = 64;

/// How often a change is tried again when other daemons were faster. Each time one of them has got a
/// change through, so this many in a row means a fault.
pub(super) const TRIES_MOST: usize = 200;

/// A command that waits to be written.
pub(super) struct Waiting {
    pub(super) who: String,
    pub(super) command: Command,
    pub(super) terms: Terms,
    pub(super) reply: oneshot::Sender<Result<Done, OfficeError>>,
}

impl Waiting {
    fn tell(self, told: Result<Done, OfficeError>) {
        // Whoever asked may have gone; what is written stays written.
        let _ = self.reply.send(told);
    }
}

/// Writes until every sender is gone.
pub(super) async fn write(inner: Weak<Inner>, mut waiting: mpsc::Receiver<Waiting>) {
    let mut batch = Vec::new();
    while waiting.recv_many(&mut batch, TOGETHER_MOST).await > 0 {
        let Some(inner) = inner.upgrade() else { return };
        let office = Office { inner };
        let mut rest = std::mem::take(&mut batch);
        while !rest.is_empty() {
            rest = write_some(&office, rest).await;
        }
    }
}

/// Writes the first commands of `batch` and hands back those that must be decided after them.
async fn write_some(office: &Office, mut batch: Vec<Waiting>) -> Vec<Waiting> {
    for _ in 0..TRIES_MOST {
        let mut round = Round::decide(office, batch).await;
        // A caller's key is written even when nothing had to change: asked again, nothing must.
        if round.events.is_empty() && round.answers.is_empty() {
            let left = std::mem::take(&mut round.left);
            round.tell_all();
            return left;
        }
        let expected = EventNumber(signed(round.before.number));
        let written = office
            .site()
            .append(expected, &round.events, &round.answers)
            .await;
        match written {
            Ok(_) => {
                let left = std::mem::take(&mut round.left);
                office.take_up(std::mem::take(&mut round.after));
                round.tell_all();
                return left;
            }
            Err(StoreError::Behind { .. } | StoreError::KeyTaken { .. }) => {
                if let Err(error) = office.catch_up().await {
                    return round.fail(&error);
                }
                batch = round.undecided();
            }
            Err(error) => return round.fail(&OfficeError::from(error)),
        }
    }
    for one in batch {
        one.tell(Err(OfficeError::Busy));
    }
    Vec::new()
}

/// Commands decided one after the other on the same state.
struct Round {
    before: Arc<State>,
    after: Arc<State>,
    events: Vec<NewEvent>,
    answers: Vec<Answer>,
    decided: Vec<(Waiting, Result<Done, OfficeError>)>,
    left: Vec<Waiting>,
}

impl Round {
    async fn decide(office: &Office, batch: Vec<Waiting>) -> Round {
        let before = office.state();
        let mut round = Round {
            after: Arc::clone(&before),
            before,
            events: Vec::new(),
            answers: Vec::new(),
            decided: Vec::new(),
            left: Vec::new(),
        };
        let mut batch = batch.into_iter();
        for one in batch.by_ref() {
            let publishes = matches!(one.command, Command::Publish { .. });
            let done = round.decide_one(office, &one).await;
            round.decided.push((one, done));
            if publishes {
                // What comes after it is decided by the plan that is published then.
                break;
            }
        }
        round.left = batch.collect();
        round
    }

    async fn decide_one(&mut self, office: &Office, one: &Waiting) -> Result<Done, OfficeError> {
        if let Some(key) = &one.terms.key
            && let Some(done) = self.answered(office, key).await?
        {
            return Ok(done);
        }
        let now = office.now();
        let published = office.published_in(&self.after).await?;
        let published = published.as_deref().map(|kept| &kept.plan);
        if let Some(expectation) = &one.terms.expect {
            self.after.expect(expectation)?;
        }
        let happenings = self.after.decide(&one.command, now, published)?;
        let mut events = Vec::new();
        for happening in &happenings {
            events.push(NewEvent {
                at: now,
                who: one.who.clone(),
                kind: happening.kind().to_owned(),
                json: happening.to_json().map_err(|why| OfficeError::Unwritable {
                    why: why.to_string(),
                })?,
            });
        }
        self.events.extend(events);
        if !happenings.is_empty() {
            let state = Arc::make_mut(&mut self.after);
            for happening in &happenings {
                state.apply(happening, state.number + 1, now, &one.who);
            }
            if let Command::TakeShopData { revision, base } = &one.command {
                state.furnish(*revision, Arc::clone(base));
            }
        }
        let done = Done {
            number: self.after.number,
            changed: !happenings.is_empty(),
            happenings,
            repeated: false,
        };
        if let Some(key) = &one.terms.key {
            self.answers.push(key.answer(&done, now));
        }
        Ok(done)
    }

    /// What was answered to this key before: in an earlier change, or in this very one.
    async fn answered(
        &self,
        office: &Office,
        key: &super::IdempotencyKey,
    ) -> Result<Option<Done>, OfficeError> {
        if let Some(answer) = self.answers.iter().find(|answer| answer.key == key.key) {
            return Ok(Some(key.check(answer)?));
        }
        match office.site().answer(&key.key).await? {
            Some(answer) => Ok(Some(key.check(&answer)?)),
            None => Ok(None),
        }
    }

    fn tell_all(self) {
        for (one, done) in self.decided {
            one.tell(done);
        }
    }

    /// All commands as they came, to be decided again.
    fn undecided(self) -> Vec<Waiting> {
        let decided = self.decided.into_iter().map(|(one, _)| one);
        decided.chain(self.left).collect()
    }

    /// Tells everybody whose change was not written; what was decided without one stays answered.
    fn fail(self, error: &OfficeError) -> Vec<Waiting> {
        for (one, done) in self.decided {
            let told = match done {
                Ok(done) if done.repeated => Ok(done),
                Ok(_) => Err(error.again()),
                Err(refused) => Err(refused),
            };
            one.tell(told);
        }
        self.left
    }
}
