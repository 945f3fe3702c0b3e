//! The words of run lists and changeover sheets, said once for the screen and for paper.
//!
//! Nothing here is laid out: these are the lines, cells and cautions; how wide they may be and where
//! they stand is for whoever shows them. Numbers a plan does not hold, such as how close a bend comes
//! to a limit, are handed in.

mod clock;
mod list;
mod sheet;

pub use clock::{Clock, day_long, days_later, short_duration};
pub use list::{Entry, LEGEND, Today, batch, minutes, moved, none, openings, people, taken_down};
pub use sheet::{
    BEND_COLUMNS, Handling, Head, RunBend, StationWords, bed_before, bed_caption, cautions, head,
    pieces, program_words, run_bends, sheet_title, stations, takedown_head, takedowns_after_all,
    takedowns_before, way_round,
};

/// Stands under everything that tells somebody to bend or to change tools.
pub const CAUTION: &str = "\
Caution: bending can maim. The figures are computed and advise only; the machine's manual, the tool
maker's load ratings, local codes and licensed practice come first. A trained person sets the
machine up, checks the safeguarding and answers for the first stroke.
";

/// Said where the data are an example.
pub const INVENTED: &str = "Invented example data: no real shop, person, brake or tool is meant.\n";

/// Said where no section of a part can be drawn.
pub const NO_SECTION: &str =
    "No cross section is known: the bends carry no lines, or hold a hem or steps.";

/// `one thing` or `4 things`.
#[must_use]
pub fn counted(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// At most so many decimals, none of them a trailing zero.
#[must_use]
pub fn decimals(value: f64, most: usize) -> String {
    let text = format!("{value:.most$}");
    if text.contains('.') {
        let short = text.trim_end_matches('0').trim_end_matches('.');
        return if short == "-0" {
            "0".to_owned()
        } else {
            short.to_owned()
        };
    }
    if text == "-0" { "0".to_owned() } else { text }
}
