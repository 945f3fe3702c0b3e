//! Worked strokes: what runs into what, and with which tools or in which order it clears.

#![allow(clippy::unwrap_used)] // helpers of tests: what cannot be built fails the test
#![allow(clippy::float_cmp)] // compared where the figure is exact by construction

mod common;

use common::{
    cases, degrees, die, gooseneck, gooseneck_tools, mm, neck, square, stacked, state,
    straight_tools,
};
use proptest::prelude::*;
use shape::{
    Chain, Collision, Facing, Fold, FoldState, Gooseneck, Outline, Point, Search, ShapeError,
    TOUCH_MM, ToolSection, With, clear_order, collision, swept, swept_finely,
};
use std::f64::consts::SQRT_2;

/// The natural radius of a V16 in mild steel, about 0.16 · V.
const RADIUS: f64 = 2.56;

fn channel(leg: f64, web: f64) -> Chain {
    square(2.0, RADIUS, &[leg, web, leg], "++")
}

fn stroke(chain: &Chain, made: &str, at: usize, tools: &ToolSection) -> Option<Collision> {
    let poses = swept_finely(chain, &state(made), at, tools.opening).unwrap();
    collision(&poses, tools)
}

#[test]
fn a_single_fold_clears() {
    let chain = square(2.0, RADIUS, &[60.0, 60.0], "+");
    for tools in [straight_tools(), gooseneck_tools()] {
        assert_eq!(stroke(&chain, ".", 0, &tools), None);
    }
}

#[test]
fn a_channel_with_long_legs_hits_a_straight_punch_and_clears_a_gooseneck() {
    let long = channel(60.0, 45.0);
    let hit = stroke(&long, "#.", 1, &straight_tools()).unwrap();
    assert_eq!(hit.with, With::Punch);
    assert!(
        hit.at.x < 0.0 && hit.at.y > 40.0,
        "the front leg's upper end: {hit:?}"
    );
    assert!(
        hit.included.get() > 90.0 && hit.included.get() < 120.0,
        "late: {hit:?}"
    );
    assert_eq!(stroke(&long, "#.", 1, &gooseneck_tools()), None);
    // The neck stands at the back: the leg must be at the front.
    let poses = swept_finely(&long, &state("#."), 1, mm(16.0)).unwrap();
    let turned: Vec<_> = poses.iter().map(shape::Pose::turned).collect();
    let hit = collision(&turned, &gooseneck_tools()).unwrap();
    assert_eq!(hit.with, With::Punch);
}

#[test]
fn the_leg_that_just_clears_is_the_one_the_geometry_says() {
    // Finished, the web rises to the front at 45° and the first leg from there to the back at 45°.
    // From the arc's centre, which is on x = 0, it is web + radius along the web to the leg's inner
    // face, and leg along that to its inner corner: x = (leg − web − radius)/√2. The body's front
    // face is at x = −10, and up to the tolerance behind it is touching.
    let web = 45.0;
    let by_hand = web + RADIUS + (TOUCH_MM - 10.0) * SQRT_2;
    let (mut clears, mut hits) = (20.0, 60.0);
    while hits - clears > 0.002 {
        let leg = (clears + hits) / 2.0;
        match stroke(&channel(leg, web), "#.", 1, &straight_tools()) {
            None => clears = leg,
            Some(_) => hits = leg,
        }
    }
    assert!((clears - by_hand).abs() < 0.01, "{clears} {by_hand}");
}

