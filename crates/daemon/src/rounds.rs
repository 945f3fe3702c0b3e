//! The rounds: read the folder, keep it, check it, plan it, keep the plan, put it up.

use crate::ServeAsk;
use crate::host::Stop;
use crate::look::{Look, Watch};
use documents::FileSet;
use model::{Plan, Shop};
use std::sync::Arc;
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use store::{Files, NewPlan, Revision, Store, StoreError, StoredPlan};
use tokio::task::{JoinError, spawn_blocking};
use units::Moment;
use web::{BoardState, Current, Standing};
use workshop::{Budget, Checked, FolderError, PlanAsk, Rejected};

/// How often the folder is looked at. A change is read when it has held still for two looks, so an
/// edit is noticed within twice this.
const LOOK_EVERY: Duration = Duration::from_secs(2);

/// How long to wait before trying again what has failed: long enough not to flood the log.
const TRY_AGAIN_AFTER: Duration = Duration::from_secs(10);

/// Findings that are logged one by one; all of them are on the board.
const LOGGED_MOST: usize = 20;

/// Why a round did not end with a plan. None of these ends the daemon.
#[derive(Debug, thiserror::Error)]
enum Trouble {
    #[error(transparent)]
    Folder(#[from] FolderError),
    #[error(transparent)]
    Store(#[from] StoreError),
    #[error("a plan was made and the audit rejected it, which is a fault of this program: {0}")]
    Rejected(#[from] Box<Rejected>),
    #[error("planning failed, which is a fault of this program: {0}")]
    Fault(#[from] JoinError),
}

impl Trouble {
    /// Whether the very same attempt may succeed later.
    fn may_pass(&self) -> bool {
        match self {
            Trouble::Folder(_) | Trouble::Store(_) => true,
            // The same question would get the same answer.
            Trouble::Rejected(_) | Trouble::Fault(_) => false,
        }
    }
}

/// What a plan is the answer to. As long as it stays the same there is nothing to plan: the same
/// question gets the same plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Question {
    revision: Revision,
    ask: PlanAsk,
}

/// The folder as it was read last, when it holds together.
#[derive(Clone, Debug)]
struct Known {
    revision: Revision,
    shop: Arc<Shop>,
}

/// The state between rounds.
pub(crate) struct Rounds {
    ask: ServeAsk,
    store: Store,
    board: BoardState,
    stop: Stop,
    watch: Watch,
    known: Option<Known>,
    answered: Option<Question>,
}

impl Rounds {
    pub(crate) fn new(ask: ServeAsk, store: Store, board: BoardState, stop: Stop) -> Rounds {
        Rounds {
            ask,
            store,
            board,
            stop,
            watch: Watch::default(),
            known: None,
            answered: None,
        }
    }

    /// Goes round until told to stop. The folder is not read while it is being planned: a change
    /// made meanwhile waits for the next round, so that even a folder that never holds still gets
    /// plans.
    pub(crate) async fn run(mut self) {
        if let Err(trouble) = self.put_last_plan_up().await {
            tracing::warn!(%trouble, "the last plan could not be put up again");
        }
        while !self.stop.is_asked() {
            let mut pause = LOOK_EVERY;
            if let Err(trouble) = self.round().await {
                tracing::error!(%trouble, "no new plan");
                self.board.stand(Standing::Trouble(trouble.to_string()));
                if trouble.may_pass() {
                    self.watch.again();
                    pause = TRY_AGAIN_AFTER;
                }
            }
            tokio::select! {
                () = tokio::time::sleep(pause) => {}
                () = self.stop.asked() => {}
            }
        }
    }

    async fn round(&mut self) -> Result<(), Trouble> {
        let folder = self.ask.folder.clone();
        let look = spawn_blocking(move || Look::at(&folder)).await?;
        if self.watch.settled(look) {
            self.read().await?;
        }
        let Some(known) = self.known.clone() else {
            return Ok(());
        };
        let question = self.question(&known);
        if self.answered == Some(question) {
            return Ok(());
        }
        self.plan(&known, question).await
    }

    /// Reads, keeps and checks the folder.
    async fn read(&mut self) -> Result<(), Trouble> {
        let folder = self.ask.folder.clone();
        let read = spawn_blocking(move || {
            let files = workshop::read_folder(&folder)?;
            let checked = workshop::check_files(&files);
            Ok::<_, FolderError>((files, checked))
        });
        let (files, Checked { shop, findings }) = read.await??;
        let revision = self.store.import(&to_store(&files), now()).await?;
        for finding in findings.iter().take(LOGGED_MOST) {
            tracing::warn!(%finding, "the shop folder");
        }
        let good = shop.is_some();
        tracing::info!(%revision, good, findings = findings.len(), "the shop folder was read");
        self.board.report(findings);
        self.known = shop.map(|shop| Known {
            revision,
            shop: Arc::new(shop),
        });
        self.board.stand(match &self.known {
            Some(known) if self.answered == Some(self.question(known)) => Standing::UpToDate,
            Some(_) => Standing::Planning,
            None => Standing::Faults,
        });
        Ok(())
    }

    /// What to plan now. A shop that does not say when it was described is planned from tomorrow,
    /// and tomorrow that is another question.
    fn question(&self, known: &Known) -> Question {
        Question {
            revision: known.revision,
            ask: PlanAsk {
                from: workshop::default_from(&known.shop, now()),
                seed: self.ask.seed,
                budget: Budget::Steps(self.ask.steps),
            },
        }
    }

    /// Plans, has the plan judged, keeps it and puts it up.
    async fn plan(&mut self, known: &Known, question: Question) -> Result<(), Trouble> {
        let (shop, stop) = (Arc::clone(&known.shop), self.stop.clone());
        // Before the search, so that a question whose search fails is not asked again and again.
        self.answered = Some(question);
        self.board.stand(Standing::Planning);
        let search = spawn_blocking(move || {
            workshop::make_plan(&shop, question.ask, None, stop.flag(), &mut ())
        });
        let made = search.await??;
        if self.stop.is_asked() {
            // The search was cut short; the next start asks the same question and gets all of it.
            return Ok(());
        }
        for finding in &made.findings {
            tracing::warn!(%finding, "the floor");
        }
        let json = documents::write_plan(&made.plan, &known.shop);
        let new = NewPlan {
            json: &json,
            objective: made.plan.totals.objective,
            verified: made.plan.verified,
        };
        let kept_at = now();
        let kept = self.store.save_plan(known.revision, new, kept_at).await;
        let number = kept.inspect_err(|_| self.answered = None)?;
        self.put_up(known, made.plan, json, kept_at);
        self.board.stand(Standing::UpToDate);
        tracing::info!(plan = %number, revision = %known.revision, "a new plan is up");
        Ok(())
    }

    /// Puts the plan that was kept last up again after a restart, if the audit of this program
    /// still accepts it for the shop it was made from.
    async fn put_last_plan_up(&mut self) -> Result<(), Trouble> {
        let Some(stored) = self.store.latest_plan().await? else {
            return Ok(());
        };
        let files = from_store(self.store.files(stored.revision).await?);
        let StoredPlan {
            json,
            revision,
            created_at,
            ..
        } = stored;
        let (json, restored) = spawn_blocking(move || {
            let restored = restore(&files, &json);
            (json, restored)
        })
        .await?;
        let Some((shop, plan)) = restored else {
            tracing::warn!(plan = %stored.plan, "the last plan no longer passes; it is not shown");
            return Ok(());
        };
        let known = Known {
            revision,
            shop: Arc::new(shop),
        };
        self.answered = Some(Question {
            revision,
            ask: PlanAsk {
                from: plan.from,
                seed: plan.seed,
                budget: Budget::Steps(plan.iterations),
            },
        });
        self.put_up(&known, plan, json, created_at);
        tracing::info!(plan = %stored.plan, %revision, "the last plan is up again");
        Ok(())
    }

    fn put_up(&self, known: &Known, plan: Plan, json: String, made_at: Moment) {
        let shop = Arc::clone(&known.shop);
        match Current::new(shop, plan, json, known.revision.number(), made_at) {
            Some(current) => self.board.publish(current),
            // `make_plan` and `restore` hand out accepted plans alone, and the store keeps no other.
            None => tracing::error!("a plan without the audit's consent was not put up"),
        }
    }
}

/// A stored plan with its shop, when both can still be read and the judge accepts the plan now.
fn restore(files: &FileSet, json: &str) -> Option<(Shop, Plan)> {
    let shop = workshop::check_files(files).shop?;
    let plan = documents::read_plan("the stored plan", json.as_bytes(), &shop).ok()?;
    let accepted = plan.verified && workshop::verify(&shop, &plan).violations.is_empty();
    accepted.then_some((shop, plan))
}

fn to_store(files: &FileSet) -> Files {
    let named = |name: &str| Some((name.to_owned(), files.get(name)?.to_vec()));
    files.names().filter_map(named).collect()
}

fn from_store(stored: Files) -> FileSet {
    let mut files = FileSet::new();
    for (name, bytes) in stored {
        files.insert(&name, bytes);
    }
    files
}

/// The time now: the one place where it enters.
fn now() -> Moment {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    // A clock set before 1970 counts as 1970; i64 seconds reach far beyond any clock.
    let seconds = since.map_or(0, |since| since.as_secs());
    Moment(i64::try_from(seconds).unwrap_or(i64::MAX))
}
