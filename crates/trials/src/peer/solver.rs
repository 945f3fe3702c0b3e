//! The other solver: a program in Python that reads a matrix and answers with lines of modes.

use super::pairs::Pairs;
use search::Sequences;
use serde_json::Value;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// What it says.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Its lines and its cost of them, if it found any.
    pub found: Option<(Sequences, i64)>,
    /// What it proved no answer to be below.
    pub bound: i64,
    /// Whether it proved its answer best.
    pub proved: bool,
    /// Seconds it took.
    pub seconds: f64,
}

/// Why it says nothing.
#[derive(Debug, thiserror::Error)]
pub enum Silent {
    /// It is not installed.
    #[error("{0} cannot solve: make the solver's environment with `sh tests/peer/run`")]
    NotInstalled(PathBuf),
    /// It failed.
    #[error("the other solver failed: {0}")]
    Failed(String),
}

/// Whether the Python interpreter has what the solver needs.
#[must_use]
pub fn installed(python: &Path) -> bool {
    let mut ask = Command::new(python);
    ask.args(["-c", "import ortools.sat.python.cp_model"]);
    let asked = ask.stdout(Stdio::null()).stderr(Stdio::null()).status();
    asked.is_ok_and(|status| status.success())
}

/// Solves a matrix within a processor time, of all its threads together.
///
/// # Errors
/// [`Silent`] when there is no answer.
pub fn solve(
    python: &Path,
    program: &Path,
    pairs: &Pairs,
    seconds: f64,
    threads: usize,
) -> Result<Answer, Silent> {
    let failed = |text: &dyn ToString| Silent::Failed(text.to_string());
    let mut child = Command::new(python)
        .arg(program)
        .args([seconds.to_string(), threads.to_string()])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|_| Silent::NotInstalled(python.to_owned()))?;
    let input = child.stdin.take();
    let mut input = input.ok_or_else(|| failed(&"it takes no input"))?;
    let text = pairs.json().to_string();
    input
        .write_all(text.as_bytes())
        .map_err(|error| failed(&error))?;
    drop(input);
    let output = child.wait_with_output().map_err(|error| failed(&error))?;
    if !output.status.success() {
        return Err(failed(&output.status));
    }
    let said: Value = serde_json::from_slice(&output.stdout).map_err(|error| failed(&error))?;
    read(&said, pairs).ok_or_else(|| failed(&said))
}

fn read(said: &Value, pairs: &Pairs) -> Option<Answer> {
    let found = match said.get("lines")? {
        Value::Null => None,
        lines => Some((read_lines(lines, pairs)?, said.get("cost")?.as_i64()?)),
    };
    Some(Answer {
        found,
        bound: said.get("bound")?.as_i64()?,
        proved: said.get("proved")?.as_bool()?,
        seconds: said.get("seconds")?.as_f64()?,
    })
}

fn read_lines(lines: &Value, pairs: &Pairs) -> Option<Sequences> {
    let mut sequences = Sequences::new(pairs.brakes);
    for (brake, line) in lines.as_array()?.iter().enumerate() {
        for index in line.as_array()? {
            let index = usize::try_from(index.as_u64()?).ok()?;
            let slot = pairs.modes.get(index)?.slot;
            sequences.machines.get_mut(brake)?.push(slot);
        }
    }
    Some(sequences)
}
