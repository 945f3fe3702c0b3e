//! Links between pages lead somewhere.

use crate::tree::{Fault, Tree};

pub(crate) fn check(tree: &Tree) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (path, text) in tree.ending(".md") {
        for (line, target) in links(text) {
            if target.contains("://") || target.starts_with("mailto:") {
                continue;
            }
            let (file, anchor) = target.split_once('#').unwrap_or((target, ""));
            let place = format!("{path}:{line}");
            let Some(file) = resolve(path, file) else {
                faults.push(Fault::new(
                    place,
                    format!("{target} leads out of the repository"),
                ));
                continue;
            };
            if !tree.has(&file) {
                faults.push(Fault::new(place, format!("{target} leads nowhere")));
            } else if !anchor.is_empty() && !anchors(tree.text(&file)).any(|own| own == anchor) {
                faults.push(Fault::new(
                    place,
                    format!("{file} has no heading #{anchor}"),
                ));
            }
        }
    }
    faults
}

/// Targets of `[text](target)` outside code blocks, with their line.
fn links(text: &str) -> Vec<(usize, &str)> {
    let mut found = Vec::new();
    let mut in_block = false;
    for (index, line) in text.lines().enumerate() {
        if line.trim_start().starts_with("```") {
            in_block = !in_block;
        }
        if in_block {
            continue;
        }
        for (at, _) in line.match_indices("](") {
            let target = line[at + 2..].split(')').next().unwrap_or_default();
            found.push((index + 1, target));
        }
    }
    found
}

/// The path a link in `page` leads to; `None` above the root.
fn resolve(page: &str, target: &str) -> Option<String> {
    if target.is_empty() {
        return Some(page.to_owned());
    }
    let mut folders: Vec<&str> = page.split('/').collect();
    folders.pop();
    for step in target.split('/') {
        match step {
            "" | "." => {}
            ".." => {
                folders.pop()?;
            }
            name => folders.push(name),
        }
    }
    Some(folders.join("/"))
}

/// Anchors of a page's headings: small letters, blanks as hyphens, other signs left out.
fn anchors(text: &str) -> impl Iterator<Item = String> {
    text.lines()
        .filter(|line| line.starts_with('#'))
        .map(|line| {
            line.trim_start_matches('#')
                .trim()
                .to_lowercase()
                .chars()
                .filter(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_'))
                .map(|c| if c == ' ' { '-' } else { c })
                .collect()
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn faults_of(link: &str) -> usize {
        let mut tree = Tree::of(&[("docs/b.md", "# Two words: here\n"), ("README.md", "# R\n")]);
        tree.insert(
            "docs/a.md",
            format!("# Own\n\nsee [it]({link})\n\n```\n[x](none)\n```\n"),
        );
        check(&tree).len()
    }

    #[test]
    fn good_links_pass() {
        for link in [
            "b.md",
            "b.md#two-words-here",
            "#own",
            "../README.md",
            "../docs/",
            "https://example.com/none",
        ] {
            assert_eq!(faults_of(link), 0, "{link}");
        }
    }

    #[test]
    fn dead_links_are_found() {
        for link in ["c.md", "b.md#three", "#other", "../../up.md", "README.md"] {
            assert_eq!(faults_of(link), 1, "{link}");
        }
    }
}
