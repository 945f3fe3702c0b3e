//! Starting, running every part, and stopping all of them.

use crate::DaemonError;
use crate::config::Settings;
use crate::folder::Folder;
use crate::inbox::Inbox;
use crate::listen::{self, Door};
use crate::offices::Offices;
use crate::planner::Planner;
use std::future::Future;
use std::net::SocketAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use store::{News, Store};
use tokio::sync::watch;
use tokio::task::{JoinError, JoinSet};
use units::Seconds;
use workshop::{Clock, Effort, FolderError, Standing};

/// How often old answers to callers' keys and old plan jobs are forgotten.
const TIDY_EVERY: Duration = Duration::from_secs(3_600);

/// How long an answer is kept for a caller that asks again with the same key.
const ANSWERS_KEPT: Seconds = Seconds(2 * 86_400);

/// How long a plan job that has ended can be looked up.
const JOBS_KEPT: Seconds = Seconds(30 * 86_400);

/// How long to wait before listening to the database again after that has failed.
const LISTEN_AGAIN_AFTER: Duration = Duration::from_secs(2);

/// A daemon that holds its address and its database but has not begun to work.
pub struct Daemon {
    address: SocketAddr,
    door: Door,
    store: Store,
    offices: Offices,
    settings: Settings,
}

/// Serves until `shutdown` is ready.
///
/// # Errors
/// As [`bind`] and [`Daemon::run`].
pub async fn serve(
    settings: Settings,
    clock: Clock,
    shutdown: impl Future<Output = ()>,
) -> Result<(), DaemonError> {
    bind(settings, clock).await?.run(shutdown).await
}

/// Takes the address, opens the database, brings it up to date and reads what has happened.
///
/// # Errors
/// [`DaemonError`] when other machines would be served unprotected, the address is taken, a folder
/// is not there, a certificate cannot be read, or the database cannot be opened.
pub async fn bind(settings: Settings, clock: Clock) -> Result<Daemon, DaemonError> {
    for folder in [&settings.folder, &settings.inbox.folder] {
        if !folder.as_os_str().is_empty() && !folder.is_dir() {
            return Err(FolderError::NotAFolder(folder.clone()).into());
        }
    }
    let door = listen::open(&settings.listen).await?;
    let address = door.address();
    let store = Store::open(&settings.database).await?;
    let sites = [settings.site.clone()];
    let offices = Offices::open(&store, &sites, clock).await?;
    Ok(Daemon {
        address,
        door,
        store,
        offices,
        settings,
    })
}

impl Daemon {
    /// The address it listens on, with the port that was taken.
    #[must_use]
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// Whether it speaks TLS.
    #[must_use]
    pub fn is_encrypted(&self) -> bool {
        self.door.is_encrypted()
    }

    /// Works until `shutdown` is ready, then lets answers and a change under way end, drops a search
    /// under way, and closes the database.
    ///
    /// # Errors
    /// [`DaemonError`] when the address cannot be served any longer or part of the program failed.
    pub async fn run(self, shutdown: impl Future<Output = ()>) -> Result<(), DaemonError> {
        let stop = Stop::new();
        let mut parts: JoinSet<Result<(), DaemonError>> = JoinSet::new();
        let router = web::router(web::Hosting {
            offices: self.offices.own(),
            hosts: self.settings.listen.hosts.clone(),
            loopback: self.address.ip().is_loopback(),
            encrypted: self.door.is_encrypted(),
            effort: effort(&self.settings),
            limits: limits(&self.settings),
        });
        parts.spawn(self.door.serve(router, stop.clone()));
        let news = self.store.news().await?;
        parts.spawn(done(listen_to_others(
            news,
            self.offices.clone(),
            stop.clone(),
        )));
        parts.spawn(done(tidy(self.offices.clone(), stop.clone())));
        let planner = Planner {
            store: self.store.clone(),
            offices: self.offices.clone(),
            effort: effort(&self.settings),
            stop: stop.clone(),
            worker: worker_name(self.address),
        };
        parts.spawn(done(planner.run()));
        for office in self.offices.own() {
            if !self.settings.folder.as_os_str().is_empty() {
                let folder =
                    Folder::new(self.settings.folder.clone(), office.clone(), stop.clone());
                parts.spawn(done(folder.run()));
            }
            if !self.settings.inbox.folder.as_os_str().is_empty() {
                let inbox = Inbox::new(&self.settings.inbox, office.clone(), stop.clone());
                parts.spawn(done(inbox.run()));
            }
        }
        tracing::info!(address = %self.address, "serving");

        let ended = tokio::select! {
            () = shutdown => Ok(()),
            ended = parts.join_next() => ended.map_or(Ok(()), part_ended),
        };
        stop.now();
        let mut rest = Ok(());
        while let Some(ended) = parts.join_next().await {
            rest = rest.and(part_ended(ended));
        }
        self.store.close().await;
        tracing::info!("stopped");
        ended.and(rest)
    }
}

