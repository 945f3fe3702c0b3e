//! Why the daemon cannot start or go on.

use std::io;
use std::net::SocketAddr;
use std::path::PathBuf;
use store::StoreError;
use workshop::{FolderError, OfficeError};

/// Why the daemon cannot start or go on. Trouble that may pass (a file being written, a full disk)
/// does not end it once it runs.
#[derive(Debug, thiserror::Error)]
pub enum DaemonError {
    /// The address can be reached from other machines.
    #[error(
        "refusing to listen on {0} without TLS: anybody on the network could read passwords; give a \
         certificate and its key, listen on 127.0.0.1 or [::1], or ask for it with --open-to-others"
    )]
    OpenToOthers(SocketAddr),
    /// The settings file cannot be used.
    #[error("the settings of {}: {cause}", file.display())]
    Settings {
        /// The file.
        file: PathBuf,
        /// What is wrong, with the line where there is one.
        cause: String,
    },
    /// A certificate without its key, or the other way round.
    #[error("TLS needs both a certificate and its key; one of them is missing")]
    HalfACertificate,
    /// The certificate or its key cannot be used.
    #[error("the certificate {} and its key {} cannot be used: {cause}", certificate.display(), key.display())]
    Certificate {
        /// The certificate's file.
        certificate: PathBuf,
        /// The key's file.
        key: PathBuf,
        /// What is wrong.
        cause: io::Error,
    },
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
    /// A site cannot be opened.
    #[error(transparent)]
    Office(#[from] OfficeError),
    /// Part of the daemon itself failed: a fault of this program.
    #[error("part of the daemon failed: {0}")]
    Fault(tokio::task::JoinError),
}
