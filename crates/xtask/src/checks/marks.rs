//! Nothing is left for later in the sources: what is there works, what is not is not hinted at.

use crate::rust_text::RustText;
use crate::tree::{Fault, Tree};

/// Macros that stand for code that is missing.
const MISSING: &[&str] = &["todo!", "unimplemented!"];

/// Words for unfinished work, put together here so that this file does not hold them.
fn words() -> [String; 3] {
    [["TO", "DO"], ["FIX", "ME"], ["XX", "X"]].map(|halves| halves.concat())
}

pub(crate) fn check(tree: &Tree) -> Vec<Fault> {
    let mut faults = Vec::new();
    for ending in [".rs", ".toml", ".sql", ".md"] {
        for (path, text) in tree.ending(ending) {
            for (index, line) in text.lines().enumerate() {
                if let Some(word) = words().into_iter().find(|word| has_word(line, word)) {
                    let place = format!("{path}:{}", index + 1);
                    faults.push(Fault::new(
                        place,
                        format!("{word}: finish it or leave it out"),
                    ));
                }
            }
        }
    }
    for (path, text) in tree.ending(".rs") {
        let source = RustText::of(text);
        for word in MISSING {
            for line in source.lines_with(word) {
                faults.push(Fault::new(
                    format!("{path}:{line}"),
                    format!("{word} is no code"),
                ));
            }
        }
    }
    faults
}

fn has_word(line: &str, word: &str) -> bool {
    line.split(|c: char| !c.is_alphanumeric())
        .any(|own| own == word)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn unfinished_work_is_found() {
        for word in words() {
            let tree = Tree::of(&[("docs/a.md", &format!("one\n{word}: two\n"))]);
            assert_eq!(check(&tree)[0].place, "docs/a.md:2");
        }
        for word in MISSING {
            let tree = Tree::of(&[("crates/a/src/lib.rs", &format!("fn f() {{ {word}() }}"))]);
            assert_eq!(check(&tree).len(), 1);
        }
        let sound = Tree::of(&[("crates/a/src/lib.rs", "// todo!\nfn f() {}")]);
        assert_eq!(check(&sound), []);
    }
}