async fn done(part: impl Future<Output = ()>) -> Result<(), DaemonError> {
    part.await;
    Ok(())
}

fn part_ended(ended: Result<Result<(), DaemonError>, JoinError>) -> Result<(), DaemonError> {
    ended.map_err(DaemonError::Fault)?
}

fn limits(settings: &Settings) -> web::Limits {
    let at_once = settings.limits.requests_a_second.max(1);
    web::Limits {
        requests: web::Rate {
            at_once,
            every: Duration::from_secs(1) / at_once,
        },
        ..web::Limits::default()
    }
}

fn effort(settings: &Settings) -> Effort {
    Effort {
        seconds: settings.planning.seconds,
        seed: settings.planning.seed,
    }
}

/// No other daemon has the same address on the same machine, nor the same process number there.
fn worker_name(address: SocketAddr) -> String {
    let machine = std::fs::read_to_string("/proc/sys/kernel/hostname").unwrap_or_default();
    format!("{} {address} {}", machine.trim(), std::process::id())
}

/// Takes up what other daemons write.
async fn listen_to_others(mut news: News, offices: Offices, stop: Stop) {
    loop {
        tokio::select! {
            heard = news.next() => {
                if let Err(error) = heard {
                    tracing::warn!(%error, "the database's news are not heard");
                    tokio::time::sleep(LISTEN_AGAIN_AFTER).await;
                }
            }
            () = stop.asked() => return,
        }
        for office in offices.own() {
            if let Err(error) = office.catch_up().await {
                tracing::error!(%error, site = office.name(), "events cannot be read");
                office.stand(Standing::Trouble(error.to_string()));
            }
        }
    }
}

/// Forgets answers that nobody asks for again, and jobs that nobody looks up.
async fn tidy(offices: Offices, stop: Stop) {
    loop {
        for office in offices.own() {
            if let Err(error) = office.forget_answers(ANSWERS_KEPT).await {
                tracing::warn!(%error, site = office.name(), "old answers stay");
            }
            match office.forget_jobs(JOBS_KEPT).await {
                Ok(0) => {}
                Ok(jobs) => tracing::info!(jobs, site = office.name(), "old plan jobs removed"),
                Err(error) => {
                    tracing::warn!(%error, site = office.name(), "old plan jobs stay");
                }
            }
        }
        tokio::select! {
            () = tokio::time::sleep(TIDY_EVERY) => {}
            () = stop.asked() => return,
        }
    }
}

/// Tells every part of the daemon to stop: tasks by waking them, the search by a flag it reads
/// between steps. Clones are the same.
#[derive(Clone, Debug)]
pub(crate) struct Stop {
    flag: Arc<AtomicBool>,
    told: Arc<watch::Sender<bool>>,
}

impl Stop {
    pub(crate) fn new() -> Stop {
        Stop {
            flag: Arc::new(AtomicBool::new(false)),
            told: Arc::new(watch::Sender::new(false)),
        }
    }

    fn now(&self) {
        self.flag.store(true, Ordering::Relaxed);
        self.told.send_replace(true);
    }

    /// Whether stopping has been asked for.
    pub(crate) fn is_asked(&self) -> bool {
        self.flag.load(Ordering::Relaxed)
    }

    /// Ready once stopping has been asked for.
    pub(crate) async fn asked(&self) {
        // An error would mean that the sender is gone; `self` holds it.
        let _ = self.told.subscribe().wait_for(|told| *told).await;
    }
}
