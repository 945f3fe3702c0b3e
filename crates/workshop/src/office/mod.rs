//! The office: one site's state, kept in memory and in the store, and everything that may be asked of
//! it.
//!
//! A command is [decided](Office::submit) on the state, what happens is appended to the site's
//! events, and only then is the state moved on and the caller told. When another daemon on the same
//! database was faster, the office catches up with its events and decides again. So a change is
//! there whole or not at all, and two people who change the same thing get one winner and one who
//! hears of it.

mod access;
mod counts;
mod error;
mod examine;
mod front;
mod kept;
mod numbers;
mod people;
mod proposing;
mod quoting;
mod replay;
mod rush;
mod writing;

pub use access::{Account, Session, Token, TokenId};
pub use counts::{CLASSES, Counted, JobEnd, Times};
pub use error::OfficeError;
pub use examine::{Health, examine};
pub use front::Standing;
pub use kept::KeptPlan;
pub use people::{CONSOLE, PeopleDone, PeopleWish, RESERVED_NAMES};
pub use proposing::{Effort, PLANNER};
pub use quoting::{Enquiry, Quoted};
pub use rush::Rush;

use counts::Counts;
use daybook::{Command, Expectation, Happening, State};
use documents::{Base, FileSet};
use front::Fronting;
use kept::Held;
use std::fmt;
use std::sync::{Arc, PoisonError, RwLock};
use store::{Answer, Event, EventNumber, Site, StoreError};
use tokio::sync::{Semaphore, mpsc, oneshot, watch};
use units::{Moment, Seconds};
use writing::Waiting;

/// Commands that may wait to be written; whoever comes then waits to get in.
const WAITING_MOST: usize = 1_024;

/// Events read at once to find when files were taken.
const REVISION_SOUGHT: u32 = 200;

/// Kept with a caller's key when its request changed something (HTTP's OK), and when nothing had to
/// (No Content).
const CHANGED: u16 = 200;
const UNCHANGED: u16 = 204;

/// Tells the time. Given by whoever hosts the office; a test or a trial run has its own.
pub type Clock = Arc<dyn Fn() -> Moment + Send + Sync>;

/// One site. Clones are the same office.
#[derive(Clone)]
pub struct Office {
    inner: Arc<Inner>,
}

struct Inner {
    site: Site,
    clock: Clock,
    state: RwLock<Arc<State>>,
    catching_up: tokio::sync::Mutex<()>,
    held: Held,
    fronting: Fronting,
    counts: Counts,
    quoting: Arc<Semaphore>,
    waiting: mpsc::Sender<Waiting>,
    news: watch::Sender<u64>,
}

impl fmt::Debug for Office {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Office")
            .field("site", &self.inner.site)
            .field("number", &self.state().number)
            .finish_non_exhaustive()
    }
}

/// What came of a command.
#[derive(Clone, Debug, PartialEq)]
pub struct Done {
    /// The number of the last event it led to.
    pub number: u64,
    /// What happened; empty when nothing had to change or the very same command was answered before.
    pub happenings: Vec<Happening>,
    /// Whether it changed anything, the first time.
    pub changed: bool,
    /// Whether this is the answer given before to the same key.
    pub repeated: bool,
}

/// What came of taking over files.
#[derive(Clone, Debug, PartialEq)]
pub struct FilesTaken {
    /// The revision that holds them.
    pub revision: u64,
    /// What happened; `None` when they are those in use already.
    pub done: Option<Done>,
}

/// A caller's own key for one request, so that it can be sent again without happening twice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct IdempotencyKey {
    /// The key, unique to the caller.
    pub key: String,
    /// A hash of the request, to tell the same one from another one.
    pub request: [u8; 32],
}

/// On what terms a command is sent.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Terms {
    /// The version it was decided on; refused as stale when that has moved on.
    pub expect: Option<Expectation>,
    /// The caller's key.
    pub key: Option<IdempotencyKey>,
}

impl IdempotencyKey {
    fn answer(&self, done: &Done, at: Moment) -> Answer {
        Answer {
            key: self.key.clone(),
            request: self.request,
            status: if done.changed { CHANGED } else { UNCHANGED },
            body: done.number.to_string(),
            at,
        }
    }

