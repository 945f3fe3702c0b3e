//! How a call ends, and what can go wrong with it.

use daemon::DaemonError;
use paper::PaperError;
use std::io;
use std::path::PathBuf;
use std::process::ExitCode;
use store::StoreError;
use units::Finding;
use workshop::{FolderError, OfficeError, Rejected};

/// How a call ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ended {
    /// Everything asked for was done.
    Done,
    /// Done, and something needs a person: an order has no place, a plan was refused.
    NeedsAPerson,
    /// The input or the call cannot be used.
    BadInput,
    /// A fault of the program.
    Fault,
}

impl From<Ended> for ExitCode {
    fn from(ended: Ended) -> ExitCode {
        ExitCode::from(match ended {
            Ended::Done => 0,
            Ended::NeedsAPerson => 1,
            Ended::BadInput => 2,
            Ended::Fault => 3,
        })
    }
}

/// Why a call could not be carried out.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Trouble {
    /// The shop folder cannot be read.
    #[error(transparent)]
    Folder(#[from] FolderError),
    /// The shop's files, or a plan file, hold errors.
    #[error("{} to mend", findings_counted(.0))]
    Findings(Vec<Finding>),
    /// The call names something that is not there, or cannot be.
    #[error("{0}")]
    Usage(String),
    /// A file other than the shop's cannot be read.
    #[error("cannot read {}: {cause}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        cause: io::Error,
    },
    /// The output folder cannot be used or written.
    #[error("cannot write {}: {cause}", path.display())]
    Unwritable {
        /// The folder or file.
        path: PathBuf,
        /// What stands in the way.
        cause: String,
    },
    /// The audit refused a plan of ours.
    #[error(
        "{0}\nThis is a fault of the program, not of the shop's data; no plan is shown or written."
    )]
    Rejected(#[from] Box<Rejected>),
    /// Standard output is gone; nobody reads any more.
    #[error("nobody reads the output any more")]
    PipeClosed,
    /// Standard output cannot be written.
    #[error("cannot write to standard output: {0}")]
    Output(io::Error),
    /// What was asked for cannot be put on paper.
    #[error("no PDF: {0}")]
    Paper(#[from] PaperError),
    /// The daemon cannot start or go on.
    #[error(transparent)]
    Daemon(#[from] DaemonError),
    /// The database cannot be used.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A site cannot be used.
    #[error(transparent)]
    Office(#[from] OfficeError),
    /// Threads or signals of the system cannot be had.
    #[error("the system refuses what this call needs: {0}")]
    System(io::Error),
}

impl Trouble {
    /// The exit code this trouble ends with.
    pub(crate) fn ended(&self) -> Ended {
        match self {
            Trouble::PipeClosed => Ended::Done,
            Trouble::Folder(_)
            | Trouble::Findings(_)
            | Trouble::Usage(_)
            | Trouble::Unreadable { .. }
            | Trouble::Unwritable { .. } => Ended::BadInput,
            Trouble::Daemon(DaemonError::Board(_) | DaemonError::Fault(_))
            | Trouble::Paper(PaperError::Font(_)) => Ended::Fault,
            Trouble::Daemon(_) | Trouble::Paper(_) | Trouble::Store(_) | Trouble::Office(_) => {
                Ended::BadInput
            }
            Trouble::Rejected(_) | Trouble::Output(_) | Trouble::System(_) => Ended::Fault,
        }
    }
}

fn findings_counted(findings: &[Finding]) -> String {
    match findings.iter().filter(|finding| finding.is_error()).count() {
        1 => "1 error".to_owned(),
        many => format!("{many} errors"),
    }
}
