//! Collecting findings: all of them, in file order, within bounds.

use crate::codes::{Code, MORE_FINDINGS};
use crate::file_set::KNOWN_FILES;
use crate::limits::MOST_FINDINGS;
use std::collections::BTreeMap;
use units::{Finding, Place, Severity};

/// What is wrong with one value; its place is added by whoever knows it.
#[derive(Clone, Debug)]
pub(crate) struct Problem {
    pub(crate) code: Code,
    pub(crate) found: String,
    pub(crate) expected: String,
    pub(crate) action: String,
}

impl Problem {
    pub(crate) fn new(
        code: Code,
        found: impl Into<String>,
        expected: impl Into<String>,
        action: impl Into<String>,
    ) -> Problem {
        Problem {
            code,
            found: found.into(),
            expected: expected.into(),
            action: action.into(),
        }
    }

    /// The finding this problem is at a place.
    pub(crate) fn at(self, place: Place) -> Finding {
        Finding {
            code: self.code.code,
            severity: self.code.severity,
            place,
            found: self.found,
            expected: self.expected,
            action: self.action,
        }
    }
}

/// The findings so far.
///
/// Of each file and severity no more are kept than could be handed back, so that a huge file that
/// is wrong in every line costs no more memory than a small one.
#[derive(Default)]
pub(crate) struct Findings {
    kept: Vec<Finding>,
    counts: BTreeMap<(String, Severity), usize>,
    left_out: usize,
}

impl Findings {
    pub(crate) fn add(&mut self, place: Place, problem: Problem) {
        let key = (place.file.clone(), problem.code.severity);
        let count = self.counts.entry(key).or_insert(0);
        *count += 1;
        if *count <= MOST_FINDINGS {
            self.kept.push(problem.at(place));
        } else {
            self.left_out += 1;
        }
    }

    /// Whether another error in this file would still be kept.
    pub(crate) fn has_room(&self, file: &str) -> bool {
        let key = (file.to_owned(), Severity::Error);
        self.counts
            .get(&key)
            .is_none_or(|count| *count < MOST_FINDINGS)
    }

    pub(crate) fn any_error(&self) -> bool {
        self.kept.iter().any(Finding::is_error)
    }

    /// All findings by file, then line; at most [`MOST_FINDINGS`], the last then saying how many
    /// were left out. Errors are kept before warnings, warnings before notes.
    pub(crate) fn finish(self) -> Vec<Finding> {
        let mut kept = self.kept;
        let mut left_out = self.left_out;
        if left_out > 0 || kept.len() > MOST_FINDINGS {
            kept.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
            left_out += kept.len().saturating_sub(MOST_FINDINGS - 1);
            kept.truncate(MOST_FINDINGS - 1);
        }
        kept.sort_by_key(|finding| (file_rank(&finding.place.file), finding.place.line));
        if left_out > 0 {
            let file = kept
                .last()
                .map(|last| last.place.file.clone())
                .unwrap_or_default();
            let found = format!("{left_out} more findings are not shown");
            let action = "mend those shown and check again";
            let place = Place {
                file,
                line: None,
                field: None,
            };
            kept.push(Problem::new(MORE_FINDINGS, found, "", action).at(place));
        }
        kept
    }
}

fn file_rank(file: &str) -> usize {
    KNOWN_FILES
        .iter()
        .position(|(name, _)| *name == file)
        .unwrap_or(KNOWN_FILES.len())
}

/// A text as messages show it: quoted, and cut when it is long.
pub(crate) fn shown(text: &str) -> String {
    const LONGEST: usize = 60;
    if text.chars().count() <= LONGEST {
        return format!("{text:?}");
    }
    let start: String = text.chars().take(LONGEST).collect();
    format!("{start:?}…")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::codes::{NOT_A_NUMBER, NOT_USED};

    fn place(file: &str, line: u64) -> Place {
        Place {
            file: file.to_owned(),
            line: Some(line),
            field: None,
        }
    }

    #[test]
    fn findings_are_bounded_sorted_and_errors_survive() {
        let mut findings = Findings::default();
        for line in 0..1_500 {
            let problem = Problem::new(NOT_USED, "x", "", "");
            findings.add(place("parts.csv", 1_500 - line), problem);
        }
        findings.add(
            place("crew.csv", 3),
            Problem::new(NOT_A_NUMBER, "x", "", ""),
        );
        assert!(findings.any_error());
        let list = findings.finish();
        assert_eq!(list.len(), MOST_FINDINGS);
        assert_eq!(list.last().map(|last| last.code), Some("D190"));
        assert!(
            list.iter()
                .any(|finding| finding.place == place("crew.csv", 3))
        );
        assert!(
            list[..998]
                .windows(2)
                .all(|pair| pair[0].place.line <= pair[1].place.line)
        );
        let last = &list[MOST_FINDINGS - 1];
        assert_eq!(last.found, "502 more findings are not shown");
    }
}
