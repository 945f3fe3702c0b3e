//! The folder of published instances.

use crate::instance::{Goal, Instance};
use crate::read::{self, ReadError};
use clap::ValueEnum;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// A published set with one goal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
#[value(rename_all = "snake_case")]
pub enum Set {
    /// One machine, weighted tardiness, setups.
    Wtsds,
    /// Tool switches on one machine.
    Ssp,
    /// Different machines with magazines, makespan.
    SspNpmMakespan,
    /// Different machines with magazines, flow time.
    SspNpmFlowtime,
    /// Identical machines with magazines, makespan.
    Ipmtc,
    /// Unrelated machines with setups, makespan.
    UpmsSdst,
    /// The asymmetric travelling salesman.
    Atsp,
}

/// Why a set cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum SetError {
    /// A file or folder cannot be read.
    #[error("cannot read {path}: {cause}")]
    Unreadable {
        /// Which.
        path: PathBuf,
        /// What the system said.
        cause: io::Error,
    },
    /// An instance's text is wrong.
    #[error(transparent)]
    Text(#[from] ReadError),
    /// A row of the known values is wrong.
    #[error("{path}:{line}: a row is an instance, a whole number and a source")]
    Row {
        /// Which file.
        path: PathBuf,
        /// Which line.
        line: usize,
    },
}

/// An instance's file and the value known for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Known {
    /// Its name in the list of values.
    pub name: String,
    /// Its file.
    pub path: PathBuf,
    /// The value.
    pub value: i64,
}

impl Set {
    /// The set's name on the command line.
    #[must_use]
    pub fn name(self) -> String {
        self.to_possible_value()
            .map_or_else(String::new, |value| value.get_name().to_owned())
    }

    fn folder(self) -> &'static str {
        match self {
            Set::Wtsds => "wtsds",
            Set::Ssp => "ssp",
            Set::SspNpmMakespan | Set::SspNpmFlowtime => "ssp_npm",
            Set::Ipmtc => "ipmtc",
            Set::UpmsSdst => "upms_sdst",
            Set::Atsp => "atsp",
        }
    }

    fn values(self) -> &'static str {
        match self {
            Set::SspNpmMakespan => "best_known_makespan.csv",
            Set::SspNpmFlowtime => "best_known_flowtime.csv",
            _ => "best_known.csv",
        }
    }

    /// Every instance with its known value, in the order of the list.
    ///
    /// # Errors
    /// [`SetError`] when a file cannot be read or a row is wrong; rows without a file in the folder
    /// are passed over.
    pub fn list(self, data: &Path) -> Result<Vec<Known>, SetError> {
        let folder = data.join(self.folder());
        let mut files = Vec::new();
        walk(&folder.join("instances"), &mut files)?;
        files.sort();
        let path = folder.join(self.values());
        let unreadable = |cause: io::Error| SetError::Unreadable {
            path: path.clone(),
            cause,
        };
        let text = fs::read(&path).map_err(unreadable)?;
        let mut known = Vec::new();
        for (index, row) in csv::Reader::from_reader(&text[..]).records().enumerate() {
            let wrong = || SetError::Row {
                path: path.clone(),
                line: index + 2,
            };
            let row = row.map_err(|_| wrong())?;
            let name = row.get(0).ok_or_else(wrong)?.to_owned();
            let value = row.get(1).and_then(|value| value.parse().ok());
            let value = value.ok_or_else(wrong)?;
            if let Some(path) = file_of(&files, &name) {
                known.push(Known { name, path, value });
            }
        }
        Ok(known)
    }

    /// Reads an instance.
    ///
    /// # Errors
    /// [`SetError`] when the file cannot be read or its text is wrong.
    pub fn read(self, path: &Path) -> Result<Instance, SetError> {
        let unreadable = |cause: io::Error| SetError::Unreadable {
            path: path.to_owned(),
            cause,
        };
        let text = fs::read(path).map_err(unreadable)?;
        let text = String::from_utf8_lossy(&text);
        let name = path.display().to_string();
        Ok(match self {
            Set::Wtsds => Instance::Setups(read::wtsds(&name, &text)?),
            Set::Ssp => Instance::Tools(read::ssp(&name, &text)?),
            Set::SspNpmMakespan => Instance::Tools(read::ssp_npm(&name, &text, Goal::Makespan)?),
            Set::SspNpmFlowtime => Instance::Tools(read::ssp_npm(&name, &text, Goal::FlowTime)?),
            Set::Ipmtc => Instance::Tools(read::ipmtc(&name, &text)?),
            Set::UpmsSdst => Instance::Setups(read::upms_sdst(&name, &text)?),
            Set::Atsp => Instance::Setups(read::atsp(&name, &text)?),
        })
    }
}

fn walk(folder: &Path, files: &mut Vec<PathBuf>) -> Result<(), SetError> {
    let unreadable = |cause: io::Error| SetError::Unreadable {
        path: folder.to_owned(),
        cause,
    };
    for entry in fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        if path.is_dir() {
            walk(&path, files)?;
        } else {
            files.push(path);
        }
    }
    Ok(())
}

/// The file whose path ends in the name, whatever its extension.
fn file_of(files: &[PathBuf], name: &str) -> Option<PathBuf> {
    let wanted = Path::new(name);
    let bare = |path: &Path| path.with_extension("");
    let exact = files.iter().find(|path| path.ends_with(wanted));
    exact
        .or_else(|| files.iter().find(|path| bare(path).ends_with(wanted)))
        .cloned()
}

/// Every k-th of a list, so that about `count` are left, spread evenly.
#[must_use]
pub fn sample<T>(list: Vec<T>, count: Option<usize>) -> Vec<T> {
    let Some(count) = count.filter(|&count| count > 0 && count < list.len()) else {
        return list;
    };
    let step = list.len().div_ceil(count);
    // Starts in the middle of the first stretch.
    list.into_iter().skip(step / 2).step_by(step).collect()
}
