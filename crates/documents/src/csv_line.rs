//! Splitting one line of a table into cells.
//!
//! RFC 4180 with one restriction and one freedom: a cell stays on one line, so that a forgotten
//! quote spoils its own line alone and every line number is the one an editor shows; and a quote
//! inside an unquoted cell is itself (`3/8"` is three eighths of an inch).

use std::borrow::Cow;

/// Why a line is not a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum LineProblem {
    /// A quoted cell does not end; its number from 1.
    Unclosed(usize),
    /// Something other than a comma follows a quoted cell; its number from 1.
    AfterQuote(usize),
}

/// The cells of a line, without the space around them; quoted cells keep theirs.
pub(crate) fn split_line(line: &str) -> Result<Vec<Cow<'_, str>>, LineProblem> {
    let mut cells = Vec::new();
    let mut rest = line;
    loop {
        let trimmed = rest.trim_start();
        let (cell, after) = if let Some(inside) = trimmed.strip_prefix('"') {
            let number = cells.len() + 1;
            let (cell, after) = quoted(inside).ok_or(LineProblem::Unclosed(number))?;
            let after = after.trim_start();
            if !(after.is_empty() || after.starts_with(',')) {
                return Err(LineProblem::AfterQuote(number));
            }
            (cell, after)
        } else {
            let end = rest.find(',').unwrap_or(rest.len());
            let (cell, after) = rest.split_at(end);
            (Cow::Borrowed(cell.trim()), after)
        };
        cells.push(cell);
        match after.strip_prefix(',') {
            Some(next) => rest = next,
            None => return Ok(cells),
        }
    }
}

/// A quoted cell after its opening quote: its text, and what follows its closing quote.
fn quoted(inside: &str) -> Option<(Cow<'_, str>, &str)> {
    let mut from = 0;
    loop {
        let quote = from + inside.get(from..)?.find('"')?;
        let after = inside.get(quote + 1..)?;
        if !after.starts_with('"') {
            let text = inside.get(..quote)?;
            let text = if from == 0 {
                Cow::Borrowed(text)
            } else {
                Cow::Owned(text.replace("\"\"", "\""))
            };
            return Some((text, after));
        }
        from = quote + 2;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_split_as_written() {
        let cases: [(&str, &[&str]); 8] = [
            ("", &[""]),
            ("a,b", &["a", "b"]),
            (" a , b ,", &["a", "b", ""]),
            ("\"a,b\",c", &["a,b", "c"]),
            ("\"say \"\"no\"\"\", c", &["say \"no\"", "c"]),
            ("3/8\",x", &["3/8\"", "x"]),
            ("\" a \" ,b", &[" a ", "b"]),
            ("\"\",b", &["", "b"]),
        ];
        for (line, cells) in cases {
            let split = split_line(line).map(|found| found.join("|"));
            assert_eq!(split, Ok(cells.join("|")), "{line}");
        }
    }

    #[test]
    fn bad_quotes_are_told_apart() {
        assert_eq!(split_line("a,\"b"), Err(LineProblem::Unclosed(2)));
        assert_eq!(split_line("\"a\"b,c"), Err(LineProblem::AfterQuote(1)));
        assert_eq!(split_line("\"a\"\",c"), Err(LineProblem::Unclosed(1)));
    }
}
