//! Text from a shop's files is shown and steers nothing.

use crate::reader::{Objects, pages, text};
use crate::{brake, demo, issue};
use model::{Plan, Shop};
use paper::{Paper, whole_plan};

/// What somebody may write into a name, a drawer or a reason.
const HOSTILE: [&str; 8] = [
    ") Tj ET /JS (app.alert(1)) BT (",
    "<script>alert(1)</script>",
    "\\) >> endobj 9 0 obj << /OpenAction << /S /JavaScript",
    "nul\0 bell\u{7} escape\u{1b}[2J",
    "turned\u{202e}round \u{2066}hidden\u{2069}",
    "endstream endobj trailer << /Root 1 0 R >>",
    "=cmd|'/C calc'!A0 https://example.invalid/",
    "%PDF-1.4 \r\n%%EOF \u{feff}中文 \u{5d0}\u{5d1}",
];

/// Every text of a shop and a plan that a person may write freely.
fn spoilt(shop: &Shop, plan: &Plan, text: &str) -> (Shop, Plan) {
    let (mut shop, mut plan) = (shop.clone(), plan.clone());
    shop.name = text.to_owned();
    for brake in &mut shop.brakes {
        brake.name = text.to_owned();
    }
    for part in &mut shop.parts {
        part.name = text.to_owned();
    }
    for down in &mut shop.floor.down {
        down.reason = text.to_owned();
    }
    for list in &mut plan.brakes {
        list.runs.truncate(3);
        for run in &mut list.runs {
            run.batch = text.to_owned();
            run.program = Some(text.to_owned());
            run.reasons = vec![text.to_owned()];
            let change = &mut run.changeover;
            let steps = change.steps.iter_mut();
            steps.for_each(|step| step.text = text.to_owned());
            let stations = change.remove.iter_mut().chain(&mut change.keep);
            for station in stations.chain(&mut change.insert).chain(&mut run.bed) {
                let pieces = station.punch_sections.iter_mut();
                for piece in pieces.chain(&mut station.die_sections) {
                    piece.drawer = text.to_owned();
                }
            }
        }
        for takedown in &mut list.takedowns {
            let steps = takedown.steps.iter_mut();
            steps.for_each(|step| step.text = text.to_owned());
        }
    }
    (shop, plan)
}

/// As it should stand on paper: what steers is replaced, and so is what the font has not.
fn shown(text: &str) -> String {
    let tame = |letter: char| match letter {
        '\r' | '\n' => ' ',
        '\0'..='\u{1f}' | '\u{202e}' | '\u{2066}' | '\u{2069}' | '\u{feff}' => '\u{fffd}',
        '中' | '文' | '\u{5d0}' | '\u{5d1}' => '\u{fffd}',
        plain => plain,
    };
    text.chars()
        .map(tame)
        .filter(|c| !c.is_whitespace())
        .collect()
}

#[test]
fn hostile_text_is_printed_as_it_stands_and_does_nothing() {
    let (shop, plan) = demo();
    for hostile in HOSTILE {
        let (shop, plan) = spoilt(shop, plan, hostile);
        let bytes = whole_plan(&shop, &plan, 1, &issue(Paper::A4)).unwrap();
        // Reading it back proves that every stream is whole and holds our operators alone.
        let printed: String = text(&bytes)
            .chars()
            .filter(|c| !c.is_whitespace())
            .collect();
        let wanted = shown(hostile);
        let count = printed.matches(&wanted).count();
        assert!(count > 20, "{wanted}: {count} times");
        assert!(!pages(&bytes).is_empty());
    }
}

#[test]
fn no_object_acts() {
    let (shop, plan) = demo();
    for hostile in HOSTILE {
        let (shop, plan) = spoilt(shop, plan, hostile);
        let bytes = whole_plan(&shop, &plan, 1, &issue(Paper::A4)).unwrap();
        let objects = Objects::of(&bytes);
        let catalogs = objects
            .dicts()
            .filter(|dict| dict.contains("/Type /Catalog"));
        assert_eq!(catalogs.count(), 1);
        for dict in objects.dicts() {
            let outside = without_strings(dict);
            for word in [
                "/JS",
                "/JavaScript",
                "/OpenAction",
                "/AA",
                "/URI",
                "/Launch",
                "/Annots",
            ] {
                assert!(!outside.contains(word), "{word} in {dict}");
            }
        }
    }
}

/// An object with its strings taken out: what stands in them is text.
fn without_strings(dict: &str) -> String {
    let (mut out, mut depth, mut escaped) = (String::new(), 0, false);
    for letter in dict.chars() {
        match letter {
            _ if escaped => escaped = false,
            '\\' if depth > 0 => escaped = true,
            '(' => depth += 1,
            ')' => depth -= 1,
            plain if depth == 0 => out.push(plain),
            _ => {}
        }
    }
    assert_eq!(depth, 0, "{dict}");
    out
}

#[test]
fn a_hostile_title_stays_a_title() {
    let (shop, plan) = demo();
    let (shop, plan) = spoilt(shop, plan, HOSTILE[0]);
    let bytes = paper::run_list(&shop, &plan, &brake("B1"), None, &issue(Paper::A4)).unwrap();
    let objects = Objects::of(&bytes);
    let info = objects
        .dicts()
        .find(|dict| dict.contains("/Title"))
        .unwrap();
    assert!(info.contains("/JS"), "{info}");
    assert!(!without_strings(info).contains("/JS"), "{info}");
}
