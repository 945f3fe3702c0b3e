//! Parts as bent so far against tools: channels and Zs of 40 − 40 − 40 in 2 mm over V 16.
//!
//! BD = 3.773452, so the lines lie 38.113274 from the edges of a blank of 112.453096. At the bottom of
//! the second bend of a channel the first leg's end is at (0, 48.57) over the V, in the body of a
//! straight punch of 25 mm, whose tip is at (0, −4.18). A neck that leaves 15 mm at half its height
//! of 100 clears it by 13. As the stroke begins the leg of a Z
//! hangs 36.1 to 38.1 mm in front, 38 deep: its web is 40 less the set-back of 1.887 of a bend not yet made.
//! The proven setup of part P3 stands in for its cycle.

use crate::lone::expect;
use crate::plan::{bend_use, plan};
use crate::shop::{bend, mm, shop};
use model::*;
use units::*;

pub(crate) const LINE: f64 = 38.113_274;
pub(crate) const BLANK: f64 = 112.453_096;

/// A bend of 800 by its line, gauged with a leg of 40.
pub(crate) fn at_line(number: u8, line: f64, edge: Edge, direction: Direction) -> Bend {
    Bend {
        line: Some(Length::from_mm(line)),
        edge,
        direction,
        ..bend(number, 800, 40)
    }
}

/// The hand-made plan with these bends in P3.
pub(crate) fn bent(width: f64, bends: Vec<Bend>) -> (Shop, Plan) {
    let (mut shop, mut plan) = (shop(), plan());
    let run = &mut plan.brakes[1].runs[0];
    run.bends = bends
        .iter()
        .map(|bend| bend_use(bend.number, 0, 120.0, LINE, 2.4))
        .collect();
    shop.setups[0].stations[0].bends = bends.iter().map(|bend| bend.number).collect();
    shop.parts[2].blank.1 = Length::from_mm(width);
    shop.parts[2].bends = bends;
    (shop, plan)
}

/// Folded up and up, or up and down; the second bend with this edge at the gauge.
pub(crate) fn folded(second: Direction, edge: Edge) -> (Shop, Plan) {
    let first = at_line(1, LINE, Edge::A, Direction::Up);
    bent(BLANK, vec![first, at_line(2, BLANK - LINE, edge, second)])
}

pub(crate) fn gooseneck(shop: &mut Shop) {
    if let Profile::Punch(punch) = &mut shop.profiles[0] {
        (punch.relief, punch.relief_height) = (mm(15), mm(100));
    }
}

/// Turns the punch of the station that B2 works at about.
pub(crate) fn turn(plan: &mut Plan) {
    for run in &mut plan.brakes[1].runs {
        let change = &mut run.changeover;
        let stations = change.insert.iter_mut().chain(&mut change.keep);
        for station in stations.chain(&mut run.bed) {
            station.reversed = !station.reversed;
        }
    }
}

fn die_width(shop: &mut Shop, width: Length) {
    if let Profile::Die(die) = &mut shop.profiles[1] {
        die.width = width;
    }
}

fn violation(shop: &Shop, plan: &Plan) -> String {
    let verdict = audit::judge(shop, plan);
    let found = verdict.violations.iter().find(|v| v.rule == "collision");
    found.unwrap().text.clone()
}

#[test]
fn a_channel_needs_a_neck_to_close_around() {
    let (mut shop, plan) = folded(Direction::Up, Edge::B);
    expect("straight punch", &shop, &plan, &["collision"]);
    let text = violation(&shop, &plan);
    assert!(
        text.starts_with("bend 2 at PA over D16 at 1500: "),
        "{text}"
    );
    assert!(text.contains("into the punch"), "{text}");
    gooseneck(&mut shop);
    expect("gooseneck", &shop, &plan, &[]);
    // The neck helps no more where its room ends below the leg: it closes 40 above the tip.
    if let Profile::Punch(punch) = &mut shop.profiles[0] {
        punch.relief_height = mm(40);
    }
    expect("too low a neck", &shop, &plan, &["collision"]);
}

