//! Rows written of a part are read back as the same part.

use documents::{FileSet, KNOWN_FILES, part_rows, read_shop};
use model::{Part, Shop};

/// The demo shop's files.
fn demo() -> FileSet {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo-shop");
    let mut files = FileSet::new();
    for (name, _) in KNOWN_FILES {
        if let Ok(bytes) = std::fs::read(format!("{folder}/{name}")) {
            files.insert(name, bytes);
        }
    }
    files
}

/// The demo shop with this part alone, and without what names other parts.
fn with_alone(part: &Part) -> Shop {
    let demo = demo();
    let mut files = FileSet::new();
    let kept = ["shop.toml", "brakes.toml", "materials.toml", "tooling.toml"];
    for name in kept.iter().chain(&["sections.csv", "crew.csv"]) {
        files.insert(name, demo.get(name).unwrap().to_vec());
    }
    let (parts, bends) = part_rows(part);
    files.insert("parts.csv", parts.into_bytes());
    files.insert("bends.csv", bends.into_bytes());
    let orders = format!("order,part,quantity,due\nW-1,{},1,2027-04-01\n", part.id);
    files.insert("work-orders.csv", orders.into_bytes());
    let (shop, findings) = read_shop(&files);
    shop.unwrap_or_else(|| panic!("{}: {findings:?}", part.id))
}

#[test]
fn every_part_of_the_demo_shop_comes_back_as_it_was() {
    let shop = read_shop(&demo()).0.unwrap();
    assert!(shop.parts.len() > 20);
    for part in &shop.parts {
        let again = with_alone(part);
        assert_eq!(again.parts, std::slice::from_ref(part));
    }
}

#[test]
fn a_name_with_commas_and_quotes_comes_back() {
    let shop = read_shop(&demo()).0.unwrap();
    let mut part = shop.parts[0].clone();
    part.name = "#1, \"the 3/8\" one\"".to_owned();
    assert_eq!(with_alone(&part).parts[0].name, part.name);
}
