//! Where bend lines lie on the flat blank.

use crate::codes::{LINE_OUTSIDE, LINE_TWICE, LINES_NOT_USED};
use crate::fields::Fields;
use crate::findings::{Findings, Problem};
use crate::table::Row;
use model::{Bend, BendKind, Edge, Part};
use std::collections::BTreeMap;
use units::{Length, Place};

/// Bends that run the same way across the blank.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Family {
    /// Along the longer side: edges a and b.
    Long,
    /// Along the shorter side: edges c and d.
    Short,
}

impl Family {
    fn of(bend: &Bend) -> Family {
        match bend.edge {
            Edge::A | Edge::B => Family::Long,
            Edge::C | Edge::D => Family::Short,
        }
    }

    fn edges(self) -> &'static str {
        match self {
            Family::Long => "edges a and b",
            Family::Short => "edges c and d",
        }
    }

    /// The blank's size across these lines.
    fn across(self, part: &Part) -> Length {
        match self {
            Family::Long => part.blank.1,
            Family::Short => part.blank.0,
        }
    }
}

/// Checks that a bend's line lies between the blank's edges.
pub(super) fn check_line(row: &mut Row<'_, '_>, bend: &Bend, part: &Part) {
    let Some(line) = bend.line else { return };
    let family = Family::of(bend);
    let across = family.across(part);
    if line > Length::ZERO && line < across {
        return;
    }
    let (from, side) = match family {
        Family::Long => ("a", "width"),
        Family::Short => ("c", "length"),
    };
    let found = format!("{line} mm from edge {from}");
    let expected = format!("above 0 and below the blank's {side} of {across} mm");
    let action = "measure the line across the flat blank, and check the bend's edge";
    row.report("line", Problem::new(LINE_OUTSIDE, found, expected, action));
}

/// Checks the lines of one part's bends, sorted by number, against each other. `complete`: every
/// bend of the part is among them.
pub(super) fn check_lines(bends: &[(Bend, Place)], complete: bool, out: &mut Findings) {
    for family in [Family::Long, Family::Short] {
        let of = |pair: &&(Bend, Place)| Family::of(&pair.0) == family;
        let bends: Vec<&(Bend, Place)> = bends.iter().filter(of).collect();
        check_apart(&bends, out);
        if complete {
            note_unused(&bends, family, out);
        }
    }
}

fn line_place(place: &Place) -> Place {
    Place {
        field: Some("line".to_owned()),
        ..place.clone()
    }
}

fn check_apart(bends: &[&(Bend, Place)], out: &mut Findings) {
    let mut taken: BTreeMap<Length, u8> = BTreeMap::new();
    for (bend, place) in bends {
        let Some(line) = bend.line else { continue };
        match taken.get(&line) {
            // A bend that is there twice is reported as that.
            Some(other) if *other != bend.number => {
                let found = format!("bends {other} and {} at {line} mm", bend.number);
                let action = "measure each line across the flat blank";
                let problem = Problem::new(LINE_TWICE, found, "a line for each bend", action);
                out.add(line_place(place), problem);
            }
            Some(_) => {}
            None => {
                taken.insert(line, bend.number);
            }
        }
    }
}

/// The section follows only when every bend that runs this way has its line and is an air bend.
fn note_unused(bends: &[&(Bend, Place)], family: Family, out: &mut Findings) {
    if bends.iter().all(|(bend, _)| bend.line.is_none()) {
        return;
    }
    let without = bends.iter().find(|(bend, _)| bend.line.is_none());
    let other = bends.iter().find(|(bend, _)| bend.kind != BendKind::Air);
    let (place, found, action) = match (without, other) {
        (Some((bend, place)), _) => (
            place,
            format!("no line for bend {} on {}", bend.number, family.edges()),
            "give every bend on these edges its line; clearances rest on the other columns until then",
        ),
        (None, Some((bend, place))) => (
            place,
            format!("bend {} on {} is no air bend", bend.number, family.edges()),
            "clearances on these edges rest on return_depth, lift and flange_height",
        ),
        (None, None) => return,
    };
    let expected = "lines of air bends alone, one for each bend";
    let problem = Problem::new(LINES_NOT_USED, found, expected, action);
    out.add(line_place(place), problem);
}