#[test]
fn a_slim_punch_is_met_only_as_far_as_it_reaches() {
    // The leg's inside corner ends at x = 1.414, its outside one at 0: a body of 2 mm, half of which
    // is 1, is entered by less than a millimetre and more than 0.5.
    let (mut shop, plan) = folded(Direction::Up, Edge::B);
    if let Profile::Punch(punch) = &mut shop.profiles[0] {
        punch.body = mm(2);
    }
    expect("0.1 allowed", &shop, &plan, &["collision"]);
    shop.rules.touch_allowance = Length::from_mm(0.6);
    expect("0.6 allowed", &shop, &plan, &[]);
}

#[test]
fn what_is_near_the_v_is_the_bend_itself() {
    // A punch of 110° overlaps the legs by 1.95 mm at (12.5, 4.57), which is 13.3 from the middle of
    // the shoulders and nearer than 16/√2 + 4 = 15.3. That it is too blunt is the tool angle's to say.
    let (mut shop, plan) = folded(Direction::Down, Edge::B);
    if let Profile::Punch(punch) = &mut shop.profiles[0] {
        punch.angle = Degrees::of(110.0);
    }
    expect("within the V", &shop, &plan, &["tool-angle"]);
    // With a body of 60 it overlaps them further out.
    if let Profile::Punch(punch) = &mut shop.profiles[0] {
        punch.body = mm(60);
    }
    expect("beyond the V", &shop, &plan, &["tool-angle", "collision"]);
}

#[test]
fn the_first_bend_is_made_on_a_flat_blank() {
    // With the bends in the other order of edges the channel is the same; left flat, nothing stands
    // in the way of the first.
    let (mut shop, plan) = folded(Direction::Up, Edge::B);
    shop.parts[2].bends.swap(0, 1);
    let text = violation(&shop, &plan);
    assert!(text.starts_with("bend 1 "), "{text}");
    let verdict = audit::judge(&shop, &plan);
    let collisions = verdict.violations.iter().filter(|v| v.rule == "collision");
    assert_eq!(collisions.count(), 1, "{:#?}", verdict.violations);
}

#[test]
fn a_neck_helps_only_on_the_side_it_stands() {
    // Edge B at the gauge: the first leg comes back from the front. Edge A: from behind.
    for (edge, reversed) in [(Edge::B, false), (Edge::A, true)] {
        let (mut shop, mut plan) = folded(Direction::Up, edge);
        expect("straight punch", &shop, &plan, &["collision"]);
        gooseneck(&mut shop);
        if reversed {
            expect("as it comes", &shop, &plan, &["collision"]);
            turn(&mut plan);
        }
        expect("with room for the leg", &shop, &plan, &[]);
        turn(&mut plan);
        expect("the other way", &shop, &plan, &["collision"]);
        let text = violation(&shop, &plan);
        let place = if reversed { "PA" } else { "PA reversed" };
        let begins = format!("bend 2 at {place} over D16 at 1500: ");
        assert!(text.starts_with(&begins), "{text}");
        assert!(text.contains("into the punch"), "{text}");
    }
}

#[test]
fn a_neck_stands_one_way_for_all_hits_at_its_station() {
    // Two channels on one blank of 300. The first closes in front. The second, gauged from edge A,
    // closes in front too, and from edge B behind.
    let two = |edge| {
        bent(
            300.0,
            vec![
                at_line(1, LINE, Edge::A, Direction::Up),
                at_line(2, BLANK - LINE, Edge::B, Direction::Up),
                at_line(3, 300.0 - LINE, Edge::B, Direction::Up),
                at_line(4, 300.0 - BLANK + LINE, edge, Direction::Up),
            ],
        )
    };
    let collisions = |shop: &Shop, plan: &Plan| {
        let found = audit::judge(shop, plan).violations;
        let found = found.iter().filter(|v| v.rule == "collision");
        found.map(|v| v.text[..6].to_owned()).collect::<Vec<_>>()
    };
    let (mut shop, mut plan) = two(Edge::A);
    gooseneck(&mut shop);
    expect("both in front", &shop, &plan, &[]);
    turn(&mut plan);
    assert_eq!(collisions(&shop, &plan), ["bend 2", "bend 4"]);
    let (mut shop, mut plan) = two(Edge::B);
    gooseneck(&mut shop);
    assert_eq!(collisions(&shop, &plan), ["bend 4"]);
    turn(&mut plan);
    assert_eq!(collisions(&shop, &plan), ["bend 2"]);
}

