//! One fault at a time in what hems, stepped radii, bend lines, blocks, flattening tools and
//! measured deductions say: the code it is reported under, and the place.

mod small_shop;

use documents::{FileSet, read_shop};
use small_shop::faults::{check, check_all, edited};
use units::Finding;

/// The small shop with two changes, each of a file, a text in it and its replacement.
fn edited_twice(first: [&str; 3], second: [&str; 3]) -> FileSet {
    let mut set = edited(first[0], first[1], first[2]);
    let other = edited(second[0], second[1], second[2]);
    assert_ne!(
        first[0], second[0],
        "the second change would undo the first"
    );
    let bytes = other.get(second[0]).unwrap_or_default().to_vec();
    set.insert(second[0], bytes);
    set
}

fn said(set: &FileSet) -> Vec<String> {
    let (_, findings) = read_shop(set);
    let say = |finding: &Finding| format!("{} {}", finding.place, finding.code);
    findings.iter().map(say).collect()
}

#[test]
#[rustfmt::skip] // one fault a line
fn bends_of_a_kind_that_cannot_be() {
    check_all(&[
        ("unknown kind", "bends.csv", "stepped", "rolled", "D209", "bends.csv:7:kind"),
        ("air bend of no angle", "bends.csv", "BRACKET,1,90", "BRACKET,1,", "D201", "bends.csv:2:angle_deg"),
        ("air bend folded flat", "bends.csv", "TRAY,1,90", "TRAY,1,0", "D205", "bends.csv:3:angle_deg"),
        ("hem with an angle", "bends.csv", "LID,1,0", "LID,1,30", "D219", "bends.csv:5:angle_deg"),
        ("hem with a negative angle", "bends.csv", "LID,1,0", "LID,1,-30", "D204", "bends.csv:5:angle_deg"),
        ("gap negative", "bends.csv", "hem,0.5", "hem,-0.5", "D204", "bends.csv:5:gap"),
        ("gap beyond a hem", "bends.csv", "hem,0.5", "hem,100.1", "D205", "bends.csv:5:gap"),
        ("gap of an air bend", "bends.csv", "air,,28", "air,0,28", "D219", "bends.csv:3:gap"),
        ("gap of a stepped bend", "bends.csv", "stepped,", "stepped,1", "D219", "bends.csv:7:gap"),
        ("gap of a bend of no kind", "bends.csv", ",,38.5", ",1,38.5", "D219", "bends.csv:2:gap"),
        ("stepped without radius", "bends.csv", "up,c,30", "up,c,", "D201", "bends.csv:7:radius"),
        ("stepped without angle", "bends.csv", "LID,3,90", "LID,3,", "D201", "bends.csv:7:angle_deg"),
        ("stepped folded flat", "bends.csv", "LID,3,90", "LID,3,0", "D205", "bends.csv:7:angle_deg"),
        ("radius of a hem", "bends.csv", "10,up,a,", "10,up,a,2", "D343", "bends.csv:5:radius"),
        ("unknown grain", "parts.csv", ",long", ",lengthwise", "D209", "parts.csv:2:grain"),
    ]);
}

#[test]
fn steps_cannot_be_deeper_than_their_arc() {
    let depth = |depth| ["shop.toml", "[rules]", depth];
    let radius = ["bends.csv", "up,c,30", "up,c,8"];
    // 8 mm of radius and 1 mm of sheet.
    let deep = edited_twice(depth("[rules]\nstep_depth = 9"), radius);
    check("steps as deep", &deep, "D205", "bends.csv:7:radius");
    let less = edited_twice(depth("[rules]\nstep_depth = 8.999"), radius);
    assert_eq!(said(&less), Vec::<String>::new());
}

