//! Readers of the published text formats. No text makes them panic; an error names the line.

mod atsp;
mod ipmtc;
mod npm;
mod ssp;
mod upms;
mod wtsds;

pub use atsp::atsp;
pub use ipmtc::ipmtc;
pub use npm::ssp_npm;
pub use ssp::ssp;
pub use upms::upms_sdst;
pub use wtsds::wtsds;

/// Most jobs of an instance; a setup matrix of so many is 200 MB.
pub const JOBS_MOST: usize = 5_000;
/// Most machines.
pub const MACHINES_MOST: usize = 200;
/// Most tools: as many as fit one word of bits.
pub const TOOLS_MOST: usize = 128;
/// Largest number taken for a time or a weight; sums of products of such stay within 64 bits.
pub const NUMBER_MOST: i64 = 1_000_000_000;

/// What is wrong with a text.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Trouble {
    /// The text ends too early.
    #[error("ends where {0} should follow")]
    Ends(&'static str),
    /// Something else stands where a number should.
    #[error("{found:?} stands where {wanted} should")]
    NotANumber {
        /// What stands there.
        found: String,
        /// What should.
        wanted: &'static str,
    },
    /// A number is out of range.
    #[error("{what} is {found}, which is not from {least} to {most}")]
    OutOfRange {
        /// Which number.
        what: &'static str,
        /// What it is.
        found: i64,
        /// Least allowed.
        least: i64,
        /// Most allowed.
        most: i64,
    },
    /// A line that marks a section is missing.
    #[error("no line {0:?}")]
    NoSection(&'static str),
    /// The file says it is of a kind that is not read here.
    #[error("{what} is {found:?}, only {wanted} is read")]
    Kind {
        /// Which field.
        what: &'static str,
        /// What it says.
        found: String,
        /// What is read.
        wanted: &'static str,
    },
    /// A job fits no machine.
    #[error("job {0} needs more tools than any machine holds")]
    NoMachine(usize),
}

/// A text that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{line}: {trouble}")]
pub struct ReadError {
    /// File as named by the caller.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// What is wrong.
    pub trouble: Trouble,
}

/// The words of a text with their lines.
pub(crate) struct Words<'a> {
    file: &'a str,
    words: Vec<(usize, &'a str)>,
    next: usize,
    last_line: usize,
}

impl<'a> Words<'a> {
    /// Words between blanks and the given separators.
    pub(crate) fn of(file: &'a str, text: &'a str, separators: &[char]) -> Words<'a> {
        let split = |c: char| c.is_whitespace() || separators.contains(&c);
        let words = text.lines().enumerate().flat_map(|(index, line)| {
            let words = line.split(split).filter(|word| !word.is_empty());
            words.map(move |word| (index + 1, word))
        });
        Words {
            file,
            words: words.collect(),
            next: 0,
            last_line: text.lines().count().max(1),
        }
    }

    /// An error at the word last taken, or at the end.
    pub(crate) fn error(&self, trouble: Trouble) -> ReadError {
        let index = self.next.saturating_sub(1);
        let line = self.words.get(index).map_or(self.last_line, |word| word.0);
        ReadError {
            file: self.file.to_owned(),
            line,
            trouble,
        }
    }

    pub(crate) fn word(&mut self, wanted: &'static str) -> Result<&'a str, ReadError> {
        let Some(&(_, word)) = self.words.get(self.next) else {
            return Err(ReadError {
                file: self.file.to_owned(),
                line: self.last_line,
                trouble: Trouble::Ends(wanted),
            });
        };
        self.next += 1;
        Ok(word)
    }

    /// The next word if it is there, left where it is.
    pub(crate) fn peek(&self) -> Option<&'a str> {
        self.words.get(self.next).map(|word| word.1)
    }

    /// A whole number from `least` to `most`.
    pub(crate) fn number(
        &mut self,
        what: &'static str,
        least: i64,
        most: i64,
    ) -> Result<i64, ReadError> {
        let word = self.word(what)?;
        let Ok(found) = word.parse::<i64>() else {
            let found = word.to_owned();
            let wanted = what;
            return Err(self.error(Trouble::NotANumber { found, wanted }));
        };
        if !(least..=most).contains(&found) {
            return Err(self.error(Trouble::OutOfRange {
                what,
                found,
                least,
                most,
            }));
        }
        Ok(found)
    }

    /// A time, weight or length.
    pub(crate) fn amount(&mut self, what: &'static str) -> Result<i64, ReadError> {
        self.number(what, 0, NUMBER_MOST)
    }

    /// A count from 1.
    pub(crate) fn count(&mut self, what: &'static str, most: usize) -> Result<usize, ReadError> {
        let most = i64::try_from(most).unwrap_or(i64::MAX);
        let number = self.number(what, 1, most)?;
        // In range of a count, as `most` is one.
        Ok(usize::try_from(number).unwrap_or(usize::MAX))
    }

    /// A row of amounts.
    pub(crate) fn amounts(
        &mut self,
        what: &'static str,
        count: usize,
    ) -> Result<Vec<i64>, ReadError> {
        (0..count).map(|_| self.amount(what)).collect()
    }

    /// Takes words until one is the given.
    pub(crate) fn skip_to(&mut self, section: &'static str) -> Result<(), ReadError> {
        while let Some(&(_, word)) = self.words.get(self.next) {
            self.next += 1;
            if word == section {
                return Ok(());
            }
        }
        Err(self.error(Trouble::NoSection(section)))
    }

    /// The tools of every job from a matrix of zeros and ones, one row a tool, one column a job.
    pub(crate) fn tool_rows(&mut self, tools: usize, jobs: usize) -> Result<Vec<u128>, ReadError> {
        let mut needs = vec![0_u128; jobs];
        for tool in 0..tools {
            for need in &mut needs {
                if self.number("a zero or one of the tool matrix", 0, 1)? == 1 {
                    *need |= 1 << tool;
                }
            }
        }
        Ok(needs)
    }

    /// Refuses jobs that fit no machine.
    pub(crate) fn fits(&self, needs: &[u128], capacity: &[u32]) -> Result<(), ReadError> {
        let most = capacity.iter().copied().max().unwrap_or(0);
        match needs.iter().position(|need| need.count_ones() > most) {
            Some(job) => Err(self.error(Trouble::NoMachine(job))),
            None => Ok(()),
        }
    }
}