#[test]
fn a_fold_the_other_way_points_away_from_the_punch() {
    let (mut shop, plan) = folded(Direction::Down, Edge::B);
    expect("a Z over a die of 60", &shop, &plan, &[]);
    // The leg hangs 36.1 mm in front, and swings out: dies to 36 clear it. 36.4 at an eighth of the
    // bend, 0.6 mm into a die to 37.
    die_width(&mut shop, mm(72));
    expect("a Z over a die of 72", &shop, &plan, &[]);
    die_width(&mut shop, mm(74));
    expect("a Z over a die of 74", &shop, &plan, &["collision"]);
    let text = violation(&shop, &plan);
    assert!(text.contains("0.61 mm into the die at 1/8"), "{text}");
    die_width(&mut shop, mm(90));
    expect("a Z over a die of 90", &shop, &plan, &["collision"]);
    let text = violation(&shop, &plan);
    assert!(text.contains("into the die at 1/8"), "{text}");
    // A channel's leg points up, clear of it, wherever its neck lets it close.
    let (mut shop, plan) = folded(Direction::Up, Edge::B);
    gooseneck(&mut shop);
    die_width(&mut shop, mm(90));
    expect("a channel over a die of 90", &shop, &plan, &[]);
    // So with both folds down: each is flipped for its own stroke.
    for bend in &mut shop.parts[2].bends {
        bend.direction = Direction::Down;
    }
    expect("a channel upside down", &shop, &plan, &[]);
}

#[test]
fn ram_and_bed_are_met_beyond_the_tools() {
    // A leg of 200 in front rises to about 130 at the bottom, 130 out: the ram's underside is 116 up.
    let long = || bent(240.0, vec![at_line(1, LINE, Edge::A, Direction::Up)]);
    let (shop, plan) = long();
    expect("a ram of 100", &shop, &plan, &[]);
    let (mut shop, plan) = long();
    shop.brakes[1].ram_thickness = mm(280);
    expect("a ram of 280", &shop, &plan, &["collision"]);
    assert!(violation(&shop, &plan).contains("into the ram"));
    // A Z whose first leg is 100 hangs 98 below the sheet's underside, 18 deep into a bed of 120.
    let z = || {
        let first = at_line(1, LINE + 60.0, Edge::A, Direction::Up);
        let second = at_line(2, BLANK + 60.0 - LINE, Edge::B, Direction::Down);
        bent(BLANK + 60.0, vec![first, second])
    };
    let (shop, plan) = z();
    expect("a bed of 120", &shop, &plan, &["collision"]);
    assert!(violation(&shop, &plan).contains("into the bed"));
    let (mut shop, plan) = z();
    shop.brakes[1].bed_thickness = mm(60);
    expect("a bed of 60", &shop, &plan, &[]);
}

#[test]
fn where_the_section_is_known_the_outline_decides_and_not_the_declared_depth() {
    let (mut shop, plan) = folded(Direction::Down, Edge::B);
    for bend in &mut shop.parts[2].bends {
        bend.return_depth = mm(1);
    }
    expect("known", &shop, &plan, &[]);
    shop.parts[2].bends[0].line = None;
    expect("one line missing", &shop, &plan, &["punch-relief"]);
    // Bends on the other family's edges know nothing of it.
    let (mut shop, plan) = folded(Direction::Up, Edge::B);
    shop.parts[2].bends[1].edge = Edge::C;
    shop.parts[2].bends[1].line = None;
    expect("each in a family of its own", &shop, &plan, &[]);
    shop.parts[2].bends[1].return_depth = mm(1);
    expect("C not known", &shop, &plan, &["punch-relief"]);
}