/// The blank of the tray is 600 by 300 mm, its bends are on edges a and b, that of the lid 300 by
/// 200 mm.
#[test]
#[rustfmt::skip] // one fault a line
fn lines_that_cannot_be() {
    check_all(&[
        ("line on the edge", "bends.csv", "air,,28", "air,,0", "D331", "bends.csv:3:line"),
        ("line before the edge", "bends.csv", "air,,28", "air,,-1", "D204", "bends.csv:3:line"),
        ("line on the far edge", "bends.csv", ",,272", ",,300", "D331", "bends.csv:4:line"),
        ("line beyond the far edge", "bends.csv", ",,272", ",,300.001", "D331", "bends.csv:4:line"),
        ("line across the other way", "bends.csv", "stepped,,", "stepped,,300", "D331", "bends.csv:7:line"),
        ("line beyond any blank", "bends.csv", ",,272", ",,30001", "D205", "bends.csv:4:line"),
        ("lines on each other", "bends.csv", ",,272", ",,28", "D332", "bends.csv:4:line"),
        ("line of one bend alone", "bends.csv", ",,272", ",,", "D347", "bends.csv:4:line"),
        ("line of the other bend alone", "bends.csv", "air,,28", "air,,", "D347", "bends.csv:3:line"),
        ("line of a stepped bend", "bends.csv", "stepped,,", "stepped,,54", "D347", "bends.csv:7:line"),
        ("line of one hem", "bends.csv", "hem,0.5,", "hem,0.5,9", "D347", "bends.csv:6:line"),
    ]);
}

#[test]
fn bends_of_different_directions_may_have_one_line() {
    // The second hem now lies on edge c, as far from it as the bend on edge a from a.
    let crossed = edited("bends.csv", "down,b,,,,,,,,,,272", "down,c,,,,,,,,,,28");
    assert_eq!(said(&crossed), Vec::<String>::new());
}

#[test]
fn a_line_as_wide_as_the_longer_side_lies_inside_across_it() {
    let along = edited("bends.csv", "down,b,,,,,,,,,,272", "down,d,,,,,,,,,,599");
    assert_eq!(said(&along), Vec::<String>::new());
}

#[test]
#[rustfmt::skip] // one fault a line
fn tools_and_brakes_of_a_shape_that_cannot_be() {
    check_all(&[
        ("ram of no thickness", "brakes.toml", "stroke =", "ram_thickness = 0\nstroke =", "D205", "brakes.toml:9:ram_thickness"),
        ("bed of negative thickness", "brakes.toml", "stroke =", "bed_thickness = -1\nstroke =", "D204", "brakes.toml:9:bed_thickness"),
        ("neck in the way", "tooling.toml", "relief_height = 45", "relief_height = 39.9", "D348", "tooling.toml:44:relief_height"),
        ("neck in the way by default", "tooling.toml", "relief = 40", "relief = 50", "D348", "tooling.toml:9:relief_height"),
        ("relief above the punch", "tooling.toml", "relief_height = 45", "relief_height = 120.1", "D216", "tooling.toml:44:relief_height"),
        ("relief of no height", "tooling.toml", "relief_height = 45", "relief_height = 0", "D205", "tooling.toml:44:relief_height"),
        ("height of no relief", "tooling.toml", "relief = 10\n", "", "D343", "tooling.toml:43:relief_height"),
        ("punch of no body", "tooling.toml", "body = 20", "body = 0", "D205", "tooling.toml:45:body"),
        ("flattening in words", "tooling.toml", "flattening = true", "flattening = \"yes\"", "D211", "tooling.toml:52:flattening"),
        ("straight punch without angle", "tooling.toml", "angle_deg = 85\n", "", "D201", "tooling.toml:1:angle_deg"),
        ("punch without tip that flattens nothing", "tooling.toml", "flattening = true", "flattening = false", "D201", "tooling.toml:47:tip_radius"),
        ("flattening die with a V", "tooling.toml", "v = 0", "v = 10", "D219", "tooling.toml:56:v"),
        ("flattening die with a groove", "tooling.toml", "v = 0", "groove_depth = 3", "D219", "tooling.toml:56:groove_depth"),
        ("flattening die with an angle", "tooling.toml", "v = 0", "angle_deg = 30", "D219", "tooling.toml:56:angle_deg"),
        ("die without a V", "tooling.toml", "v = 12\n", "", "D201", "tooling.toml:18:v"),
        ("die as wide as its V", "tooling.toml", "width = 60", "width = 8", "D216", "tooling.toml:70:width"),
        ("block with a space", "tooling.toml", "block = \"MV\"", "block = \"M V\"", "D210", "tooling.toml:71:block"),
        ("block of a die's id", "tooling.toml", "block = \"MV\"", "block = \"V12\"", "D308", "tooling.toml:71:block"),
        ("block of its own die's id", "tooling.toml", "block = \"MV\"", "block = \"MV-8\"", "D308", "tooling.toml:71:block"),
        ("block of a punch's id", "tooling.toml", "block = \"MV\"", "block = \"F1\"", "D308", "tooling.toml:71:block"),
        ("punch in a block", "tooling.toml", "body = 20", "block = \"MV\"", "D212", "tooling.toml:45:block"),
        ("sections of no block", "sections.csv", "MV,600", "MW,600", "D303", "sections.csv:12:profile"),
        ("horn on a block", "sections.csv", "MV,600,2,,A,", "MV,600,2,,A,left", "D322", "sections.csv:12:horn"),
        ("block out of service", "sections.csv", "15.8,good", "15.8,out", "D341", "tooling.toml:63:id"),
        ("section of the block at another die", "floor.csv", "P1,V12,1000,P1-500mm-1 P1-100mm,V12-500mm-1 V12-500mm-2", "P1,V12,1000,P1-500mm-1 P1-100mm,V12-500mm-1 MV-600mm-2", "D316", "floor.csv:2:die_sections"),
        ("section of another die at the block's", "floor.csv", "MV-600mm-1", "V16-500mm", "D316", "floor.csv:5:die_sections"),
        ("block for a die on a bed", "floor.csv", "AC30,MV-10", "AC30,MV", "D303", "floor.csv:5:die"),
        ("block for a die in a setup", "setups.csv", "AC30,MV-8", "AC30,MV", "D303", "setups.csv:4:die"),
    ]);
}