    /// The answer given before, if it was to the same request.
    fn check(&self, answer: &Answer) -> Result<Done, OfficeError> {
        if answer.request != self.request {
            return Err(OfficeError::KeyUsed);
        }
        Ok(Done {
            number: answer.body.parse().unwrap_or(0),
            happenings: Vec::new(),
            changed: answer.status == CHANGED,
            repeated: true,
        })
    }
}

impl Office {
    /// Opens a site: reads all that has happened there. Needs a running tokio runtime for its writer,
    /// which ends when the last clone is dropped.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be read, or holds what this program cannot read.
    pub async fn open(site: Site, clock: Clock) -> Result<Office, OfficeError> {
        let state = replay::from_start(&site, None).await?;
        let number = state.number;
        let (waiting, commands) = mpsc::channel(WAITING_MOST);
        let (news, _) = watch::channel(number);
        let inner = Arc::new(Inner {
            site,
            clock,
            state: RwLock::new(Arc::new(state)),
            catching_up: tokio::sync::Mutex::new(()),
            held: Held::default(),
            fronting: Fronting::default(),
            counts: Counts::default(),
            quoting: Arc::new(Semaphore::new(quoting::AT_ONCE)),
            waiting,
            news,
        });
        tokio::spawn(writing::write(Arc::downgrade(&inner), commands));
        Ok(Office { inner })
    }

    /// The site's name.
    #[must_use]
    pub fn name(&self) -> &str {
        self.inner.site.name()
    }

    /// The time by the office's clock.
    #[must_use]
    pub fn now(&self) -> Moment {
        (self.inner.clock)()
    }

    /// The state after the last event known here.
    #[must_use]
    pub fn state(&self) -> Arc<State> {
        let state = self.inner.state.read();
        Arc::clone(&state.unwrap_or_else(PoisonError::into_inner))
    }

    /// Told the number of the last event known here whenever that changes.
    #[must_use]
    pub fn news(&self) -> watch::Receiver<u64> {
        self.inner.news.subscribe()
    }

    /// Does what is asked, or says why not. When this returns well, the change outlives a power cut.
    ///
    /// # Errors
    /// [`OfficeError::Refused`] when it does not fit what has happened, [`OfficeError::KeyUsed`],
    /// and errors of the store; in each case nothing has changed.
    pub async fn submit(
        &self,
        who: &str,
        command: Command,
        terms: Terms,
    ) -> Result<Done, OfficeError> {
        let (reply, told) = oneshot::channel();
        let waiting = Waiting {
            who: who.to_owned(),
            command,
            terms,
            reply,
        };
        let sent = self.inner.waiting.send(waiting).await;
        sent.map_err(|_| OfficeError::Stopping)?;
        told.await.map_err(|_| OfficeError::Stopping)?
    }

    /// Takes up what other daemons have written since.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be read, or holds what this program cannot read.
    pub async fn catch_up(&self) -> Result<(), OfficeError> {
        let _alone = self.inner.catching_up.lock().await;
        let state = self.state();
        let after = replay::further(self.site(), state.as_ref().clone(), None).await?;
        if after.number > state.number {
            self.take_up(Arc::new(after));
        }
        Ok(())
    }

    /// Moves on to a later state.
    fn take_up(&self, after: Arc<State>) {
        let number = after.number;
        {
            let state = self.inner.state.write();
            let mut state = state.unwrap_or_else(PoisonError::into_inner);
            if number <= state.number {
                return;
            }
            *state = after;
        }
        self.inner.news.send_replace(number);
    }

    /// Takes over the files of a shop folder, read: keeps them as a revision and tells the daybook.
    /// Nothing happens when they are those taken last. The version in `terms` is checked in the same
    /// decision that takes them; a revision that is refused stays in the store unused.
    ///
    /// # Errors
    /// As [`Office::submit`].
    pub async fn take_files(
        &self,
        who: &str,
        files: &FileSet,
        base: Arc<Base>,
        terms: Terms,
    ) -> Result<FilesTaken, OfficeError> {
        if let Some(key) = &terms.key
            && let Some(answer) = self.site().answer(&key.key).await?
        {
            let done = key.check(&answer)?;
            return Ok(FilesTaken {
                revision: self.revision_at(done.number).await?,
                done: Some(done),
            });
        }
        // What is late already need not be kept.
        if let Some(expect) = &terms.expect {
            self.state().expect(expect)?;
        }
        let revision = self
            .site()
            .import(&replay::to_store(files), self.now())
            .await?;
        let revision = numbers::unsigned(revision.number());
        if self.state().revision == Some(revision) {
            let done = None;
            return Ok(FilesTaken { revision, done });
        }
        let command = Command::TakeShopData { revision, base };
        let done = self.submit(who, command, terms).await?;
        let revision = if done.repeated {
            self.revision_at(done.number).await?
        } else {
            revision
        };
        Ok(FilesTaken {
            revision,
            done: Some(done),
        })
    }

