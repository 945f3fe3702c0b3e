//! Boxes with returned sides, bent between horn sections.

use crate::collisions::{gooseneck, turn};
use crate::lone::expect;
use crate::plan::plan;
use crate::shop::{mm, section_id, shop};
use model::*;
use units::*;

/// The hand-made plan with PA-5, now 800 long, between these two sections of 100. A box of 1005 with
/// 1000 between its returned sides may be 10 mm short of its bend; 1.5·400·1005·4/16 = 150.75 kN.
/// Four punch and die sections at half the time each are put on as fast as two.
fn between(left: &str, right: &str) -> (Shop, Plan) {
    let (mut shop, mut plan) = (shop(), plan());
    shop.sections[3].length = mm(800);
    shop.brakes[1].times.section_on = Seconds(30);
    for bend in &mut shop.parts[2].bends {
        (bend.length, bend.inside, bend.side_return) = (mm(1_005), Some(mm(1_000)), mm(5));
    }
    let piece = |id: &str, length: i64| StationPiece {
        section: section_id(id),
        length: mm(length),
        drawer: "drawer of PA".to_owned(),
    };
    let punch = vec![piece(left, 100), piece("PA-5", 800), piece(right, 100)];
    for run in &mut plan.brakes[1].runs {
        let changeover = &mut run.changeover;
        let stations = changeover.insert.iter_mut().chain(&mut changeover.keep);
        for station in stations.chain(&mut run.bed) {
            station.punch_sections.clone_from(&punch);
        }
    }
    for used in &mut plan.brakes[1].runs[0].bends {
        used.force = Kilonewtons::of(150.75);
    }
    let put_on = &plan.brakes[1].runs[0].changeover.steps[1];
    assert_eq!(
        (put_on.kind, put_on.time),
        (StepKind::PutOn, Seconds(120 + 4 * 30))
    );
    (shop, plan)
}

#[test]
fn a_box_is_bent_between_a_left_and_a_right_horn() {
    let (shop, plan) = between("HL", "HR");
    expect("as they come", &shop, &plan, &[]);
    let (shop, plan) = between("HR", "HL");
    expect("changed over", &shop, &plan, &["horns-missing"]);
}

#[test]
fn horns_turned_about_change_hands() {
    let reversed = |left, right| {
        let (mut shop, mut plan) = between(left, right);
        gooseneck(&mut shop);
        turn(&mut plan);
        (shop, plan)
    };
    let (mut shop, mut plan) = reversed("HR", "HL");
    expect("right horn leftmost", &shop, &plan, &[]);
    // Two wrong forms: turned about without changing hands, and changed hands without turning.
    turn(&mut plan);
    expect("not turned", &shop, &plan, &["horns-missing"]);
    turn(&mut plan);
    for run in &mut plan.brakes[1].runs {
        let change = &mut run.changeover;
        let stations = change.insert.iter_mut().chain(&mut change.keep);
        for station in stations.chain(&mut run.bed) {
            station.punch_sections.reverse();
        }
    }
    expect("not changed over", &shop, &plan, &["horns-missing"]);
    let verdict = audit::judge(&shop, &plan);
    let text = &verdict.violations[0].text;
    assert!(
        text.contains("PA reversed over D16 at 1500: turned about, the first section must be"),
        "{text}"
    );
    // A box without returned sides asks for none.
    for bend in &mut shop.parts[2].bends {
        bend.side_return = mm(0);
    }
    expect("no returned sides", &shop, &plan, &[]);
    // A straight punch does not turn, with horns or without.
    let (mut shop, plan) = reversed("HR", "HL");
    if let Profile::Punch(punch) = &mut shop.profiles[0] {
        punch.relief = mm(0);
    }
    expect("straight", &shop, &plan, &["punch-cannot-turn"]);
}

#[test]
fn two_of_one_hand_are_not_enough() {
    for horn in [Horn::Left, Horn::Right] {
        let (mut shop, mut plan) = between("HL", "HR");
        gooseneck(&mut shop);
        let ends = [section_id("HL"), section_id("HR")];
        let sections = shop.sections.iter_mut();
        for section in sections.filter(|section| ends.contains(&section.id)) {
            section.horn = horn;
        }
        expect("as they come", &shop, &plan, &["horns-missing"]);
        turn(&mut plan);
        expect("reversed", &shop, &plan, &["horns-missing"]);
    }
}