#[test]
#[rustfmt::skip] // one fault a line
fn setups_that_cannot_make_their_hems() {
    check_all(&[
        ("hem not flattened", "setups.csv", "300,2 1", "300,2", "D325", "setups.csv:6:bends"),
        ("hem not bent", "setups.csv", "300,1 2", "300,1", "D325", "setups.csv:6:bends"),
        ("hem flattened twice", "setups.csv", "300,2 1", "300,2 1 2", "D325", "setups.csv:5:bends"),
        ("hem bent twice", "setups.csv", "200,3", "200,3 1", "D325", "setups.csv:6:bends"),
        ("air bend flattened", "setups.csv", "300,2 1", "300,2 1 3", "D330", "setups.csv:5:bends"),
        ("one flattening tool", "setups.csv", "F1,F2", "F1,V16", "D330", "setups.csv:5:bends"),
        ("the other flattening tool", "setups.csv", "P1,V12", "P1,F2", "D330", "setups.csv:6:bends"),
    ]);
}

#[test]
#[rustfmt::skip] // one fault a line
fn deductions_that_cannot_be() {
    check_all(&[
        ("column missing", "deductions.csv", "angle_deg,", "", "D108", "deductions.csv:1:angle_deg"),
        ("unknown material", "deductions.csv", "STEEL,2,16,90", "STEAL,2,16,90", "D302", "deductions.csv:4:material"),
        ("deduction zero", "deductions.csv", "90,3.9", "90,0", "D205", "deductions.csv:4:deduction"),
        ("deduction negative", "deductions.csv", "90,3.9", "90,-3.9", "D204", "deductions.csv:4:deduction"),
        ("deduction beyond any bend", "deductions.csv", "90,3.9", "90,180", "D205", "deductions.csv:4:deduction"),
        ("thickness zero", "deductions.csv", "STEEL,2,16,90", "STEEL,0,16,90", "D205", "deductions.csv:4:thickness"),
        ("angle of a hem", "deductions.csv", "16,90", "16,0", "D205", "deductions.csv:4:angle_deg"),
        ("row twice", "deductions.csv", "1.5,12,90", "1.5,10,90", "D333", "deductions.csv:3:deduction"),
        ("angles that one bend may match", "deductions.csv", "2,16,120", "2,16,90.02", "D333", "deductions.csv:5:deduction"),
        ("angles that one bend may match below", "deductions.csv", "2,16,120", "2,16,89.98", "D333", "deductions.csv:5:deduction"),
        ("V in metres", "deductions.csv", "2,16,90", "2,16 m,90", "D206", "deductions.csv:4:v"),
    ]);
}