#[test]
fn a_box_section_with_returns_needs_a_gooseneck_for_its_last_fold() {
    let section = square(2.0, RADIUS, &[15.0, 50.0, 60.0, 50.0, 15.0], "++++");
    let straight = |_: usize| straight_tools();
    let order = clear_order(&section, &straight, &[0, 3, 1, 2]).unwrap();
    assert!(!order.kept && order.order.is_empty());
    let (fold, why) = order.why.unwrap();
    assert_eq!((fold, why.with), (2, With::Punch));
    let Search::NoneClears(stuck) = order.search else {
        panic!("{:?}", order.search)
    };
    assert_eq!(stuck.made.len() + stuck.blocked.len(), 4);
    // The return at the back swings into the heel of a heavy neck; a slim one passes between.
    let heavy = stroke(&section, "##.#", 2, &gooseneck_tools()).unwrap();
    assert!(heavy.with == With::Punch && heavy.at.x > 30.0, "{heavy:?}");
    let slim = shape::gooseneck_punch(&Gooseneck {
        relief: mm(8.0),
        neck_width: mm(13.0),
        ..neck()
    });
    let slim = stacked(slim.unwrap(), die(16.0, 40.0));
    let tools = |_: usize| slim.clone();
    let order = clear_order(&section, &tools, &[0, 3, 1, 2]).unwrap();
    assert!(order.kept, "{order:?}");
    // The last fold with the finished side at the front, in the throat.
    assert_eq!(order.facing.last(), Some(&Facing::AsDrawn));
    assert_order_clears(&section, &tools, &order);
}

#[test]
fn returns_before_walls() {
    // Asked to make the walls of a box first and its returns last, it says where that fails and
    // offers the other way.
    let section = square(2.0, RADIUS, &[15.0, 50.0, 90.0, 50.0, 15.0], "++++");
    let tools = |_: usize| straight_tools();
    let order = clear_order(&section, &tools, &[1, 2, 0, 3]).unwrap();
    assert!(!order.kept);
    assert_eq!(order.search, Search::Found);
    assert_order_clears(&section, &tools, &order);
    let first_different = order
        .order
        .iter()
        .zip([1, 2, 0, 3])
        .position(|(a, b)| *a != b);
    assert!(first_different.is_some());
    assert!(order.why.is_some());
}

fn assert_order_clears(chain: &Chain, tools: &dyn Fn(usize) -> ToolSection, order: &shape::Order) {
    let mut state = vec![FoldState::Flat; chain.folds().len()];
    assert_eq!(order.order.len(), order.facing.len());
    for (&fold, facing) in order.order.iter().zip(&order.facing) {
        let tools = tools(fold);
        let mut poses = swept_finely(chain, &state, fold, tools.opening).unwrap();
        if *facing == Facing::Turned {
            poses = poses.iter().map(shape::Pose::turned).collect();
        }
        assert_eq!(collision(&poses, &tools), None);
        state[fold] = FoldState::Made;
    }
    assert!(state.iter().all(|&fold| fold == FoldState::Made));
}

#[test]
fn a_hat_clears_from_the_outside_in() {
    let hat = square(1.5, 1.5, &[20.0, 30.0, 50.0, 30.0, 20.0], "+--+");
    let tools = |_: usize| straight_tools();
    let order = clear_order(&hat, &tools, &[0, 3, 1, 2]).unwrap();
    assert!(order.kept, "{order:?}");
    assert_order_clears(&hat, &tools, &order);
}

#[test]
fn a_zed_clears_while_its_web_is_wider_than_half_the_die() {
    let wide = square(2.0, RADIUS, &[30.0, 40.0, 30.0], "+-");
    assert_eq!(stroke(&wide, "#.", 1, &straight_tools()), None);
    // The first flange hangs in front of the die; too near, it cannot even be laid down.
    let narrow = square(2.0, RADIUS, &[30.0, 12.0, 30.0], "+-");
    let hit = stroke(&narrow, "#.", 1, &straight_tools()).unwrap();
    assert_eq!(hit.with, With::Die);
    assert_eq!(hit.included, degrees(180.0));
    // And long enough, it meets the bed, which is wider than the die and 60 mm lower.
    let deep = square(2.0, RADIUS, &[70.0, 24.0, 30.0], "+-");
    let hit = stroke(&deep, "#.", 1, &straight_tools()).unwrap();
    assert_eq!((hit.with, hit.included), (With::Bed, degrees(180.0)));
}

