//! Sections of a block of dies stand as any of its faces.

use crate::lone::{Standing, expect, lone_plan, lone_shop};
use crate::plan::{bend_use, plan, steps};
use crate::shop::{bend, mm, part, profile_id, shop};
use model::*;
use units::*;

/// D16 and D24 become two faces of the block BL; D16-3 and D24-1 are sections of it.
pub(crate) fn as_block(shop: &mut Shop) {
    for profile in &mut shop.profiles {
        if let Profile::Die(die) = profile {
            die.block = Some(profile_id("BL"));
        }
    }
    for section in &mut shop.sections {
        if ["D16-3", "D24-1"].contains(&section.id.as_str()) {
            section.profile = profile_id("BL");
        }
    }
}

#[test]
fn a_section_of_a_block_is_of_each_of_its_faces() {
    // The hand-made plan puts D16-3 on as D16 and D24-1 as D24: both are good as block sections.
    let mut shop = shop();
    as_block(&mut shop);
    expect("both faces", &shop, &plan(), &[]);
    // A face of another block, or of none, is not theirs.
    for other in [Some(profile_id("BX")), None] {
        let mut shop = shop.clone();
        if let Profile::Die(die) = &mut shop.profiles[1] {
            die.block = other;
        }
        expect("not its face", &shop, &plan(), &["station-sections"]);
    }
    // A punch is not a face, whatever a section's profile is called.
    for section in &mut shop.sections {
        if section.id.as_str() == "PA-5" {
            section.profile = profile_id("BL");
        }
    }
    expect("a punch of a block", &shop, &plan(), &["station-sections"]);
}

#[test]
fn one_section_stands_on_two_faces_one_after_the_other() {
    // D16-3 stands with its V 16 up; turned to V 24 for sheet of 3 mm it is another station: taken
    // off, 60 + 2·30 s, and put on, 120 + 2·60 s, with 300 s to prepare.
    let standing = Standing {
        punch: "PA",
        die: "D16",
        left: 1_500,
        punch_section: "PA-5",
        die_section: "D16-3",
    };
    let mut shop = lone_shop(
        part("P2", 3, (1_000, 80), vec![bend(1, 1_000, 40)]),
        &[standing],
    );
    as_block(&mut shop);
    let mut plan = lone_plan(&shop, vec![bend_use(1, 0, 225.0, 37.169_911, 3.6)], 24_264);
    let run = &mut plan.brakes[1].runs[0];
    let change = &mut run.changeover;
    change.remove = std::mem::take(&mut change.keep);
    let mut turned = change.remove[0].clone();
    (turned.die, turned.v) = (profile_id("D24"), mm(24));
    change.insert = vec![turned];
    run.bed.clone_from(&change.insert);
    change.steps = steps(&[
        (StepKind::Prepare, 300),
        (StepKind::TakeOff, 120),
        (StepKind::PutOn, 240),
        (StepKind::Guard, 60),
        (StepKind::Programming, 600),
        (StepKind::FirstPiece, 49),
        (StepKind::Approval, 60),
    ]);
    let longer = Seconds(300 + 120 + 240);
    change.work += longer;
    change.end = change.end + longer;
    change.segments[0].end = change.end;
    (run.start, run.end) = (run.start + longer, run.end + longer);
    run.segments[0].start = run.start;
    run.segments[0].end = run.end;
    plan.totals.changeovers = 1;
    plan.totals.changeover += longer;
    plan.totals.objective += 60 * longer.0;
    expect("turned over", &shop, &plan, &[]);
}
