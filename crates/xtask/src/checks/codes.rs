//! The page of codes lists what the program can say, all of it and nothing else.

use crate::tree::{Fault, Tree};
use audit::RULES;
use documents::CODES;
use drawing::CODES as OF_DRAWINGS;
use exchange::CODES as OF_EXCHANGE;
use std::collections::BTreeMap;

/// The page.
const PAGE: &str = "docs/reference/codes.md";

pub(crate) fn check(tree: &Tree) -> Vec<Fault> {
    let mut known: BTreeMap<&str, String> = BTreeMap::new();
    let findings = CODES.iter().map(|code| {
        let severity = format!("{:?}", code.severity).to_lowercase();
        (
            code.code,
            format!("| {} | {severity} | {} |", code.code, code.meaning),
        )
    });
    let drawings = OF_DRAWINGS.iter().map(|code| (code.code, code.meaning));
    let exchange = OF_EXCHANGE.iter().map(|code| (code.code, code.meaning));
    // Both know errors alone.
    let drawings = drawings
        .chain(exchange)
        .map(|(code, meaning)| (code, format!("| {code} | error | {meaning} |")));
    let rules = RULES
        .iter()
        .map(|(code, name, when)| (*code, format!("| {code} | `{name}` | {when} |")));
    let mut faults = Vec::new();
    for (code, row) in findings.chain(drawings).chain(rules) {
        if known.insert(code, row).is_some() {
            faults.push(Fault::new(
                PAGE,
                format!("the program has the code {code} twice"),
            ));
        }
    }
    faults.extend(compare(tree.text(PAGE), &known));
    faults
}

fn compare(page: &str, known: &BTreeMap<&str, String>) -> Vec<Fault> {
    let mut faults = Vec::new();
    let mut listed: BTreeMap<&str, &str> = BTreeMap::new();
    for (index, line) in page.lines().enumerate() {
        let Some(code) = row_code(line) else { continue };
        let place = format!("{PAGE}:{}", index + 1);
        match known.get(code) {
            None => faults.push(Fault::new(place, format!("no code {code} in the program"))),
            Some(row) if row != line => {
                faults.push(Fault::new(place, format!("the row should read: {row}")));
            }
            Some(_) => {}
        }
        if listed.insert(code, line).is_some() {
            let text = format!("{code} is listed twice");
            faults.push(Fault::new(format!("{PAGE}:{}", index + 1), text));
        }
    }
    for (code, row) in known {
        if !listed.contains_key(code) {
            faults.push(Fault::new(PAGE, format!("lacks the row: {row}")));
        }
    }
    faults
}

/// The code of a table row such as `| D101 | …`.
fn row_code(line: &str) -> Option<&str> {
    let cell = line.strip_prefix("| ")?.split(" |").next()?;
    let digits = cell.strip_prefix(['D', 'G', 'E', 'A'])?;
    (digits.len() == 3 && digits.bytes().all(|byte| byte.is_ascii_digit())).then_some(cell)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known() -> BTreeMap<&'static str, String> {
        BTreeMap::from([
            ("A100", "| A100 | `name` | when |".to_owned()),
            ("D101", "| D101 | error | What. |".to_owned()),
        ])
    }

    #[test]
    fn a_full_page_passes() {
        let page =
            "| code | rule |\n| --- | --- |\n| D101 | error | What. |\n| A100 | `name` | when |\n";
        assert_eq!(compare(page, &known()), []);
    }

    #[test]
    fn missing_unknown_double_and_changed_rows_are_found() {
        let missing = "| D101 | error | What. |\n";
        assert_eq!(compare(missing, &known()).len(), 1);
        let whole = "| D101 | error | What. |\n| A100 | `name` | when |\n";
        let unknown = format!("{whole}| D999 | error | What. |\n");
        assert_eq!(compare(&unknown, &known()).len(), 1);
        let double = format!("{whole}| A100 | `name` | when |\n");
        assert_eq!(compare(&double, &known()).len(), 1);
        let changed = "| D101 | note | What. |\n| A100 | `name` | when |\n";
        assert_eq!(compare(changed, &known()).len(), 1);
    }

    #[test]
    fn an_empty_page_lacks_every_code() {
        let all = CODES.len() + OF_DRAWINGS.len() + OF_EXCHANGE.len() + RULES.len();
        assert_eq!(check(&Tree::default()).len(), all);
    }
}
