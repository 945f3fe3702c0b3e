//! Sections, tools and random chains that several tests share.

#![allow(dead_code)] // each test file uses its own share of these
#![allow(clippy::expect_used)] // helpers of tests: what cannot be built fails the test

use proptest::prelude::*;
use shape::{Chain, Fold, FoldState, Gooseneck, Outline, Point, Pose, ToolSection};
use units::{Degrees, Length};

pub(crate) fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

pub(crate) fn degrees(value: f64) -> Degrees {
    Degrees::of(value)
}

/// A chain of square folds of one radius; `+` folds up, `-` down.
pub(crate) fn square(thickness: f64, radius: f64, flats: &[f64], folds: &str) -> Chain {
    let folds = folds.chars().map(|way| Fold {
        included: degrees(90.0),
        inside_radius: mm(radius),
        up: way == '+',
    });
    let flats = flats.iter().map(|&flat| mm(flat)).collect();
    Chain::new(mm(thickness), flats, folds.collect()).expect("a good chain")
}

/// Flat or made, from a text of `.` and `#`.
pub(crate) fn state(text: &str) -> Vec<FoldState> {
    text.chars()
        .map(|c| match c {
            '#' => FoldState::Made,
            _ => FoldState::Flat,
        })
        .collect()
}

/// A straight punch 20 mm wide and 120 mm high over a V16 die 40 mm wide.
pub(crate) fn straight_tools() -> ToolSection {
    let punch = shape::straight_punch(mm(120.0), degrees(86.0), mm(1.0), mm(20.0));
    stacked(punch.expect("a good punch"), die(16.0, 40.0))
}

/// A gooseneck punch of the same angle over the same die.
pub(crate) fn gooseneck_tools() -> ToolSection {
    stacked(gooseneck(), die(16.0, 40.0))
}

pub(crate) fn gooseneck() -> Outline {
    shape::gooseneck_punch(&neck()).expect("a good gooseneck")
}

/// A gooseneck with a heavy neck that stands 15 mm behind the tip.
pub(crate) fn neck() -> Gooseneck {
    Gooseneck {
        height: mm(150.0),
        angle: degrees(86.0),
        tip_radius: mm(1.0),
        nose_height: mm(6.0),
        relief: mm(15.0),
        neck_width: mm(25.0),
        throat_low: mm(30.0),
        throat_high: mm(100.0),
        body_width: mm(30.0),
    }
}

pub(crate) fn die(v: f64, width: f64) -> (Outline, Length) {
    let outline = shape::v_die(mm(v), degrees(86.0), mm(60.0), mm(width), mm(1.0));
    (outline.expect("a good die"), mm(v))
}

pub(crate) fn stacked(punch: Outline, die: (Outline, Length)) -> ToolSection {
    let ram = shape::ram(mm(60.0), mm(200.0)).expect("a good ram");
    let bed = shape::bed(mm(60.0), mm(200.0)).expect("a good bed");
    ToolSection::stacked((punch, mm(1.0)), die, &ram, &bed)
}

/// A chain, the state of its folds, the fold being made, its angle now, and the opening.
#[derive(Clone, Debug)]
pub(crate) struct Case {
    pub(crate) chain: Chain,
    pub(crate) state: Vec<FoldState>,
    pub(crate) at: usize,
    pub(crate) now: Degrees,
    pub(crate) v: Length,
}

impl Case {
    pub(crate) fn pose(&self) -> Pose {
        shape::pose(&self.chain, &self.state, self.at, self.now, self.v).expect("a good case")
    }

    /// Every fold made but the one being made.
    pub(crate) fn finished(&self) -> Case {
        let mut other = self.clone();
        other.state = vec![FoldState::Made; self.state.len()];
        other
    }
}

pub(crate) fn cases() -> impl Strategy<Value = Case> {
    let fold = (
        25.0..180.0f64,
        0.0..12.0f64,
        any::<bool>(),
        any::<bool>(),
        1.0..150.0f64,
    );
    (
        0.4..8.0f64,
        1.0..150.0f64,
        proptest::collection::vec(fold, 1..8),
        any::<prop::sample::Index>(),
        0.0..1.0f64,
        4.0..100.0f64,
    )
        .prop_map(|(thickness, first, links, at, share, v)| {
            let at = at.index(links.len());
            let folds: Vec<Fold> = links
                .iter()
                .map(|&(included, radius, up, _, _)| Fold {
                    included: degrees(included),
                    inside_radius: mm(radius),
                    up,
                })
                .collect();
            let mut flats = vec![mm(first)];
            flats.extend(links.iter().map(|link| mm(link.4)));
            let state = links.iter().map(|link| match link.3 {
                true => FoldState::Made,
                false => FoldState::Flat,
            });
            let now = 180.0 - (180.0 - folds[at].included.get()) * share;
            Case {
                state: state.collect(),
                chain: Chain::new(mm(thickness), flats, folds).expect("a good chain"),
                at,
                now: degrees(now),
                v: mm(v),
            }
        })
}

/// Whether the outline has a corner within a micrometre of a point.
pub(crate) fn has_corner(outline: &Outline, x: f64, y: f64) -> bool {
    let wanted = Point::new(x, y);
    outline.points().iter().any(|p| p.distance(wanted) < 1e-3)
}