#[test]
fn deductions_just_within_their_bounds_are_read() {
    let cases = [
        ("90,3.9", "90,179.999"),
        ("2,16,120", "2,16,90.021"),
        ("2,16,120", "2.0001,16,90"),
    ];
    for (from, to) in cases {
        let set = edited("deductions.csv", from, to);
        assert_eq!(said(&set), Vec::<String>::new(), "{to}");
    }
}

#[test]
#[rustfmt::skip] // one fault a line
fn rules_of_hems_and_clearances_that_cannot_be() {
    check_all(&[
        ("steps of no depth", "shop.toml", "[rules]", "[rules]\nstep_depth = 0", "D205", "shop.toml:10:rules.step_depth"),
        ("flattening lighter than bending", "shop.toml", "[rules]", "[rules]\nflatten_factor = 0.9", "D205", "shop.toml:10:rules.flatten_factor"),
        ("flattening beyond all bounds", "shop.toml", "[rules]", "[rules]\nflatten_factor = inf", "D203", "shop.toml:10:rules.flatten_factor"),
        ("stop below the gauge", "shop.toml", "[rules]", "[rules]\nstop_height = -1", "D204", "shop.toml:10:rules.stop_height"),
        ("stop above all parts", "shop.toml", "[rules]", "[rules]\nstop_height = 5000.1", "D205", "shop.toml:10:rules.stop_height"),
        ("touching by less than nothing", "shop.toml", "[rules]", "[rules]\ntouch_allowance = -0.1", "D204", "shop.toml:10:rules.touch_allowance"),
    ]);
}

/// P1 is straight, P2 has a relief of 40 mm and P2-left is a horn.
#[test]
fn punches_that_cannot_stand_turned_about() {
    let floor = |row: &str| {
        let header = "what,brake,punch,die,left,punch_sections,die_sections,order,reversed";
        let mut set = small_shop::files();
        set.insert("floor.csv", format!("{header}\n{row}\n").into_bytes());
        set
    };
    let at = "floor.csv:2:reversed";
    let cases = [
        ("straight", "P1,V16,100,P1-500mm-1,V16-500mm,,yes", "D334"),
        ("flat", "F1,F2,100,F1-600mm,F2-600mm,,yes", "D334"),
        ("word", "P2,V16,100,P2-500mm,V16-500mm,,about", "D209"),
    ];
    for (name, cells, code) in cases {
        check(name, &floor(&format!("station,B1,{cells}")), code, at);
    }
    check("no station", &floor("running,B1,,,,,,W-1,no"), "D219", at);
    let straight = floor("station,B1,P1,V16,100,P1-500mm-1,V16-500mm,,no");
    assert_eq!(said(&straight), Vec::<String>::new());
    let horn = floor("station,B1,P2,V16,100,P2-left P2-500mm,V16-500mm,,no");
    assert_eq!(said(&horn), Vec::<String>::new());
    // Turned about, the left horn stands on the right.
    let turned = floor("station,B1,P2,V16,100,P2-500mm P2-left,V16-500mm,,yes");
    assert_eq!(said(&turned), Vec::<String>::new());
    let inside = said(&floor(
        "station,B1,P2,V16,100,P2-left P2-500mm,V16-500mm,,yes",
    ));
    assert!(
        inside
            .iter()
            .any(|said| said.contains("floor.csv:2:punch_sections")),
        "{inside:?}"
    );
    // A punch nobody knows is one fault, not two.
    let unknown = said(&floor("station,B1,P9,V16,100,P2-500mm,V16-500mm,,yes"));
    assert!(
        unknown.iter().all(|said| !said.ends_with("D334")),
        "{unknown:?}"
    );
}

/// A die that cannot be read still says whose face it is: its sections are no second fault.
#[test]
fn a_bad_die_makes_no_fault_of_its_blocks_sections() {
    let set = edited("tooling.toml", "v = 10\n", "v = 0\n");
    assert_eq!(said(&set), ["tooling.toml:75:v D205"]);
    let set = edited("tooling.toml", "block = \"MV\"\n\n", "block = \"M V\"\n\n");
    let expected = ["tooling.toml:63:id D341", "tooling.toml:71:block D210"];
    assert_eq!(
        said(&set),
        expected,
        "and a note that the die has no section"
    );
}