#[test]
fn a_lip_bent_first_hits_the_die_and_bent_last_does_not() {
    // A lip over a narrow V8 die, and a leg folded the other way over the wide V16.
    let section = square(1.5, 1.5, &[12.0, 14.0, 60.0], "-+");
    let tools = |fold: usize| match fold {
        0 => ToolSection {
            bed: shape::bed(mm(20.0), mm(200.0))
                .unwrap()
                .translated(0.0, -150.0),
            ..stacked(straight_tools().punch, die(8.0, 16.0))
        },
        _ => straight_tools(),
    };
    let order = clear_order(&section, &tools, &[0, 1]).unwrap();
    let (fold, why) = order.why.unwrap();
    assert_eq!(
        (fold, why.with, why.included),
        (1, With::Die, degrees(180.0))
    );
    assert!(!order.kept);
    assert_eq!(
        (order.order.as_slice(), &order.search),
        ([1, 0].as_slice(), &Search::Found)
    );
    assert_order_clears(&section, &tools, &order);
}

#[test]
fn a_high_flange_meets_the_ram() {
    // The front leg passes the punch's body but ends under the ram, which is 60 mm wide.
    let chain = square(2.0, RADIUS, &[150.0, 100.0, 20.0], "++");
    let mut fold = chain.folds().to_vec();
    fold[1].included = degrees(150.0);
    let chain = Chain::new(mm(2.0), chain.flats().to_vec(), fold).unwrap();
    let clear = stroke(&chain, "#.", 1, &straight_tools());
    assert_eq!(clear, None);
    let mut tools = straight_tools();
    tools.ram = shape::ram(mm(260.0), mm(200.0))
        .unwrap()
        .translated(0.0, 120.0);
    let hit = stroke(&chain, "#.", 1, &tools).unwrap();
    assert_eq!(hit.with, With::Ram);
}

#[test]
fn a_stop_left_standing_is_hit_by_a_flange_that_hangs_at_the_back() {
    let zed = square(2.0, RADIUS, &[60.0, 40.0, 30.0], "+-");
    let mut tools = straight_tools();
    assert_eq!(stroke(&zed, ".#", 0, &tools), None);
    // Clear of the hanging flange by 1 mm, until it swings back and up.
    let lying = shape::gauge_edge(&zed, &state(".#"), 0, Facing::AsDrawn).unwrap();
    let x = mm(lying.x_mm + 1.0);
    tools.gauge = Some(shape::gauge_stop(x, mm(-20.0), mm(20.0), mm(50.0)).unwrap());
    let hit = stroke(&zed, ".#", 0, &tools).unwrap();
    assert_eq!(hit.with, With::Gauge);
    assert!(hit.included < degrees(180.0));
}

#[test]
fn tools_that_do_not_fit_the_fold_are_found() {
    let sharp = |included, radius| {
        let fold = Fold {
            included: degrees(included),
            inside_radius: mm(radius),
            up: true,
        };
        Chain::new(mm(2.0), vec![mm(60.0), mm(60.0)], vec![fold]).unwrap()
    };
    // A punch and die of 86° for a fold of 60°: whichever binds first is found.
    let hit = stroke(&sharp(60.0, RADIUS), ".", 0, &straight_tools()).unwrap();
    assert!(
        hit.included.get() < 86.5 && hit.included.get() > 70.0,
        "{hit:?}"
    );
    // A tip of 6 mm in a fold of 1 mm.
    let blunt = shape::straight_punch(mm(120.0), degrees(86.0), mm(6.0), mm(20.0)).unwrap();
    let mut tools = stacked(blunt, die(16.0, 40.0));
    tools.tip_radius = mm(1.0);
    let hit = stroke(&sharp(90.0, 1.0), ".", 0, &tools).unwrap();
    assert_eq!(hit.with, With::Punch);
}

