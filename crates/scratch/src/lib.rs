//! Databases for one test each.
//!
//! [`Database::sqlite`] is a file in a folder of its own. [`Database::postgres`] is a database on a
//! PostgreSQL server that the tests run themselves: one server for a test program, in a folder of
//! its own, reached over a Unix socket in it. The server ends and its folder goes when the test
//! program ends, even when it is killed. Its settings are the usual ones: it writes to the disk
//! before it acknowledges, as in a shop.
//!
//! Invariant: for tests only; a missing server is an error, never a test left out.

use std::io::{self, BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU32, Ordering};

const SERVER: &str = include_str!("server.sh");

/// Where Debian puts PostgreSQL's programs, one folder a version.
const VERSIONS: &str = "/usr/lib/postgresql";

/// A database for one test. Its folder is removed when this is dropped.
#[derive(Debug)]
pub struct Database {
    url: String,
    folder: PathBuf,
}

impl Database {
    /// An SQLite file that is not there yet.
    ///
    /// # Errors
    /// When its folder cannot be made.
    pub fn sqlite() -> Result<Database, String> {
        let (_, folder) = folder()?;
        let url = format!("sqlite:{}", folder.join("shop.db").display());
        Ok(Database { url, folder })
    }

    /// An empty database on a PostgreSQL server.
    ///
    /// # Errors
    /// When the server's programs are missing or it does not start.
    pub fn postgres() -> Result<Database, String> {
        static SERVER: OnceLock<Result<Server, String>> = OnceLock::new();
        let server = SERVER.get_or_init(Server::start).as_ref()?;
        let (number, folder) = folder()?;
        let name = format!("scratch_{number}");
        server.add(&name)?;
        let url = format!(
            "postgres:///{name}?host={}&user=postgres",
            server.folder.display()
        );
        Ok(Database { url, folder })
    }

    /// The address by which the store opens it.
    #[must_use]
    pub fn url(&self) -> &str {
        &self.url
    }

    /// An empty folder for whatever else the test writes.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }
}

impl Drop for Database {
    fn drop(&mut self) {
        // A database on the server goes with the server.
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

fn folder() -> Result<(u32, PathBuf), String> {
    static NEXT: AtomicU32 = AtomicU32::new(0);
    let number = NEXT.fetch_add(1, Ordering::Relaxed);
    let name = format!("brakewright-scratch-{}-{number}", std::process::id());
    let path = std::env::temp_dir().join(name);
    std::fs::create_dir(&path)
        .map_err(|error| format!("cannot make {}: {error}", path.display()))?;
    Ok((number, path))
}

struct Server {
    folder: PathBuf,
    programs: PathBuf,
    /// Holds the other end of the keeper's standard input: it goes when this process does.
    _keeper: Child,
}

impl Server {
    fn start() -> Result<Server, String> {
        let programs = programs()?;
        let name = format!("brakewright-server-{}", std::process::id());
        let folder = std::env::temp_dir().join(name);
        let mut keeper = Command::new("sh")
            .args(["-c", SERVER, "server.sh"])
            .args([&folder, &programs])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|error| format!("cannot run sh: {error}"))?;
        let said = keeper.stdout.take().map(BufReader::new);
        let first = said.and_then(|said| said.lines().next());
        match first {
            Some(Ok(line)) if line == "ready" => Ok(Server {
                folder,
                programs,
                _keeper: keeper,
            }),
            Some(Ok(line)) => Err(format!("no PostgreSQL server for the tests: {line}")),
            _ => Err("no PostgreSQL server for the tests: its keeper ended".to_owned()),
        }
    }

    fn add(&self, name: &str) -> Result<(), String> {
        let done = Command::new(self.programs.join("createdb"))
            .arg("-h")
            .arg(&self.folder)
            .args(["-U", "postgres", name])
            .output()
            .map_err(|error| format!("cannot run createdb: {error}"))?;
        if done.status.success() {
            Ok(())
        } else {
            Err(String::from_utf8_lossy(&done.stderr).into_owned())
        }
    }
}

/// The folder with the programs of the newest PostgreSQL.
fn programs() -> Result<PathBuf, String> {
    let mut found: Vec<(u32, PathBuf)> = std::fs::read_dir(VERSIONS)
        .into_iter()
        .flatten()
        .filter_map(|entry: io::Result<_>| {
            let path = entry.ok()?.path();
            let version = path.file_name()?.to_str()?.parse().ok()?;
            let programs = path.join("bin");
            programs
                .join("initdb")
                .is_file()
                .then_some((version, programs))
        })
        .collect();
    found.sort();
    found.pop().map(|(_, programs)| programs).ok_or_else(|| {
        format!(
            "the tests need PostgreSQL's programs under {VERSIONS}: install Debian's package \
             postgresql, or run tests/run as root, which does so"
        )
    })
}
