//! What is asked of the daemon.

use std::net::SocketAddr;
use std::path::PathBuf;

/// What to serve, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ServeAsk {
    /// The shop folder.
    pub folder: PathBuf,
    /// The database, as `sqlite:FILE`.
    pub database: String,
    /// Where to listen; an address of this machine alone. Port 0 takes any free one.
    pub listen: SocketAddr,
    /// Search steps a plan.
    pub steps: u64,
    /// Number the search's generators start from.
    pub seed: u64,
}
