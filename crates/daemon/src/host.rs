//! Starting, hosting the board beside the rounds, and stopping both.

use crate::rounds::Rounds;
use crate::{DaemonError, ServeAsk};
use std::future::Future;
use std::net::SocketAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use store::Store;
use tokio::net::TcpListener;
use tokio::sync::watch;
use tokio::task::{JoinError, JoinHandle};
use web::BoardState;
use workshop::FolderError;

/// How long answers under way may take once the daemon stops. A board is small; a connection still
/// open after this has nobody reading at its other end.
const FAREWELL_LONGEST: Duration = Duration::from_secs(5);

/// A daemon that holds its address and its database but has not begun to work.
#[derive(Debug)]
pub struct Daemon {
    address: SocketAddr,
    listener: TcpListener,
    store: Store,
    ask: ServeAsk,
}

/// Serves until `shutdown` is ready: watches the folder, plans it, hosts the board.
///
/// # Errors
/// As [`bind`] and [`Daemon::run`].
pub async fn serve(ask: ServeAsk, shutdown: impl Future<Output = ()>) -> Result<(), DaemonError> {
    bind(ask).await?.run(shutdown).await
}

/// Takes the address and opens the database.
///
/// # Errors
/// [`DaemonError`] when the address can be reached from other machines or is taken, the folder is
/// not there, or the database cannot be opened.
pub async fn bind(ask: ServeAsk) -> Result<Daemon, DaemonError> {
    if !ask.listen.ip().is_loopback() {
        return Err(DaemonError::OpenToOthers(ask.listen));
    }
    if !ask.folder.is_dir() {
        return Err(FolderError::NotAFolder(ask.folder).into());
    }
    let refused = |cause| DaemonError::Listen {
        address: ask.listen,
        cause,
    };
    let listener = TcpListener::bind(ask.listen).await.map_err(refused)?;
    let address = listener.local_addr().map_err(refused)?;
    let store = Store::open(&ask.database).await?;
    Ok(Daemon {
        address,
        listener,
        store,
        ask,
    })
}

impl Daemon {
    /// The address it listens on, with the port that was taken.
    #[must_use]
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// Works until `shutdown` is ready, then lets answers and a change under way end, drops a search
    /// under way, and closes the database.
    ///
    /// # Errors
    /// [`DaemonError`] when the board cannot be hosted any longer or part of the program failed.
    pub async fn run(self, shutdown: impl Future<Output = ()>) -> Result<(), DaemonError> {
        let stop = Stop::new();
        let board = BoardState::new();
        let rounds = Rounds::new(self.ask, self.store.clone(), board.clone(), stop.clone());
        let mut rounds = tokio::spawn(rounds.run());
        let mut host = tokio::spawn(host(self.listener, board, stop.clone()));
        tracing::info!(address = %self.address, "the board is up");

        let ended = tokio::select! {
            () = shutdown => Ok(()),
            ended = &mut rounds => ended.map_err(|cause| fault("planner", cause)),
            ended = &mut host => board_ended(ended),
        };
        stop.now();
        // Whichever of the two ended by itself must not be awaited again.
        let rest = tokio::try_join!(finish_rounds(rounds), finish_host(host));
        self.store.close().await;
        tracing::info!("stopped");
        ended.and(rest.map(|_| ()))
    }
}

async fn host(listener: TcpListener, board: BoardState, stop: Stop) -> std::io::Result<()> {
    axum::serve(listener, web::router(board))
        .with_graceful_shutdown(async move { stop.asked().await })
        .await
}

async fn finish_rounds(rounds: JoinHandle<()>) -> Result<(), DaemonError> {
    if rounds.is_finished() {
        return Ok(());
    }
    rounds.await.map_err(|cause| fault("planner", cause))
}

async fn finish_host(mut host: JoinHandle<std::io::Result<()>>) -> Result<(), DaemonError> {
    if host.is_finished() {
        return Ok(());
    }
    match tokio::time::timeout(FAREWELL_LONGEST, &mut host).await {
        Ok(ended) => board_ended(ended),
        Err(_) => {
            tracing::warn!("a connection did not end; it is cut");
            host.abort();
            Ok(())
        }
    }
}

fn board_ended(ended: Result<std::io::Result<()>, JoinError>) -> Result<(), DaemonError> {
    ended
        .map_err(|cause| fault("board", cause))?
        .map_err(DaemonError::Board)
}

fn fault(part: &'static str, cause: JoinError) -> DaemonError {
    DaemonError::Fault { part, cause }
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

    /// The flag, for the search.
    pub(crate) fn flag(&self) -> &AtomicBool {
        &self.flag
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
