//! Sizes, counts, heads, order, and the same bytes.

use crate::reader::{Objects, Page, pages, text};
use crate::{brake, demo, first_day, issue};
use model::{Plan, Shop};
use paper::{
    Issue, Paper, PaperError, changeover_sheet, changeover_sheets, plan_mark, run_list, run_lists,
    whole_plan,
};
use units::{OrderId, PartId, Seconds};

/// Nothing is drawn nearer to the edge, in points: 12 mm.
const EDGE: f64 = 33.9;

fn assert_inside(pages: &[Page]) {
    for page in pages {
        for text in page.texts() {
            assert!(text.size >= 8.5, "too small to read: {text:?}");
            let (left, right) = (text.x, text.x + text.width);
            assert!(left >= EDGE, "{text:?}");
            assert!(right <= page.size.0 - EDGE + 0.2, "{text:?}");
            assert!(
                text.y >= EDGE && text.y + text.size <= page.size.1 - EDGE + 6.0,
                "{text:?}"
            );
        }
    }
}

/// The same plan with so many runs on the first day of B1, one after the other.
fn crowded(shop: &Shop, plan: &Plan, count: usize) -> Plan {
    let mut plan = plan.clone();
    let list = &mut plan.brakes[0];
    list.takedowns.clear();
    let model = list.runs[0].clone();
    list.runs = (0..count)
        .map(|at| {
            let mut run = model.clone();
            let later = Seconds(i64::try_from(at).unwrap() * 600);
            run.name = format!("B1-{:02}", at + 1);
            run.order = OrderId::new(&format!("W-{:04}", 5_000 + at)).unwrap();
            for segment in run.segments.iter_mut().chain(&mut run.changeover.segments) {
                segment.start = segment.start + later;
                segment.end = segment.end + later;
            }
            run.start = run.start + later;
            run.end = run.end + later;
            run.changeover.start = run.changeover.start + later;
            run
        })
        .collect();
    assert!(shop.part(&list.runs[0].part).is_some());
    plan
}

#[test]
fn sheets_have_the_size_asked_for() {
    let (shop, plan) = demo();
    for (size, width, height) in [(Paper::A4, 595.276, 841.89), (Paper::Letter, 612.0, 792.0)] {
        let bytes = run_list(shop, plan, &brake("B1"), Some(first_day()), &issue(size)).unwrap();
        for page in pages(&bytes) {
            assert!((page.size.0 - width).abs() < 0.01, "{:?}", page.size);
            assert!((page.size.1 - height).abs() < 0.01, "{:?}", page.size);
        }
    }
}

#[test]
fn forty_runs_a_day_take_few_pages_each_with_its_head_and_number() {
    let (shop, plan) = demo();
    let plan = crowded(shop, plan, 40);
    for size in [Paper::A4, Paper::Letter] {
        let bytes = run_list(shop, &plan, &brake("B1"), Some(first_day()), &issue(size)).unwrap();
        let pages = pages(&bytes);
        assert!((3..=5).contains(&pages.len()), "{} pages", pages.len());
        assert_inside(&pages);
        for (at, page) in pages.iter().enumerate() {
            let text = page.text();
            assert!(
                text.contains(&format!("page {} of {}", at + 1, pages.len())),
                "{text}"
            );
            for head in [
                "B1",
                "Tue 23 Mar 2027",
                "plan 12, mark ",
                "times of Europe/Berlin",
            ] {
                assert!(text.contains(head), "{head}: {text}");
            }
            if text.contains("W-50") {
                assert!(text.contains("change, tools"), "{text}");
            }
        }
        let whole = text(&bytes);
        for at in 0..40 {
            let order = format!("W-{:04}", 5_000 + at);
            assert_eq!(
                whole.lines().filter(|line| **line == order).count(),
                1,
                "{order}"
            );
        }
        let first = whole.find("B1-01\n").unwrap();
        assert!(whole.find("B1-40\n").unwrap() > first);
    }
}

