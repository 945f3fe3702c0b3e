//! Why the daemon cannot start or go on.

use std::io;
use std::net::SocketAddr;
use store::StoreError;
use workshop::FolderError;

/// Why the daemon cannot start or go on. Trouble that may pass (a file being written, a full disk)
/// does not end it once it runs.
#[derive(Debug, thiserror::Error)]
pub enum DaemonError {
    /// The address can be reached from other machines.
    #[error(
        "refusing to listen on {0}: the board has neither encryption nor sign-in yet, so anybody \
         on the network could read it; listen on 127.0.0.1 or [::1]"
    )]
    OpenToOthers(SocketAddr),
    /// The address cannot be listened on.
    #[error("cannot listen on {address}: {cause}")]
    Listen {
        /// The address.
        address: SocketAddr,
        /// What the system said.
        cause: io::Error,
    },
    /// There is no shop folder.
    #[error(transparent)]
    Folder(#[from] FolderError),
    /// The database cannot be opened or read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The board's host gave up.
    #[error("the board stopped: {0}")]
    Board(io::Error),
    /// Part of the daemon itself failed: a fault of this program.
    #[error("the {part} failed: {cause}")]
    Fault {
        /// Which part.
        part: &'static str,
        /// How.
        cause: tokio::task::JoinError,
    },
}
