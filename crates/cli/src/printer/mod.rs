//! The only place that writes to the screen; its modules turn plans and sheets into text or JSON.

pub(crate) mod batch_card;
pub(crate) mod batch_picture;
pub(crate) mod batches;
pub(crate) mod bed_drawing;
pub(crate) mod clock;
pub(crate) mod csv_list;
pub(crate) mod day_plan;
pub(crate) mod drawn_part;
pub(crate) mod findings;
pub(crate) mod order_table;
pub(crate) mod part_sheet;
pub(crate) mod plan_tables;
pub(crate) mod progress;
pub(crate) mod quote;
pub(crate) mod quote_tables;
pub(crate) mod run_list;
pub(crate) mod sheet;
pub(crate) mod svg_text;
pub(crate) mod table;
pub(crate) mod totals;
pub(crate) mod unplaced;
pub(crate) mod verdict;
pub(crate) mod whatif;
pub(crate) mod whatif_json;

use crate::trouble::Trouble;
pub(crate) use documents::words::{CAUTION, INVENTED, counted};
use progress::{PlansProgress, SearchProgress};
use std::io::{self, IsTerminal, Write};
use units::Finding;

/// Width of text that no terminal shows: a landscape page in a readable size.
pub(crate) const PAGE_WIDTH: usize = 120;
const NARROWEST: usize = 72;

/// Standard output and standard error.
pub(crate) struct Printer {
    width: usize,
    progress: bool,
}

impl Printer {
    /// Looks at the terminal once.
    pub(crate) fn for_this_terminal() -> Printer {
        let terminal = io::stdout().is_terminal();
        let width = terminal_size::terminal_size().filter(|_| terminal);
        let width = width.map_or(PAGE_WIDTH, |(width, _)| usize::from(width.0).max(NARROWEST));
        Printer {
            width,
            progress: io::stderr().is_terminal(),
        }
    }

    /// Columns that tables may take.
    pub(crate) fn width(&self) -> usize {
        self.width
    }

    /// Whether messages may be coloured: on a terminal, unless `NO_COLOR` is set.
    pub(crate) fn colour_of_messages(&self) -> bool {
        let unwanted = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
        self.progress && !unwanted
    }

    /// Writes text to standard output.
    pub(crate) fn data(&self, text: &str) -> Result<(), Trouble> {
        let mut out = io::stdout().lock();
        let written = out
            .write_all(harmless(text).as_bytes())
            .and_then(|()| out.flush());
        written.map_err(|error| match error.kind() {
            io::ErrorKind::BrokenPipe => Trouble::PipeClosed,
            _ => Trouble::Output(error),
        })
    }

    /// Writes JSON to standard output, with a final line break.
    pub(crate) fn json(&self, value: &serde_json::Value) -> Result<(), Trouble> {
        self.data(&format!("{value:#}\n"))
    }

    /// Writes one message to standard error. When nobody can be told, nobody is told.
    pub(crate) fn message(&mut self, text: &str) {
        let _ = writeln!(io::stderr().lock(), "{}", harmless(text));
    }

    /// Says why a call could not be carried out.
    pub(crate) fn trouble(&mut self, trouble: &Trouble) {
        self.end_progress();
        match trouble {
            Trouble::PipeClosed => {}
            Trouble::Findings(findings) => {
                for finding in findings.iter().filter(|finding| finding.is_error()) {
                    self.message(&finding.to_string());
                }
                self.message(&trouble.to_string());
            }
            _ => self.message(&trouble.to_string()),
        }
    }

    /// Follows a search on standard error, when that is a terminal.
    pub(crate) fn progress(&self) -> SearchProgress {
        SearchProgress::new(self.progress)
    }

    /// Follows many plans on standard error, when that is a terminal.
    pub(crate) fn plans_progress(&self) -> PlansProgress {
        PlansProgress::new(self.progress)
    }

    /// Takes the last progress line away.
    pub(crate) fn end_progress(&mut self) {
        if self.progress {
            let _ = write!(io::stderr().lock(), "{}", progress::CLEAR);
        }
    }
}

/// Text with control characters made visible, so that nothing read from a file steers a terminal.
fn harmless(text: &str) -> String {
    let tame = |c: char| match c {
        '\n' => c,
        c if c.is_control() => '\u{fffd}',
        c => c,
    };
    text.chars().map(tame).collect()
}

/// Keeps the findings' severity in one word for text and JSON alike.
pub(crate) fn severity_word(finding: &Finding) -> &'static str {
    match finding.severity {
        units::Severity::Note => "note",
        units::Severity::Warning => "warning",
        units::Severity::Error => "error",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn control_characters_do_not_reach_the_terminal() {
        assert_eq!(
            harmless("a\u{1b}[2Jb\r\nc\t"),
            "a\u{fffd}[2Jb\u{fffd}\nc\u{fffd}"
        );
    }
}