#[test]
fn touching_is_no_collision_and_a_tenth_of_a_millimetre_is() {
    let chain = square(2.0, RADIUS, &[60.0, 60.0], "+");
    let flat = swept(&chain, &state("."), 0, degrees(179.0), mm(16.0), 1).unwrap();
    let mut tools = straight_tools();
    for (raised, expected) in [(0.0, false), (0.04, false), (0.06, true), (0.1, true)] {
        tools.die = straight_tools().die.translated(0.0, raised);
        let hit = collision(&flat[..1], &tools);
        assert_eq!(hit.is_some(), expected, "{raised}: {hit:?}");
        if let Some(hit) = hit {
            assert!((hit.overlap_mm - raised).abs() < 0.002, "{hit:?}");
        }
    }
}

#[test]
fn orders_are_refused_or_bounded_as_stated() {
    let chain = channel(20.0, 40.0);
    let tools = |_: usize| straight_tools();
    for wrong in [vec![0], vec![0, 0], vec![0, 2], vec![0, 1, 1]] {
        let refused = clear_order(&chain, &tools, &wrong).unwrap_err();
        assert_eq!(refused, ShapeError::NotAnOrder);
    }
    // Seventeen folds, the last on a web too narrow for its neighbour that hangs.
    let flats = [&[40.0; 16][..], &[5.0, 40.0]].concat();
    let mut chain = square(1.0, 1.5, &flats, "+-+-+-+-+-+-+-+-+");
    let mut folds = chain.folds().to_vec();
    for fold in &mut folds {
        fold.included = degrees(150.0);
    }
    chain = Chain::new(mm(1.0), chain.flats().to_vec(), folds).unwrap();
    let all: Vec<usize> = (0..17).collect();
    let order = clear_order(&chain, &tools, &all).unwrap();
    assert_eq!(order.search, Search::TooManyFolds);
    assert!(order.order.is_empty() && order.why.is_some());
}

#[test]
fn builders_make_what_they_say() {
    let punch = straight_tools().punch;
    let bounds = punch.bounds();
    assert_eq!(bounds.low.y, 0.0);
    assert_eq!((bounds.width(), bounds.high.y), (20.0, 120.0));
    let tip = Point::new(0.0, 0.0);
    assert!(punch.points().contains(&tip));
    // A die of 86° is cut 8/tan 43° deep; its shoulders stay within sharp ones.
    let (die, _) = die(16.0, 40.0);
    let groove = Point::new(0.0, -8.0 / 43f64.to_radians().tan());
    assert!(die.depth(groove).abs() < 1e-9);
    assert_eq!(die.bounds().high.y, 0.0);
    assert!(
        die.depth(Point::new(8.0, 0.0)) < 0.0,
        "the shoulder is rounded away"
    );
    assert!(die.depth(Point::new(19.0, -0.5)) > 0.0);
    let sharp = shape::v_die(mm(16.0), degrees(86.0), mm(60.0), mm(40.0), mm(0.0)).unwrap();
    assert!(sharp.depth(Point::new(8.0, 0.0)).abs() < 1e-9);
    assert!(sharp.area() > die.area());
    let neck = gooseneck();
    assert!(
        neck.depth(Point::new(14.0, 60.0)) < 0.0,
        "the throat is open"
    );
    assert!(
        neck.depth(Point::new(16.0, 60.0)) > 0.0,
        "the neck stands behind it"
    );
    assert_eq!(neck.bounds().high, Point::new(40.0, 150.0));
    let tools = gooseneck_tools();
    assert_eq!(tools.ram.bounds().low.y, 150.0);
    assert_eq!(tools.bed.bounds().high.y, -60.0);
}

