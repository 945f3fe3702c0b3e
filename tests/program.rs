//! Calling the executable, and folders to call it on.

use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU32, Ordering};

/// What a call answered.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) code: Option<i32>,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl From<Output> for Answer {
    fn from(output: Output) -> Answer {
        Answer {
            code: output.status.code(),
            out: String::from_utf8(output.stdout).expect("output is UTF-8"),
            err: String::from_utf8(output.stderr).expect("messages are UTF-8"),
        }
    }
}

impl Answer {
    /// The output as JSON.
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}: {}", self.out))
    }
}

/// The executable, at the top of the repository, with an environment that says nothing.
pub(crate) fn command(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_brakewright"));
    command.args(args).current_dir(top());
    for name in [
        "NO_COLOR",
        "CLICOLOR_FORCE",
        "COLUMNS",
        "RUST_LOG",
        "RUST_BACKTRACE",
    ] {
        command.env_remove(name);
    }
    command
}

/// Calls the executable.
pub(crate) fn brakewright(args: &[&str]) -> Answer {
    command(args)
        .output()
        .expect("the executable starts")
        .into()
}

/// The top of the repository.
pub(crate) fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The demo shop's plan under the default budget, made once for all tests.
pub(crate) fn demo_plan() -> &'static str {
    static PLAN: OnceLock<String> = OnceLock::new();
    PLAN.get_or_init(|| brakewright(&["plan", "demo-shop", "--json"]).out)
}

/// A folder of its own for a test, gone when the test is over.
#[derive(Debug)]
pub(crate) struct Scratch(PathBuf);

impl Scratch {
    pub(crate) fn new() -> Scratch {
        static NEXT: AtomicU32 = AtomicU32::new(0);
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let name = format!("brakewright-{}-{number}", std::process::id());
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        fs::create_dir_all(&folder).expect("a folder for the test");
        Scratch(folder)
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    pub(crate) fn text(&self, name: &str) -> String {
        self.path(name)
            .to_str()
            .expect("a path in UTF-8")
            .to_owned()
    }

    /// A copy of a shop folder, under the name `shop`.
    pub(crate) fn copy_of(&self, shop: &str) -> PathBuf {
        let copy = self.path("shop");
        fs::create_dir_all(&copy).expect("a folder for the copy");
        for entry in fs::read_dir(top().join(shop)).expect("the shop is there") {
            let entry = entry.expect("its files are there");
            fs::copy(entry.path(), copy.join(entry.file_name())).expect("files can be copied");
        }
        copy
    }

    /// Names of what is in the folder, in order.
    pub(crate) fn names(&self) -> Vec<String> {
        names_in(&self.0)
    }
}

/// Names of what is in a folder, in order.
pub(crate) fn names_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .expect("the folder is there")
        .map(|entry| entry.expect("its names can be read").file_name())
        .map(|name| name.to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

impl Drop for Scratch {
    fn drop(&mut self) {
        // A folder left behind harms no other test: the next one has another name.
        let _ = fs::remove_dir_all(&self.0);
    }
}