#[test]
fn a_sheet_says_what_the_text_sheet_says() {
    let (shop, plan) = demo();
    let list = &plan.brakes[1];
    let run = list
        .runs
        .iter()
        .find(|run| !run.changeover.steps.is_empty())
        .unwrap();
    let bytes = changeover_sheet(shop, plan, &list.brake, &run.name, &issue(Paper::A4)).unwrap();
    // Where lines are broken differs; the words do not.
    let squeeze = |text: &str| text.split_whitespace().collect::<String>();
    let printed = squeeze(&text(&bytes));
    let brake = shop.brake(&list.brake).unwrap();
    let head = documents::words::head(shop, brake, run);
    let mut said = vec![head.change, head.part, head.bend];
    for station in documents::words::stations(shop, run) {
        said.extend([station.station, station.punch, station.die]);
    }
    said.extend(run.changeover.steps.iter().map(|step| step.text.clone()));
    said.push(documents::words::CAUTION.to_owned());
    said.push(documents::words::INVENTED.to_owned());
    for words in said {
        assert!(printed.contains(&squeeze(&words)), "{words}\n{printed}");
    }
    for bend in documents::words::run_bends(shop, run) {
        let force = format!("{:.0}", bend.work.force.get());
        assert!(printed.contains(&force), "{force}");
    }
}

#[test]
fn the_same_input_gives_the_same_bytes_and_another_size_others() {
    let (shop, plan) = demo();
    let mut plan = plan.clone();
    plan.brakes
        .iter_mut()
        .for_each(|list| list.runs.truncate(5));
    let plan = &plan;
    let once = |size| whole_plan(shop, plan, 1, &issue(size)).unwrap();
    let a4 = once(Paper::A4);
    assert!(a4 == once(Paper::A4), "two runs differ");
    assert!(a4 != once(Paper::Letter));
    let other = Issue {
        number: Some(13),
        ..issue(Paper::A4)
    };
    assert!(a4 != whole_plan(shop, plan, 1, &other).unwrap());
}

#[test]
fn one_file_holds_every_list_and_every_sheet_and_all_of_it_is_on_the_paper() {
    let (shop, plan) = demo();
    let mut plan = plan.clone();
    plan.brakes
        .iter_mut()
        .for_each(|list| list.runs.truncate(5));
    let plan = &plan;
    let issue = issue(Paper::Letter);
    let lists = pages(&run_lists(shop, plan, 1, &issue).unwrap());
    let sheets = pages(&changeover_sheets(shop, plan, &issue).unwrap());
    let whole = pages(&whole_plan(shop, plan, 1, &issue).unwrap());
    assert_eq!(whole.len(), lists.len() + sheets.len());
    assert_inside(&whole);
    let firsts = |pages: &[Page]| {
        let pages = pages.iter().map(Page::text);
        pages.filter(|text| text.contains("\npage 1 of ")).count()
    };
    assert_eq!(firsts(&lists), shop.brakes.len());
    let changed = plan.brakes.iter().flat_map(|list| &list.runs);
    let changed = changed
        .filter(|run| !run.changeover.steps.is_empty())
        .count();
    assert!(firsts(&sheets) >= changed);
}

#[test]
fn names_of_any_length_stay_on_the_paper() {
    let (shop, plan) = demo();
    let (mut shop, mut plan) = (shop.clone(), plan.clone());
    let long_id = |letter: &str| letter.repeat(64);
    let words = "a name that somebody made far too long for any list ".repeat(12);
    shop.name = words.clone();
    shop.brakes[0].name = "Unbreakable".repeat(40);
    let id = PartId::new(&long_id("W")).unwrap();
    let list = &mut plan.brakes[0];
    let run = &mut list.runs[0];
    let part = shop
        .parts
        .iter_mut()
        .find(|part| part.id == run.part)
        .unwrap();
    part.id = id.clone();
    part.name = words.clone();
    run.part = id;
    run.order = OrderId::new(&long_id("M")).unwrap();
    run.name = "N".repeat(80);
    run.batch = "batch".repeat(30);
    run.program = Some("P".repeat(300));
    for step in &mut run.changeover.steps {
        step.text = "Wandtaschenunterteilblechhalter ".repeat(60);
    }
    for station in run.changeover.insert.iter_mut().chain(&mut run.bed) {
        station.punch = units::ProfileId::new(&long_id("Q")).unwrap();
        for piece in station
            .punch_sections
            .iter_mut()
            .chain(&mut station.die_sections)
        {
            piece.drawer = "drawer".repeat(50);
        }
    }
    let name = run.name.clone();
    for size in [Paper::A4, Paper::Letter] {
        let issue = issue(size);
        let list = run_list(&shop, &plan, &brake("B1"), None, &issue).unwrap();
        assert_inside(&pages(&list));
        let sheet = changeover_sheet(&shop, &plan, &brake("B1"), &name, &issue).unwrap();
        assert_inside(&pages(&sheet));
    }
}

