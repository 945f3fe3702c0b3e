//! The settings file of the daemon: `config/daemon.toml` is one, with every key explained.

use crate::DaemonError;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

/// Everything the daemon is told. [`Settings::default`] is what `config/daemon.toml` says.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Settings {
    /// The database, as `sqlite:FILE` or `postgres://…`.
    pub database: String,
    /// The shop's name in the database.
    pub site: String,
    /// A shop folder to watch; empty for none.
    pub folder: PathBuf,
    /// Where to listen.
    pub listen: Listen,
    /// How to plan.
    pub planning: Planning,
    /// Where other programs drop work orders.
    pub inbox: Inbox,
    /// How much one caller may ask for.
    pub limits: Limits,
}

/// Where to listen.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Listen {
    /// Address and port; port 0 takes any free one.
    pub address: SocketAddr,
    /// Whether other machines may be served without TLS.
    pub open_to_others: bool,
    /// Host names by which the daemon may be called, besides this machine's own.
    pub hosts: Vec<String>,
    /// PEM file of the certificate and what leads to its root; empty for none.
    pub certificate: PathBuf,
    /// PEM file of the certificate's key; empty for none.
    pub key: PathBuf,
}

/// How to plan.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Planning {
    /// Seconds of search for a proposal at most.
    pub seconds: u64,
    /// Number the search's generators start from.
    pub seed: u64,
}

/// How much one caller may ask for.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Limits {
    /// Requests a second of one account, or of one address without an account; at least 1.
    pub requests_a_second: u32,
}

/// Where other programs drop work orders.
#[derive(Clone, Debug, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Inbox {
    /// The folder; empty for none.
    pub folder: PathBuf,
    /// Our column name, and what the column is called there.
    pub columns: BTreeMap<String, String>,
    /// Columns nobody needs.
    pub ignore: Ignore,
}

/// Columns nobody needs.
#[derive(Clone, Debug, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Ignore {
    /// By the names they have there.
    pub columns: Vec<String>,
}

impl Default for Settings {
    fn default() -> Settings {
        Settings {
            database: "sqlite://brakewright.db".to_owned(),
            site: "shop".to_owned(),
            folder: PathBuf::new(),
            listen: Listen::default(),
            planning: Planning::default(),
            inbox: Inbox::default(),
            limits: Limits::default(),
        }
    }
}

impl Default for Listen {
    fn default() -> Listen {
        Listen {
            address: SocketAddr::from(([127, 0, 0, 1], 8077)),
            open_to_others: false,
            hosts: Vec::new(),
            certificate: PathBuf::new(),
            key: PathBuf::new(),
        }
    }
}

impl Default for Limits {
    /// Common practice, no source: far above what a shop needs, far below what would hurt it.
    fn default() -> Limits {
        Limits {
            requests_a_second: 5_000,
        }
    }
}

impl Default for Planning {
    fn default() -> Planning {
        Planning {
            seconds: 10,
            seed: 1,
        }
    }
}

impl Settings {
    /// Reads a settings file. Relative paths in it are relative to its folder.
    ///
    /// # Errors
    /// [`DaemonError::Settings`] when the file cannot be read, or with the line, what was found and
    /// what was expected there.
    pub fn read(file: &Path) -> Result<Settings, DaemonError> {
        let refuse = |cause: String| DaemonError::Settings {
            file: file.to_owned(),
            cause,
        };
        let text = std::fs::read_to_string(file).map_err(|error| refuse(error.to_string()))?;
        let mut settings: Settings =
            toml::from_str(&text).map_err(|error| refuse(error.to_string()))?;
        let beside = file.parent().unwrap_or(Path::new(""));
        for path in [
            &mut settings.folder,
            &mut settings.inbox.folder,
            &mut settings.listen.certificate,
            &mut settings.listen.key,
        ] {
            if !path.as_os_str().is_empty() {
                *path = beside.join(&*path);
            }
        }
        Ok(settings)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_example_says_what_is_assumed() {
        let example: Settings =
            toml::from_str(include_str!("../../../config/daemon.toml")).unwrap();
        assert_eq!(example, Settings::default());
    }

    #[test]
    fn an_unknown_key_is_refused_with_its_line() {
        let error = toml::from_str::<Settings>("[listen]\naddres = \"127.0.0.1:1\"\n");
        let text = error.unwrap_err().to_string();
        assert!(text.contains("line 2") && text.contains("addres"), "{text}");
    }
}
