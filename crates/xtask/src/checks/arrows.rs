//! Which crate may see which: arrows point down, and the audit sees almost nothing.

use crate::tree::{Fault, Tree};

/// Every crate and the workspace crates its code may use, bottom to top. A crate names only crates
/// above itself in this table, so there are no circles.
const ARROWS: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("model", &["units"]),
    ("bending", &["units"]),
    ("shape", &["units"]),
    ("tooling", &["units", "model", "bending", "shape"]),
    ("study", &["units", "model", "bending", "shape", "tooling"]),
    ("similarity", &["units", "model", "tooling"]),
    ("search", &[]),
    (
        "schedule",
        &[
            "units",
            "model",
            "bending",
            "shape",
            "tooling",
            "similarity",
            "search",
        ],
    ),
    (
        "quoting",
        &["units", "model", "tooling", "study", "search", "schedule"],
    ),
    ("exact", &["search"]),
    ("audit", &["units", "model"]),
    ("documents", &["units", "model"]),
    ("prospects", &["units", "model", "documents"]),
    ("drawing", &["units", "model", "bending"]),
    ("exchange", &["units", "model", "documents"]),
    ("daybook", &["units", "model", "documents"]),
    ("paper", &["units", "model", "shape", "study", "documents"]),
    ("store", &["units", "model"]),
    (
        "workshop",
        &[
            "units",
            "model",
            "bending",
            "shape",
            "tooling",
            "study",
            "similarity",
            "search",
            "schedule",
            "quoting",
            "exact",
            "audit",
            "documents",
            "prospects",
            "daybook",
            "store",
        ],
    ),
    (
        "web",
        &[
            "workshop",
            "daybook",
            "documents",
            "exchange",
            "paper",
            "model",
            "units",
        ],
    ),
    (
        "daemon",
        &[
            "workshop",
            "store",
            "web",
            "documents",
            "exchange",
            "model",
            "units",
        ],
    ),
    (
        "cli",
        &[
            "units",
            "model",
            "bending",
            "shape",
            "tooling",
            "study",
            "similarity",
            "search",
            "schedule",
            "quoting",
            "exact",
            "audit",
            "documents",
            "prospects",
            "drawing",
            "exchange",
            "paper",
            "store",
            "workshop",
            "web",
            "daemon",
        ],
    ),
    ("testkit", &["units", "model", "search"]),
    ("scratch", &[]),
    ("xtask", &["audit", "documents", "drawing", "exchange"]),
    (
        "trials",
        &[
            "units",
            "model",
            "tooling",
            "similarity",
            "search",
            "schedule",
            "quoting",
            "exact",
            "audit",
            "documents",
            "testkit",
        ],
    ),
];

/// Crates that no crate's code may use but their own kind's.
const DEVELOPMENT_ONLY: &[&str] = &["testkit", "scratch", "xtask", "trials"];

/// What the audit's tests must not use either: a judge checked with the engine's own answers would
/// learn the engine's mistakes.
const NOT_IN_AUDIT_TESTS: &[&str] = &["schedule", "search", "tooling", "bending", "similarity"];

pub(crate) fn check(tree: &Tree) -> Vec<Fault> {
    let mut faults = Vec::new();
    for name in tree.crates() {
        let place = format!("crates/{name}/Cargo.toml");
        let manifest = match tree.text(&place).parse::<toml::Table>() {
            Ok(manifest) => manifest,
            Err(error) => {
                faults.push(Fault::new(place, format!("not well-formed: {error}")));
                continue;
            }
        };
        let Some((_, allowed)) = ARROWS.iter().find(|(known, _)| *known == name) else {
            let text =
                "the crate has no row in crates/xtask/src/checks/arrows.rs: say what it may use";
            faults.push(Fault::new(place, text));
            continue;
        };
        for used in dependencies(&manifest, &["dependencies", "build-dependencies"]) {
            let ours = is_ours(tree, &used);
            let for_tests = is_development_only(&used) && !is_development_only(name);
            if ours && (!allowed.contains(&used.as_str()) || for_tests) {
                faults.push(Fault::new(
                    &place,
                    format!("{name} must not depend on {used}"),
                ));
            }
        }
        for used in dependencies(&manifest, &["dev-dependencies"]) {
            if name == "audit" && NOT_IN_AUDIT_TESTS.contains(&used.as_str()) {
                let text = format!("the audit's tests must not depend on {used}");
                faults.push(Fault::new(&place, text));
            }
        }
    }
    faults
}

fn is_ours(tree: &Tree, name: &str) -> bool {
    tree.crates().contains(&name)
}

fn is_development_only(name: &str) -> bool {
    DEVELOPMENT_ONLY.contains(&name)
}

/// Packages named in the given tables, also in those of single targets.
fn dependencies(manifest: &toml::Table, tables: &[&str]) -> Vec<String> {
    let targets = manifest.get("target").and_then(toml::Value::as_table);
    let per_target = targets.into_iter().flat_map(toml::Table::values);
    std::iter::once(manifest)
        .chain(per_target.filter_map(toml::Value::as_table))
        .flat_map(|holder| tables.iter().filter_map(|name| holder.get(*name)))
        .filter_map(toml::Value::as_table)
        .flatten()
        .map(|(key, value)| {
            // A dependency may be renamed; its package is what counts.
            let package = value.get("package").and_then(toml::Value::as_str);
            package.unwrap_or(key).to_owned()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn faults_of(name: &str, manifest: &str) -> usize {
        let mut tree = Tree::of(&[
            ("crates/search/Cargo.toml", ""),
            ("crates/store/Cargo.toml", ""),
            ("crates/xtask/Cargo.toml", ""),
        ]);
        tree.insert(format!("crates/{name}/Cargo.toml"), manifest);
        check(&tree).len()
    }

    #[test]
    fn the_table_has_no_circle() {
        for (row, (name, allowed)) in ARROWS.iter().enumerate() {
            for below in *allowed {
                assert!(
                    ARROWS[..row].iter().any(|(known, _)| known == below),
                    "{name} names {below}, which does not stand above it"
                );
            }
        }
    }

    #[test]
    fn a_forbidden_arrow_is_found_in_every_table() {
        assert_eq!(
            faults_of("audit", "[dependencies]\nsearch.workspace = true"),
            1
        );
        assert_eq!(faults_of("audit", "[build-dependencies]\nsearch = {}"), 1);
        assert_eq!(faults_of("audit", "[dev-dependencies]\nsearch = {}"), 1);
        assert_eq!(
            faults_of("audit", "[dependencies]\nx = { package = \"search\" }"),
            1
        );
        let target = "[target.'cfg(unix)'.dependencies]\nstore = {}";
        assert_eq!(faults_of("web", target), 1);
        assert_eq!(faults_of("daemon", "[dependencies]\nxtask = {}"), 1);
    }

    #[test]
    fn allowed_arrows_and_free_tests_pass() {
        assert_eq!(
            faults_of("daemon", "[dependencies]\nstore = {}\ntokio = {}"),
            0
        );
        assert_eq!(faults_of("units", "[dev-dependencies]\nsearch = {}"), 0);
    }

    #[test]
    fn a_crate_without_a_row_is_found() {
        assert_eq!(faults_of("newcomer", ""), 1);
        assert_eq!(faults_of("units", "not toml"), 1);
    }
}