#[test]
fn tools_that_cannot_be_are_refused() {
    let no = |result: Result<Outline, ShapeError>| {
        assert!(
            matches!(result, Err(ShapeError::Dimension { .. })),
            "{result:?}"
        );
    };
    no(shape::straight_punch(
        mm(0.0),
        degrees(86.0),
        mm(1.0),
        mm(20.0),
    ));
    no(shape::straight_punch(
        mm(120.0),
        degrees(180.0),
        mm(1.0),
        mm(20.0),
    ));
    no(shape::straight_punch(
        mm(120.0),
        degrees(86.0),
        mm(-1.0),
        mm(20.0),
    ));
    no(shape::straight_punch(
        mm(120.0),
        degrees(86.0),
        mm(15.0),
        mm(20.0),
    ));
    no(shape::straight_punch(
        mm(9.0),
        degrees(86.0),
        mm(1.0),
        mm(20.0),
    ));
    no(shape::v_die(
        mm(0.0),
        degrees(86.0),
        mm(60.0),
        mm(40.0),
        mm(1.0),
    ));
    no(shape::v_die(
        mm(16.0),
        degrees(0.0),
        mm(60.0),
        mm(40.0),
        mm(1.0),
    ));
    no(shape::v_die(
        mm(16.0),
        degrees(20.0),
        mm(40.0),
        mm(40.0),
        mm(1.0),
    ));
    no(shape::v_die(
        mm(16.0),
        degrees(86.0),
        mm(60.0),
        mm(16.0),
        mm(1.0),
    ));
    no(shape::v_die(
        mm(16.0),
        degrees(86.0),
        mm(90.0),
        mm(90.0),
        mm(29.0),
    ));
    no(shape::ram(mm(0.0), mm(1.0)));
    no(shape::bed(mm(1.0), mm(0.0)));
    no(shape::gauge_stop(mm(1.0), mm(1.0), mm(0.0), mm(1.0)));
    let good = neck();
    for bad in [
        Gooseneck {
            nose_height: mm(0.0),
            ..good
        },
        Gooseneck {
            nose_height: mm(31.0),
            ..good
        },
        Gooseneck {
            throat_high: mm(20.0),
            ..good
        },
        Gooseneck {
            throat_high: mm(125.0),
            ..good
        },
        Gooseneck {
            neck_width: mm(0.0),
            ..good
        },
    ] {
        no(shape::gooseneck_punch(&bad));
    }
    let cut = Gooseneck {
        throat_low: mm(7.0),
        ..good
    };
    assert_eq!(shape::gooseneck_punch(&cut), Err(ShapeError::CrossesItself));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn an_order_that_is_offered_clears(case in cases(), seed in any::<u64>()) {
        prop_assume!(case.chain.folds().len() <= 4);
        let tools = |_: usize| gooseneck_tools();
        let mut prefer: Vec<usize> = (0..case.chain.folds().len()).collect();
        let turns = usize::try_from(seed % 4).unwrap() % prefer.len();
        prefer.rotate_left(turns);
        let order = clear_order(&case.chain, &tools, &prefer).unwrap();
        if order.order.is_empty() {
            prop_assert!(matches!(order.search, Search::NoneClears(_)));
            prop_assert!(order.why.is_some());
        } else {
            prop_assert_eq!(order.kept, order.order == prefer);
            prop_assert_eq!(order.kept, order.why.is_none());
            assert_order_clears(&case.chain, &tools, &order);
        }
    }

    #[test]
    fn turning_part_and_tools_together_changes_nothing(case in cases()) {
        let tools = gooseneck_tools();
        let other = ToolSection {
            punch: tools.punch.mirrored_x(),
            die: tools.die.mirrored_x(),
            ram: tools.ram.mirrored_x(),
            bed: tools.bed.mirrored_x(),
            ..tools.clone()
        };
        let mut case = case;
        case.v = tools.opening;
        let pose = case.pose();
        let one = collision(std::slice::from_ref(&pose), &tools);
        let two = collision(&[pose.turned()], &other);
        prop_assert_eq!(one.is_some(), two.is_some());
        if let (Some(one), Some(two)) = (one, two) {
            prop_assert!((one.overlap_mm - two.overlap_mm).abs() < 0.002, "{one:?} {two:?}");
        }
    }
}
