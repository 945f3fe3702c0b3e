//! A program killed in the middle of its work has lost nothing it was told had been kept.
//!
//! The programs that are killed are this one, started again for a single function.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // what cannot go on has failed
#![allow(clippy::print_stdout)] // how a program that is killed tells what it did

mod appends;
mod upgrade;

use std::io::{BufRead, BufReader, Lines};
use std::process::{Child, ChildStdout, Command, Stdio};

/// Names the database for the program that is going to be killed.
const DATABASE: &str = "STORE_TEST_DATABASE";

/// A program that says what it does, line by line, until it is killed.
struct Program {
    child: Child,
    said: Lines<BufReader<ChildStdout>>,
}

impl Program {
    /// Starts this program again to run `function` on the database at `url`.
    fn start(function: &str, url: &str) -> Program {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", function, "--ignored", "--nocapture"])
            .env(DATABASE, url)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let said = BufReader::new(child.stdout.take().unwrap()).lines();
        Program { child, said }
    }

    /// Waits for a line that ends in `words`.
    fn wait_for(&mut self, words: &str) {
        let mut lines = self.said.by_ref().map_while(Result::ok);
        assert!(
            lines.any(|line| line.ends_with(words)),
            "ended before {words:?}"
        );
    }

    /// The next line it says.
    fn line(&mut self) -> String {
        self.said.next().expect("ended early").unwrap()
    }

    /// Kills it (signal 9 on Unix) and hands over what it had still said before.
    fn kill(mut self) -> Vec<String> {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
        self.said.map_while(Result::ok).collect()
    }
}

/// The database named by whoever started this program.
fn database() -> String {
    std::env::var(DATABASE).expect("started by another test")
}
