//! Plain tables that fit the width they are given.

use tabled::builder::Builder;
use tabled::settings::object::Columns;
use tabled::settings::peaker::Priority;
use tabled::settings::style::HorizontalLine;
use tabled::settings::{Alignment, Modify, Padding, Style, Width};

/// A column's heading and which side its cells stand on.
pub(crate) type Column = (&'static str, Side);

/// Which side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Side {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// Draws a table: headings, a rule, one row a line; cells that would not fit are broken at spaces.
pub(crate) fn table(columns: &[Column], rows: &[Vec<String>], width: usize) -> String {
    // Two spaces between columns where there is room, one where there is not.
    let roomy = draw(columns, rows, 2);
    let drawn = if widest_line(&roomy.to_string()) <= width {
        roomy.to_string()
    } else {
        let mut close = draw(columns, rows, 1);
        close.with(
            Width::wrap(width)
                .priority(Priority::max(true))
                .keep_words(true),
        );
        close.to_string()
    };
    let mut out = String::new();
    for line in drawn.lines() {
        out.push_str(line.trim_end());
        out.push('\n');
    }
    out
}

fn draw(columns: &[Column], rows: &[Vec<String>], gap: usize) -> tabled::Table {
    let mut builder = Builder::new();
    builder.push_record(columns.iter().map(|(heading, _)| *heading));
    for row in rows {
        builder.push_record(row.iter().map(String::as_str));
    }
    let mut table = builder.build();
    table
        .with(Style::empty().horizontals([(1, HorizontalLine::new('-'))]))
        .with(Padding::new(0, gap, 0, 0));
    for (index, (_, side)) in columns.iter().enumerate() {
        if *side == Side::Right {
            table.with(Modify::new(Columns::one(index)).with(Alignment::right()));
        }
    }
    table
}

fn widest_line(text: &str) -> usize {
    text.lines()
        .map(|line| line.trim_end().chars().count())
        .max()
        .unwrap_or(0)
}

/// Words broken into lines of at most `width`, every line but the first behind the indent.
pub(crate) fn wrapped(text: &str, indent: usize, width: usize) -> String {
    let mut out = String::new();
    let mut column = 0;
    for word in text.split_inclusive(' ') {
        let length = word.trim_end().chars().count();
        if column > indent && column + length > width {
            out.truncate(out.trim_end().len());
            out.push('\n');
            out.push_str(&" ".repeat(indent));
            column = indent;
        }
        out.push_str(word);
        column += word.chars().count();
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_fit_where_words_allow_it() {
        let columns = [
            ("order", Side::Left),
            ("why not", Side::Left),
            ("n", Side::Right),
        ];
        let row = ["W-1", "the bed is much too short for it", "12"].map(str::to_owned);
        let wide = table(&columns, &[row.to_vec()], 80);
        assert_eq!(wide.lines().count(), 3);
        assert!(wide.lines().all(|line| !line.ends_with(' ')));
        let narrow = table(&columns, &[row.to_vec()], 24);
        assert!(
            narrow.lines().all(|line| line.chars().count() <= 24),
            "{narrow}"
        );
        assert!(narrow.contains("much"), "{narrow}");
    }

    #[test]
    fn long_lines_are_broken_at_spaces() {
        assert_eq!(
            wrapped("one two three four", 2, 9),
            "one two\n  three\n  four"
        );
        assert_eq!(wrapped("unbreakable", 2, 4), "unbreakable");
    }
}
