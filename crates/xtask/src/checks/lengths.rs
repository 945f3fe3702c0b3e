//! Files and functions stay short enough to read; today's exceptions are written down and may only
//! shrink.

use crate::rust_text::{Function, RustText};
use crate::tree::{Fault, Tree};
use std::collections::BTreeMap;

/// Lines a source file may have.
const FILE_MOST: usize = 600;
/// Lines a function may have.
const FUNCTION_MOST: usize = 70;
/// Where the exceptions are kept.
const EXCEPTIONS: &str = "crates/xtask/exceptions.toml";

/// What is longer than it should be: a path, or a path and a function's name.
type Long = BTreeMap<String, usize>;

pub(crate) fn check(tree: &Tree) -> Vec<Fault> {
    let allowed = match exceptions(tree.text(EXCEPTIONS)) {
        Ok(allowed) => allowed,
        Err(text) => return vec![Fault::new(EXCEPTIONS, text)],
    };
    let found = long(tree);
    let mut faults = Vec::new();
    for (place, lines) in &found {
        match allowed.get(place) {
            Some(most) if lines <= most => {}
            Some(most) => {
                let text = format!("has grown from {most} to {lines} lines; make it shorter");
                faults.push(Fault::new(place, text));
            }
            None => {
                let text = format!(
                    "{lines} lines; a file has at most {FILE_MOST}, a function {FUNCTION_MOST}"
                );
                faults.push(Fault::new(place, text));
            }
        }
    }
    for place in allowed.keys().filter(|place| !found.contains_key(*place)) {
        let text = format!("{place} is short now: take it off the list");
        faults.push(Fault::new(EXCEPTIONS, text));
    }
    faults
}

fn long(tree: &Tree) -> Long {
    let mut found = Long::new();
    for (path, text) in tree.ending(".rs") {
        let lines = text.lines().count();
        if lines > FILE_MOST {
            found.insert(path.to_owned(), lines);
        }
        for Function { name, lines, .. } in RustText::of(text).functions() {
            if lines > FUNCTION_MOST {
                let longest = found.entry(format!("{path} fn {name}")).or_default();
                *longest = lines.max(*longest);
            }
        }
    }
    found
}

/// Reads the list: tables `long` with `place`, `lines` and the `reason`.
fn exceptions(text: &str) -> Result<Long, String> {
    let table: toml::Table = text.parse().map_err(|error| format!("{error}"))?;
    let rows = table.get("long").and_then(toml::Value::as_array);
    let mut allowed = Long::new();
    for row in rows.into_iter().flatten() {
        let text = |key: &str| row.get(key).and_then(toml::Value::as_str);
        let place = text("place").ok_or("a row has no place")?;
        let lines = row.get("lines").and_then(toml::Value::as_integer);
        let lines = lines.and_then(|lines| usize::try_from(lines).ok());
        let lines = lines.ok_or_else(|| format!("{place} has no lines"))?;
        if text("reason").is_none_or(str::is_empty) {
            return Err(format!("{place} has no reason"));
        }
        allowed.insert(place.to_owned(), lines);
    }
    Ok(allowed)
}

#[cfg(test)]
mod tests {
    use super::*;

    const PATH: &str = "crates/a/src/b.rs";

    fn tree(function_lines: usize, exceptions: &str) -> Tree {
        let body = "\n".repeat(function_lines - 1);
        Tree::of(&[
            (PATH, &format!("fn f() {{{body}}}")),
            (EXCEPTIONS, exceptions),
        ])
    }

    fn listed(lines: usize) -> String {
        format!("[[long]]\nplace = \"{PATH} fn f\"\nlines = {lines}\nreason = \"a table\"\n")
    }

    #[test]
    fn limits_are_met_exactly() {
        assert_eq!(check(&tree(FUNCTION_MOST, "")), []);
        assert_eq!(check(&tree(FUNCTION_MOST + 1, "")).len(), 1);
        let file = |lines: usize| Tree::of(&[(PATH, &"\n".repeat(lines))]);
        assert_eq!(check(&file(FILE_MOST)), []);
        assert_eq!(check(&file(FILE_MOST + 1)).len(), 1);
    }

    #[test]
    fn an_exception_may_shrink_but_not_grow_or_outlive_its_need() {
        assert_eq!(check(&tree(90, &listed(90))), []);
        assert_eq!(check(&tree(80, &listed(90))), []);
        assert_eq!(check(&tree(91, &listed(90))).len(), 1);
        assert_eq!(check(&tree(70, &listed(90))).len(), 1);
    }

    #[test]
    fn an_exception_needs_its_reason() {
        let bare = format!("[[long]]\nplace = \"{PATH} fn f\"\nlines = 90\n");
        assert_eq!(check(&tree(90, &bare))[0].place, EXCEPTIONS);
    }
}
