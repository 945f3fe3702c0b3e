//! The daemon as a program of its own.

use model::Shop;
use std::fs;
use std::io::{self, BufRead, BufReader};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// How long the daemon may take until the shop is there.
const PATIENCE: Duration = Duration::from_secs(120);

/// Why the daemon is not there.
#[derive(Debug, thiserror::Error)]
pub enum Trouble {
    /// It could not be started.
    #[error("cannot run {}: {cause}; build it with cargo build --release -p cli", program.display())]
    NotStarted {
        /// The executable.
        program: PathBuf,
        /// What the system said.
        cause: io::Error,
    },
    /// The shop's folder could not be written.
    #[error("cannot write the shop folder: {0}")]
    Folder(#[from] io::Error),
    /// It did not come up.
    #[error("the daemon did not come up; its last words are above")]
    Silent,
}

/// A running daemon; it ends, and its folder goes, when this is dropped.
pub(super) struct Daemon {
    child: Child,
    address: String,
    folder: PathBuf,
}

impl Daemon {
    /// Starts the daemon on a shop and waits until its orders are there.
    pub(super) fn start(program: &Path, db: Option<&str>, shop: &Shop) -> Result<Daemon, Trouble> {
        let folder = std::env::temp_dir().join(format!("brakewright-load-{}", std::process::id()));
        let files = folder.join("shop");
        fs::create_dir_all(&files)?;
        for (name, text) in testkit::write_folder(shop) {
            fs::write(files.join(name), text)?;
        }
        // All callers come from one address; they are not to be held back as one caller would be.
        let settings = folder.join("daemon.toml");
        fs::write(&settings, "[limits]\nrequests_a_second = 1000000\n")?;
        let file = format!("sqlite://{}", folder.join("load.db").display());
        let begins = shop.as_of.unwrap_or_default();
        let clock = documents::local(begins, chrono_tz::UTC).replace(' ', "T");
        let child = Command::new(program)
            .arg("serve")
            .arg(&files)
            .arg("--config")
            .arg(&settings)
            .args(["--db", db.unwrap_or(&file)])
            .args([
                "--listen",
                "127.0.0.1:0",
                "--seconds",
                "5",
                "--clock",
                &clock,
            ])
            .env("RUST_LOG", "warn")
            .stdout(Stdio::piped())
            .spawn();
        let mut child = child.map_err(|cause| Trouble::NotStarted {
            program: program.to_owned(),
            cause,
        })?;
        let mut first = String::new();
        if let Some(out) = child.stdout.take() {
            BufReader::new(out).read_line(&mut first)?;
        }
        let address = first.trim().trim_start_matches("http://");
        let daemon = Daemon {
            child,
            address: address.trim_end_matches('/').to_owned(),
            folder,
        };
        let last = shop.orders.last().map(|order| order.id.to_string());
        let path = format!("/api/v1/orders/{}", last.unwrap_or_default());
        let began = Instant::now();
        while began.elapsed() < PATIENCE {
            if let Ok(mut stream) = TcpStream::connect(&daemon.address) {
                let mut left = Vec::new();
                let asked = super::caller::exchange(
                    (&mut stream, &mut left),
                    &daemon.address,
                    ("GET", &path),
                    (&[], ""),
                );
                if asked.is_ok_and(|reply| reply.status == 200) {
                    return Ok(daemon);
                }
            }
            sleep(Duration::from_millis(100));
        }
        Err(Trouble::Silent)
    }

    pub(super) fn address(&self) -> &str {
        &self.address
    }

    /// The most memory it has held so far, KiB, where the system tells.
    pub(super) fn memory(&self) -> Option<u64> {
        let status = fs::read_to_string(format!("/proc/{}/status", self.child.id())).ok()?;
        let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
        line.split_whitespace().nth(1)?.parse().ok()
    }
}

impl Drop for Daemon {
    fn drop(&mut self) {
        // Nothing is left to be done about a daemon that has ended or a folder that is gone.
        let _ = self.child.kill();
        let _ = self.child.wait();
        let _ = fs::remove_dir_all(&self.folder);
    }
}
