//! The inbox: a folder in which other programs drop work orders, as CSV or as workbooks.
//!
//! A file is taken whole or refused whole. It is taken by its content: when the daemon dies between
//! taking a file and moving it away, the same content is not taken a second time.

use crate::config::Inbox as Settings;
use crate::host::Stop;
use documents::{ColumnNames, OrderRow, order_rows};
use exchange::table::{as_table, is_packed};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};
use tokio::task::spawn_blocking;
use units::Finding;
use workshop::{Command, IdempotencyKey, Office, OfficeError, Refusal, Source, Terms};

/// How often the folder is looked at. A file is read when two looks see the same of it.
const LOOK_EVERY: Duration = Duration::from_secs(1);

/// Read no more of a file than this and one byte: the reader refuses larger ones by their size.
const FILE_BYTES_MOST: u64 = 64 * 1024 * 1024;

/// How names of tables end; others are left alone.
const TABLES: [&str; 2] = ["csv", "xlsx"];

/// The name events carry that come from here.
const INBOX: &str = "inbox";

/// Size and time of a file.
type Seen = (u64, Option<SystemTime>);

/// Takes files until told to stop.
pub(crate) struct Inbox {
    folder: PathBuf,
    names: ColumnNames,
    office: Office,
    stop: Stop,
    seen: BTreeMap<PathBuf, Seen>,
}

/// A file's fate.
enum Fate {
    Taken(String),
    Refused(String),
    /// Something other than the file stands in the way; it stays where it is.
    Later(String),
}

impl Inbox {
    pub(crate) fn new(settings: &Settings, office: Office, stop: Stop) -> Inbox {
        Inbox {
            folder: settings.folder.clone(),
            names: ColumnNames {
                called: settings.columns.clone(),
                ignored: settings.ignore.columns.clone(),
            },
            office,
            stop,
            seen: BTreeMap::new(),
        }
    }

    /// Works until told to stop.
    pub(crate) async fn run(mut self) {
        while !self.stop.is_asked() {
            if let Err(error) = self.look().await {
                tracing::error!(%error, folder = %self.folder.display(), "the inbox cannot be read");
            }
            tokio::select! {
                () = tokio::time::sleep(LOOK_EVERY) => {}
                () = self.stop.asked() => {}
            }
        }
    }

    /// Takes every file that has held still since the last look.
    async fn look(&mut self) -> io::Result<()> {
        let folder = self.folder.clone();
        let now = spawn_blocking(move || list(&folder)).await??;
        let still: Vec<PathBuf> = now
            .iter()
            .filter(|(path, seen)| self.seen.get(*path) == Some(seen))
            .map(|(path, _)| path.clone())
            .collect();
        self.seen = now;
        for path in still {
            if self.stop.is_asked() {
                break;
            }
            self.take(&path).await?;
        }
        Ok(())
    }

    async fn take(&mut self, path: &Path) -> io::Result<()> {
        let read = path.to_owned();
        let bytes = spawn_blocking(move || read_capped(&read)).await??;
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let (kind, report) = match self.fate(&name, bytes).await {
            Fate::Taken(report) => ("taken", report),
            Fate::Refused(report) => ("refused", report),
            Fate::Later(why) => {
                tracing::warn!(file = %name, %why, "a file waits in the inbox");
                return Ok(());
            }
        };
        tracing::info!(file = %name, kind, "a file of the inbox");
        let (folder, path) = (self.folder.join(kind), path.to_owned());
        spawn_blocking(move || put_away(&path, &folder, &report)).await??;
        Ok(())
    }

    async fn fate(&self, name: &str, bytes: Vec<u8>) -> Fate {
        let request: [u8; 32] = Sha256::digest(&bytes).into();
        let (file, names) = (name.to_owned(), self.names.clone());
        let rows = match spawn_blocking(move || rows_of(&file, &bytes, &names)).await {
            Ok(Ok(rows)) => rows,
            Ok(Err(findings)) => return Fate::Refused(report(&findings)),
            Err(error) => return Fate::Later(error.to_string()),
        };
        let count = rows.len();
        let mut key = format!("inbox {name} ");
        for byte in &request {
            let _ = write!(key, "{byte:02x}");
        }
        let command = Command::PutOrders {
            source: Source::Inbox,
            name: name.to_owned(),
            rows,
            new_only: false,
            expect: None,
        };
        let terms = Terms {
            key: Some(IdempotencyKey { key, request }),
            ..Terms::default()
        };
        match self.office.submit(INBOX, command, terms).await {
            Ok(done) => Fate::Taken(format!("{count} orders taken, event {}\n", done.number)),
            Err(OfficeError::Refused(refusal)) => Fate::Refused(refused(&refusal)),
            Err(error) => Fate::Later(error.to_string()),
        }
    }
}

/// The rows of a table; of a workbook, those of its first sheet.
fn rows_of(file: &str, bytes: &[u8], names: &ColumnNames) -> Result<Vec<OrderRow>, Vec<Finding>> {
    if !is_packed(bytes) {
        return order_rows(file, bytes, names);
    }
    let text = as_table(file, bytes, None)?;
    order_rows(file, text.as_bytes(), names)
}

fn refused(refusal: &Refusal) -> String {
    let mut text = format!("refused: {refusal}\n");
    text.push_str(&report(refusal.findings()));
    text
}

fn report(findings: &[Finding]) -> String {
    let mut text = String::new();
    for finding in findings {
        let _ = writeln!(text, "{finding}");
    }
    let _ = writeln!(
        text,
        "Nothing of this file was taken. Mend it and drop it again."
    );
    text
}

/// The tables in the folder itself.
fn list(folder: &Path) -> io::Result<BTreeMap<PathBuf, Seen>> {
    let mut files = BTreeMap::new();
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let path = entry.path();
        let table = path
            .extension()
            .is_some_and(|extension| TABLES.iter().any(|one| extension.eq_ignore_ascii_case(one)));
        // A file may be gone again by now.
        let Ok(about) = entry.metadata() else {
            continue;
        };
        if table && about.is_file() {
            files.insert(path, (about.len(), about.modified().ok()));
        }
    }
    Ok(files)
}

fn read_capped(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    fs::File::open(path)?
        .take(FILE_BYTES_MOST + 1)
        .read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Writes the report, then moves the file beside it; under another name when the name is taken.
fn put_away(path: &Path, folder: &Path, report: &str) -> io::Result<()> {
    fs::create_dir_all(folder)?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let mut to = folder.join(&*name);
    let mut copy = 1;
    while to.exists() {
        copy += 1;
        to = folder.join(format!("{copy}-{name}"));
    }
    let mut beside = to.clone().into_os_string();
    beside.push(".report.txt");
    fs::write(&beside, report)?;
    fs::rename(path, &to)
}
