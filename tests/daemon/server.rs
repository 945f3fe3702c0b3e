//! A daemon under test.

use super::client::{Reply, ask};
use crate::program::command;
use std::io::{BufRead, BufReader};
use std::process::{Child, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// How long a daemon may take to answer for the first time.
const PATIENCE: Duration = Duration::from_secs(60);

/// A daemon that does not outlive its test.
pub(crate) struct Server {
    child: Child,
    pub(crate) address: String,
}

impl Server {
    /// Starts the daemon on any free port and waits until it answers.
    pub(crate) fn start(args: &[&str]) -> Server {
        let mut all = vec!["serve", "--listen", "127.0.0.1:0"];
        all.extend(args);
        let mut child = command(&all)
            .env("RUST_LOG", "error")
            .stdout(Stdio::piped())
            .spawn()
            .expect("the executable starts");
        let mut first = String::new();
        let mut out = BufReader::new(child.stdout.take().expect("its output"));
        out.read_line(&mut first).expect("its first line");
        let address = first.trim().trim_start_matches("http://");
        let server = Server {
            child,
            address: address.trim_end_matches('/').to_owned(),
        };
        assert!(!server.address.is_empty(), "the daemon ended at once");
        server.wait_for("/healthz");
        server
    }

    /// Asks until a path answers with 200.
    pub(crate) fn wait_for(&self, path: &str) -> Reply {
        let began = Instant::now();
        loop {
            match ask(&self.address, "GET", path, &[], "") {
                Some(reply) if reply.status == 200 => return reply,
                other => assert!(began.elapsed() < PATIENCE, "{path}: {other:?}"),
            }
            sleep(Duration::from_millis(10));
        }
    }

    /// Reads.
    pub(crate) fn get(&self, path: &str) -> Reply {
        ask(&self.address, "GET", path, &[], "").expect("an answer")
    }

    /// Ends it as a power cut would.
    pub(crate) fn kill(mut self) {
        self.child.kill().expect("it can be killed");
        self.child.wait().expect("it ends");
    }

    /// Asks it to end, and waits; its exit code.
    pub(crate) fn stop(mut self) -> Option<i32> {
        let told = std::process::Command::new("kill")
            .args(["-TERM", &self.child.id().to_string()])
            .status();
        assert!(told.is_ok_and(|status| status.success()));
        self.child.wait().expect("it ends").code()
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // Already ended when the test went well.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