#[test]
fn a_step_longer_than_a_page_is_printed_to_its_end() {
    let (shop, plan) = demo();
    let mut plan = plan.clone();
    let run = &mut plan.brakes[0].runs[0];
    let words: Vec<String> = (0..3_000).map(|at| format!("w{at}")).collect();
    run.changeover.steps[0].text = words.join(" ");
    let name = run.name.clone();
    let bytes = changeover_sheet(shop, &plan, &brake("B1"), &name, &issue(Paper::A4)).unwrap();
    let printed = text(&bytes);
    let found: Vec<&str> = printed.split_whitespace().collect();
    for word in &words {
        assert!(found.contains(&word.as_str()), "{word}");
    }
    assert_inside(&pages(&bytes));
}

#[test]
fn what_is_not_there_is_said() {
    let (shop, plan) = demo();
    let issue = issue(Paper::A4);
    let nowhere = brake("B99");
    assert_eq!(
        run_list(shop, plan, &nowhere, None, &issue),
        Err(PaperError::NoBrake(nowhere.clone()))
    );
    assert_eq!(
        changeover_sheet(shop, plan, &brake("B1"), "B1-9999", &issue),
        Err(PaperError::NoRun(brake("B1"), "B1-9999".to_owned()))
    );
    let mut empty = plan.clone();
    for list in &mut empty.brakes {
        list.runs.clear();
        list.takedowns.clear();
    }
    assert_eq!(
        changeover_sheets(shop, &empty, &issue),
        Err(PaperError::Nothing)
    );
    let list = run_list(shop, &empty, &brake("B1"), None, &issue).unwrap();
    assert!(text(&list).contains("Tue 23 Mar 2027: nothing planned"));
}

#[test]
fn a_mark_tells_plans_apart() {
    let (shop, plan) = demo();
    let mark = plan_mark(plan, shop);
    assert_eq!(mark.len(), 9);
    let mut other = plan.clone();
    other.brakes[0].runs[0].quantity += 1;
    assert_ne!(plan_mark(&other, shop), mark);
    let sheet = run_list(shop, plan, &brake("B1"), None, &issue(Paper::A4)).unwrap();
    assert!(text(&sheet).contains(&format!("plan 12, mark {mark}")));
}

#[test]
fn title_language_and_tags_are_set() {
    let (shop, plan) = demo();
    let bytes = run_list(shop, plan, &brake("B1"), None, &issue(Paper::A4)).unwrap();
    let objects = Objects::of(&bytes);
    let has = |what: &str| objects.dicts().any(|dict| dict.contains(what));
    assert!(has("/Title (Demo shop: B1 run list)"));
    assert!(has("/Lang (en)"));
    assert!(has("/Marked true"));
    assert!(has("/S /Table") && has("/S /TH") && has("/S /H1") && has("/Alt (code of order"));
}

#[test]
fn sections_are_drawn_after_the_bends_whose_lines_are_known() {
    let (shop, plan) = demo();
    let (mut drawn, mut unknown) = (0, 0);
    for list in &plan.brakes {
        let brake = shop.brake(&list.brake).unwrap();
        for run in list.runs.iter().take(8) {
            let part = shop.part(&run.part).unwrap();
            let sections = study::run_sections(shop, brake, run);
            for section in &sections {
                let work = &run.bends[section.at];
                let bend = part
                    .bends
                    .iter()
                    .find(|bend| bend.number == work.bend)
                    .unwrap();
                assert!(bend.line.is_some() && bend.kind == model::BendKind::Air);
                let apart = section.finished.included.get() - bend.angle.get();
                assert!(apart.abs() < 1e-6, "{} of {}", bend.number, part.id);
            }
            let issue = issue(Paper::A4);
            let bytes = changeover_sheet(shop, plan, &list.brake, &run.name, &issue).unwrap();
            let pages = pages(&bytes);
            let captions = pages.iter().flat_map(|page| page.figures());
            let captions = captions.filter(|mark| {
                mark.texts
                    .iter()
                    .any(|text| text.text.contains(", station "))
            });
            assert_eq!(captions.count(), sections.len(), "{}", run.name);
            let said = text(&bytes).contains("No cross section is known");
            assert_eq!(said, sections.is_empty(), "{}", run.name);
            drawn += sections.len();
            unknown += usize::from(sections.is_empty());
        }
    }
    assert!(
        drawn > 0 && unknown > 0,
        "{drawn} drawn, {unknown} runs without"
    );
}
