//! SQL lives in `store` and nowhere else.

use crate::rust_text::RustText;
use crate::tree::{Fault, Tree};

/// How SQL statements begin, and a word that must follow somewhere, so that a sentence beginning
/// with the same verb is not taken for one.
const STATEMENTS: &[(&str, &str)] = &[
    ("select", "from"),
    ("insert", "into"),
    ("update", "set"),
    ("delete", "from"),
    ("create", "table"),
    ("create", "index"),
    ("create", "view"),
    ("create", "trigger"),
    ("alter", "table"),
    ("drop", "table"),
    ("with", "select"),
    ("pragma", ""),
];

pub(crate) fn check(tree: &Tree) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (path, text) in tree.under("crates/") {
        if !path.ends_with(".rs") || path.starts_with("crates/store/") {
            continue;
        }
        let source = RustText::of(text);
        for (line, string) in &source.strings {
            if is_sql(string) {
                let text = format!("SQL belongs in crates/store: {:?}", first_words(string));
                faults.push(Fault::new(format!("{path}:{line}"), text));
            }
        }
        for line in source.lines_with("sqlx") {
            let text = "only crates/store talks to the database";
            faults.push(Fault::new(format!("{path}:{line}"), text));
        }
    }
    faults
}

fn is_sql(string: &str) -> bool {
    let words: Vec<&str> = string.split_whitespace().collect();
    let Some((first, rest)) = words.split_first().filter(|(_, rest)| !rest.is_empty()) else {
        return false;
    };
    // Keywords are written all small or all large; "Select" begins a sentence.
    let is_keyword = |word: &str, keyword: &str| word == keyword || word == keyword.to_uppercase();
    STATEMENTS.iter().any(|(verb, follows)| {
        is_keyword(first, verb)
            && (follows.is_empty() || rest.iter().any(|word| is_keyword(word, follows)))
    })
}

fn first_words(string: &str) -> String {
    let words: Vec<&str> = string.split_whitespace().take(4).collect();
    words.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tree_with(path: &str, statement: &str) -> Tree {
        let mut tree = Tree::default();
        tree.insert(path, format!("fn f() {{ run(\"{statement}\"); }}"));
        tree
    }

    #[test]
    fn statements_are_found_outside_the_store_only() {
        for (verb, follows) in STATEMENTS {
            let statement = format!("{} a {} b", verb.to_uppercase(), follows.to_uppercase());
            let outside = tree_with("crates/web/src/api.rs", &statement);
            assert_eq!(check(&outside).len(), 1, "{statement}");
            let inside = tree_with("crates/store/src/plans.rs", &statement);
            assert_eq!(check(&inside), [], "{statement}");
        }
    }

    #[test]
    fn sentences_are_not_statements() {
        for sentence in [
            "Select a part from the list",
            "update the folder",
            "",
            "drop it",
        ] {
            assert_eq!(check(&tree_with("crates/cli/src/main.rs", sentence)), []);
        }
    }
}
