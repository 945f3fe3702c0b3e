//! Looking at the folder without reading it.

use documents::KNOWN_FILES;
use std::fs;
use std::path::Path;
use std::time::SystemTime;

/// Sizes and times of the known files, as the system tells them. Two looks that are equal have most
/// likely seen the same content; reading it costs more and is done only when they differ.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Look {
    files: Vec<Option<(u64, Option<SystemTime>)>>,
}

impl Look {
    /// Looks at the folder now. A file that cannot be seen counts as not there.
    pub(crate) fn at(folder: &Path) -> Look {
        let seen = |name: &str| {
            let about = fs::metadata(folder.join(name)).ok()?;
            Some((about.len(), about.modified().ok()))
        };
        Look {
            files: KNOWN_FILES.iter().map(|(name, _)| seen(name)).collect(),
        }
    }
}

/// Decides when a folder that changes is worth reading.
#[derive(Debug, Default)]
pub(crate) struct Watch {
    before: Option<Look>,
    read: Option<Look>,
}

impl Watch {
    /// Takes the next look; whether to read the folder now. A change must hold still for two looks:
    /// files are written bit by bit and one after another, and half of a change is no shop. The
    /// first look needs no second.
    pub(crate) fn settled(&mut self, look: Look) -> bool {
        let first = self.before.is_none();
        let still = self.before.as_ref() == Some(&look);
        let known = self.read.as_ref() == Some(&look);
        self.before = Some(look.clone());
        let read = (first || still) && !known;
        if read {
            self.read = Some(look);
        }
        read
    }

    /// Makes the next look read the folder again, changed or not.
    pub(crate) fn again(&mut self) {
        self.read = None;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn look(size: u64) -> Look {
        Look {
            files: vec![Some((size, None)), None],
        }
    }

    #[test]
    fn a_change_is_read_once_it_holds_still() {
        let mut watch = Watch::default();
        let sizes = [1, 1, 2, 3, 3, 3, 1, 1];
        let read: Vec<bool> = sizes.map(|size| watch.settled(look(size))).to_vec();
        assert_eq!(read, [true, false, false, false, true, false, false, true]);
    }

    #[test]
    fn a_change_taken_back_before_it_settled_is_no_change() {
        let mut watch = Watch::default();
        let read = [1, 2, 1, 1].map(|size| watch.settled(look(size)));
        assert_eq!(read, [true, false, false, false]);
    }

    #[test]
    fn again_reads_what_has_not_changed() {
        let mut watch = Watch::default();
        assert!(watch.settled(look(1)));
        watch.again();
        assert!(watch.settled(look(1)));
        assert!(!watch.settled(look(1)));
    }
}
