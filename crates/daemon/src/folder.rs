//! Watches the shop folder and takes what changes in it.

use crate::host::Stop;
use crate::look::{Look, Watch};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use tokio::task::{JoinError, spawn_blocking};
use units::{Finding, Severity};
use workshop::{Base, FolderError, Office, OfficeError, Standing, Terms};

/// How often the folder is looked at. A change is read when it has held still for two looks, so an
/// edit is noticed within twice this.
const LOOK_EVERY: Duration = Duration::from_secs(1);

/// How long to wait before trying again what has failed: long enough not to flood the log.
const TRY_AGAIN_AFTER: Duration = Duration::from_secs(10);

/// Findings that are logged one by one; all of them can be asked for.
const LOGGED_MOST: usize = 20;

/// The name events carry that come from here.
const FOLDER: &str = "folder";

/// Why a look did not end well. None of these ends the daemon.
#[derive(Debug, thiserror::Error)]
enum Trouble {
    #[error(transparent)]
    Folder(#[from] FolderError),
    #[error(transparent)]
    Office(#[from] OfficeError),
    #[error("reading the folder failed, which is a fault of this program: {0}")]
    Fault(#[from] JoinError),
}

/// A shop folder under watch.
pub(crate) struct Folder {
    folder: PathBuf,
    office: Office,
    stop: Stop,
    watch: Watch,
}

impl Folder {
    pub(crate) fn new(folder: PathBuf, office: Office, stop: Stop) -> Folder {
        Folder {
            folder,
            office,
            stop,
            watch: Watch::default(),
        }
    }

    /// Watches until told to stop.
    pub(crate) async fn run(mut self) {
        while !self.stop.is_asked() {
            let mut pause = LOOK_EVERY;
            if let Err(trouble) = self.look().await {
                tracing::error!(%trouble, "the shop folder was not taken");
                self.office.stand(Standing::Trouble(trouble.to_string()));
                self.watch.again();
                pause = TRY_AGAIN_AFTER;
            }
            tokio::select! {
                () = tokio::time::sleep(pause) => {}
                () = self.stop.asked() => {}
            }
        }
    }

    async fn look(&mut self) -> Result<(), Trouble> {
        let folder = self.folder.clone();
        let look = spawn_blocking(move || Look::at(&folder)).await?;
        if !self.watch.settled(look) {
            return Ok(());
        }
        let folder = self.folder.clone();
        let read = spawn_blocking(move || {
            let files = workshop::read_folder(&folder)?;
            let (base, findings) = Base::read(&files);
            Ok::<_, FolderError>((files, base, findings))
        });
        let (files, base, mut findings) = read.await??;
        let worth_a_line = |finding: &&Finding| finding.severity != Severity::Note;
        for finding in findings.iter().filter(worth_a_line).take(LOGGED_MOST) {
            tracing::warn!(%finding, "the shop folder");
        }
        let Some(base) = base else {
            self.office.report(findings);
            self.office.stand(Standing::Faults);
            return Ok(());
        };
        match self
            .office
            .take_files(FOLDER, &files, Arc::new(base), Terms::default())
            .await
        {
            Ok(_) => {}
            Err(OfficeError::Refused(refusal)) => {
                findings.extend(refusal.findings().iter().cloned());
                tracing::warn!(%refusal, "the shop folder");
                self.office.stand(Standing::Trouble(refusal.to_string()));
            }
            Err(error) => return Err(error.into()),
        }
        self.office.report(findings);
        Ok(())
    }
}