    /// The revision that was in use after event `number`.
    async fn revision_at(&self, number: u64) -> Result<u64, OfficeError> {
        let mut before = number.saturating_add(1);
        loop {
            let events = self.events_before(Some(before), REVISION_SOUGHT).await?;
            let taken = events.iter().find_map(replay::revision_taken);
            match (taken, events.last()) {
                (Some(revision), _) => return Ok(revision),
                (None, Some(earliest)) => before = numbers::unsigned(earliest.number.number()),
                (None, None) => return Ok(0),
            }
        }
    }

    /// The files of a revision of the shop's data; empty when there is no such revision.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be read.
    pub async fn files(&self, revision: u64) -> Result<FileSet, OfficeError> {
        let revision = store::Revision(numbers::signed(revision));
        Ok(replay::from_store(self.site().files(revision).await?))
    }

    /// Events after event `number`, in order.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be read.
    pub async fn events_after(&self, number: u64, limit: u32) -> Result<Vec<Event>, OfficeError> {
        let after = EventNumber(numbers::signed(number));
        Ok(self.site().events_after(after, limit).await?)
    }

    /// Events before event `number`, or the last ones, the latest first.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be read.
    pub async fn events_before(
        &self,
        number: Option<u64>,
        limit: u32,
    ) -> Result<Vec<Event>, OfficeError> {
        let before = EventNumber(number.map_or(i64::MAX, numbers::signed));
        Ok(self.site().events_before(before, limit).await?)
    }

    /// Asks for a plan that takes everything into account that has happened so far, and tells the
    /// number of the last event it will know of at least: what was told before, when the same request
    /// with the same key has been answered.
    ///
    /// # Errors
    /// [`OfficeError::KeyUsed`], and [`OfficeError`] when the store cannot be written.
    pub async fn want_plan(
        &self,
        why: &str,
        key: Option<&IdempotencyKey>,
    ) -> Result<u64, OfficeError> {
        let number = self.state().number;
        let wanted = EventNumber(numbers::signed(number));
        let now = self.now();
        let done = Done {
            number,
            happenings: Vec::new(),
            changed: true,
            repeated: false,
        };
        let answer = key.map(|key| key.answer(&done, now));
        let asked = self.site().want_plan(wanted, why, now, answer.as_ref());
        match (asked.await, key) {
            (Ok(()), _) => {
                self.counts().with(|counted| counted.asked += 1);
                Ok(number)
            }
            (Err(StoreError::KeyTaken { .. }), Some(key)) => {
                let before = self.site().answer(&key.key).await?;
                // Forgotten in this very moment, after two days.
                let before = before.ok_or(OfficeError::Busy)?;
                Ok(key.check(&before)?.number)
            }
            (Err(error), _) => Err(error.into()),
        }
    }

    /// Forgets answers to callers' keys that are older than `kept`.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be written.
    pub async fn forget_answers(&self, kept: Seconds) -> Result<(), OfficeError> {
        self.site().forget_answers(self.now() - kept).await?;
        Ok(())
    }

    /// Removes plan jobs that ended longer than `kept` ago, and tells how many. Plans stay.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be written.
    pub async fn forget_jobs(&self, kept: Seconds) -> Result<u64, OfficeError> {
        Ok(self.site().forget_jobs(self.now() - kept).await?)
    }

    /// Whether the database answers.
    ///
    /// # Errors
    /// [`OfficeError`] when it does not.
    pub async fn ping(&self) -> Result<(), OfficeError> {
        Ok(self.site().store().ping().await?)
    }

    fn counts(&self) -> &Counts {
        &self.inner.counts
    }

    fn fronting(&self) -> &Fronting {
        &self.inner.fronting
    }

    fn site(&self) -> &Site {
        &self.inner.site
    }

    fn held(&self) -> &Held {
        &self.inner.held
    }
}
