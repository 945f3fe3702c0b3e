//! A shop folder on disk.

use crate::aside::without_setup;
use daybook::set_aside;
use documents::{FileSet, KNOWN_FILES, read_shop};
use model::Shop;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use units::Finding;

/// Read no more of a file than this and one byte: the reader refuses larger ones by their size.
const FILE_BYTES_MOST: u64 = 64 * 1024 * 1024;

/// Why a folder could not be read at all.
#[derive(Debug, thiserror::Error)]
pub enum FolderError {
    /// Not there, or not a folder.
    #[error("{0} is not a folder; name the folder that holds shop.toml")]
    NotAFolder(PathBuf),
    /// A file in it could not be read.
    #[error("cannot read {path}: {cause}")]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        cause: io::Error,
    },
}

/// A folder's content, checked.
#[derive(Debug)]
pub struct Checked {
    /// The shop, when nothing is wrong with it.
    pub shop: Option<Shop>,
    /// Everything to mend or to know.
    pub findings: Vec<Finding>,
}

/// Reads every known file of a shop folder. Files of other names are left alone.
///
/// # Errors
/// [`FolderError`] when the folder or a file in it cannot be read; a missing file is a finding, not
/// an error.
pub fn read_folder(folder: &Path) -> Result<FileSet, FolderError> {
    if !folder.is_dir() {
        return Err(FolderError::NotAFolder(folder.to_owned()));
    }
    let mut files = FileSet::new();
    for (name, _) in KNOWN_FILES {
        let path = folder.join(name);
        match read_capped(&path) {
            Ok(Some(bytes)) => files.insert(name, bytes),
            Ok(None) => {}
            Err(cause) => return Err(FolderError::Unreadable { path, cause }),
        }
    }
    Ok(files)
}

fn read_capped(path: &Path) -> io::Result<Option<Vec<u8>>> {
    let file = match File::open(path) {
        Ok(file) => file,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error),
    };
    let mut bytes = Vec::new();
    file.take(FILE_BYTES_MOST + 1).read_to_end(&mut bytes)?;
    Ok(Some(bytes))
}

/// Reads and checks a folder.
///
/// # Errors
/// As [`read_folder`].
pub fn check(folder: &Path) -> Result<Checked, FolderError> {
    Ok(check_files(&read_folder(folder)?))
}

/// Checks files already read. The files alone come first; when they hold together, orders in
/// progress are compared with what is on their beds. One that cannot be made there is told, and in the
/// shop it has not begun, but for its finished pieces.
#[must_use]
pub fn check_files(files: &FileSet) -> Checked {
    let (mut shop, mut findings) = read_shop(files);
    if let Some(shop) = &mut shop {
        let (aside, told) = without_setup(shop, shop.as_of.unwrap_or_default());
        findings.extend(told);
        set_aside(shop, &aside);
    }
    Checked { shop, findings }
}
