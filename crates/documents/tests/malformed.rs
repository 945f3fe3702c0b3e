//! One fault at a time in a good shop: the code it is reported under, and the place.

#![allow(clippy::expect_used)] // helpers of tests are not tests to the lint

mod small_shop;

use documents::{FileSet, read_shop};
use small_shop::faults::{check, check_all, edited};
use small_shop::files;
use units::{Finding, Severity};

#[test]
#[rustfmt::skip] // one fault a line
fn settings_that_cannot_be_read() {
    check_all(&[
        ("unclosed text", "shop.toml", "\"mm\"", "\"mm", "D112", "shop.toml:3"),
        ("key twice", "shop.toml", "units = \"mm\"", "name = \"x\"", "D112", "shop.toml:3"),
        ("no value", "brakes.toml", "bed = 2500", "bed =", "D112", "brakes.toml:5"),
        ("text for a number", "brakes.toml", "= 1000", "= \"much\"", "D211", "brakes.toml:4:force_kn"),
        ("number for a text", "brakes.toml", "\"T1\"", "1", "D211", "brakes.toml:16:tang"),
        ("list for a length", "brakes.toml", "throat = 300", "throat = [3]", "D211", "brakes.toml:7:throat"),
        ("one end of a range", "brakes.toml", "[5, 600]", "[5]", "D211", "brakes.toml:26:x"),
        ("table for a list", "tooling.toml", "[[punch]]", "[punch]", "D112", "tooling.toml:9"),
        ("brake not a list", "brakes.toml", "[[brake]]", "[brake]", "D211", "brakes.toml:1:brake"),
        ("unknown key", "brakes.toml", "throat =", "throut =", "D212", "brakes.toml:7:throut"),
        ("unknown rule", "shop.toml", "late_hour_minutes", "late_minutes", "D212", "shop.toml:10:rules.late_minutes"),
        ("unknown table", "shop.toml", "[rules]", "[rule]", "D212", "shop.toml:9:rule"),
        ("missing key", "brakes.toml", "throat = 300\n", "", "D201", "brakes.toml:1:throat"),
        ("no brake", "brakes.toml", "[[brake]]", "[[brakes]]", "D116", "brakes.toml:brake"),
        ("no name", "shop.toml", "\"Invented bending shop\"", "\"\"", "D201", "shop.toml:1:name"),
        ("flag as text", "shop.toml", "invented = true", "invented = \"yes\"", "D211", "shop.toml:5:invented"),
    ]);
}

#[test]
#[rustfmt::skip] // one fault a line
fn settings_with_values_that_cannot_be() {
    check_all(&[
        ("unknown zone", "shop.toml", "Europe/Berlin", "Europe/Berlinn", "D213", "shop.toml:2:time_zone"),
        ("unknown units", "shop.toml", "\"mm\"", "\"cm\"", "D209", "shop.toml:3:units"),
        ("bad moment", "shop.toml", "2027-03-22T15:30", "last Monday", "D207", "shop.toml:4:as_of"),
        ("skipped moment", "shop.toml", "2027-03-22T15:30", "2027-03-28T02:30", "D208", "shop.toml:4:as_of"),
        ("bad due time", "shop.toml", "\"14:00\"\ndown", "\"24:00\"\ndown", "D214", "shop.toml:6:due_time"),
        ("shift with bad time", "shop.toml", "\"06:00\", end = \"14:00\"", "\"6 am\", end = \"14:00\"", "D214", "shop.toml:15:calendars.day.shifts.start"),
        ("break outside", "shop.toml", "[\"12:00\", \"12:30\"]", "[\"13:45\", \"14:15\"]", "D215", "shop.toml:15:calendars.day.shifts.breaks"),
        ("break reversed", "shop.toml", "[\"09:00\", \"09:15\"]", "[\"09:15\", \"09:00\"]", "D215", "shop.toml:15:calendars.day.shifts.breaks"),
        ("break of one time", "shop.toml", "[\"09:00\", \"09:15\"]", "[\"09:00\"]", "D211", "shop.toml:15:calendars.day.shifts.breaks"),
        ("night break outside", "shop.toml", "\"01:45\", \"02:15\"", "\"05:45\", \"06:15\"", "D215", "shop.toml:22:calendars.night.shifts.breaks"),
        ("unknown weekday", "shop.toml", "\"wed\"", "\"mid\"", "D209", "shop.toml:15:calendars.day.shifts.days"),
        ("shift without days", "shop.toml", "days = [\"sun\", \"mon\"], ", "", "D201", "shop.toml:22:calendars.night.shifts.days"),
        ("closed day", "shop.toml", "2027-03-26", "26.03.2027", "D207", "shop.toml:17:calendars.day.closed.date"),
        ("calendar with a space", "shop.toml", "[calendars.night]", "[calendars.\"at night\"]", "D210", "shop.toml:20:calendars.at night"),
        ("unknown inspector calendar", "shop.toml", "r = \"day\"", "r = \"dya\"", "D305", "shop.toml:11:rules.inspector_calendar"),
        ("fraction of a minute", "shop.toml", "= 30", "= 30.5", "D217", "shop.toml:10:rules.late_hour_minutes"),
        ("negative days", "shop.toml", "_days = 1", "_days = -1", "D204", "shop.toml:7:downstream_days"),
        ("overtime in hundredths", "shop.toml", "[rules]", "[rules]\novertime_factor = 0.25", "D202", "shop.toml:10:rules.overtime_factor"),
        ("K-factor of two", "shop.toml", "[rules]", "[rules]\nk_factor = 2", "D205", "shop.toml:10:rules.k_factor"),
        ("V rows fall", "shop.toml", "[calendars.day]", "[[rules.v]]\nthickness_to = 3\nleast = 6\npreferred = 8\nmost = 12\n[[rules.v]]\nthickness_to = 2\nleast = 6\npreferred = 8\nmost = 12\n[calendars.day]", "D221", "shop.toml:19:rules.v.thickness_to"),
        ("V row out of order", "shop.toml", "[calendars.day]", "[[rules.v]]\nthickness_to = 3\nleast = 9\npreferred = 8\nmost = 12\n[calendars.day]", "D216", "shop.toml:16:rules.v.preferred"),
        ("two carry less than one", "shop.toml", "[rules]", "[rules]\ntwo_person_mass_kg = 1", "D216", "shop.toml:10:rules.two_person_mass_kg"),
        ("a stop every minute", "shop.toml", "[rules]", "[rules]\nbrake_stop_hours = 0.02", "D205", "shop.toml:10:rules.brake_stop_hours"),
        ("spread of sixfold", "shop.toml", "[rules]", "[rules]\nrun_spread = 6", "D205", "shop.toml:10:rules.run_spread"),
        ("axis reversed", "brakes.toml", "[5, 600]", "[600, 5]", "D216", "brakes.toml:26:x"),
        ("stroke above open height", "brakes.toml", "stroke = 200", "stroke = 501", "D216", "brakes.toml:9:stroke"),
        ("holders above open height", "brakes.toml", "upper_holder = 100", "upper_holder = 450", "D216", "brakes.toml:11:upper_holder"),
        ("force infinite", "brakes.toml", "force_kn = 1000", "force_kn = inf", "D203", "brakes.toml:4:force_kn"),
        ("bed not a number", "brakes.toml", "bed = 2500", "bed = nan", "D203", "brakes.toml:5:bed"),
        ("bed negative", "brakes.toml", "bed = 2500", "bed = -2500", "D204", "brakes.toml:5:bed"),
        ("bed in feet", "brakes.toml", "bed = 2500", "bed = \"8 ft\"", "D206", "brakes.toml:5:bed"),
        ("fitted axis absent", "brakes.toml", "{ r =", "{ x_difference =", "D219", "brakes.toml:29:fitted"),
        ("unknown clamping", "brakes.toml", "\"quick\"", "\"fast\"", "D209", "brakes.toml:18:clamping"),
        ("unknown calendar", "brakes.toml", "calendar = \"day\"", "calendar = \"late\"", "D305", "brakes.toml:31:calendar"),
        ("unknown change time", "brakes.toml", "base_minutes", "basis_minutes", "D212", "brakes.toml:32:times.basis_minutes"),
        ("yield above strength", "materials.toml", "yield_mpa = 235", "yield_mpa = 900", "D216", "materials.toml:5:strength_mpa"),
        ("radius share in per cent", "materials.toml", "0.16", "16", "D205", "materials.toml:10:radius_share_of_v"),
        ("V limits reversed", "materials.toml", "[6, 12]", "[12, 6]", "D216", "materials.toml:12:v_over_t"),
        ("punch angle flat", "tooling.toml", "angle_deg = 85", "angle_deg = 180", "D205", "tooling.toml:3:angle_deg"),
        ("punch and die of one id", "tooling.toml", "id = \"V12\"", "id = \"P1\"", "D308", "tooling.toml:19:id"),
    ]);
}

#[test]
#[rustfmt::skip] // one fault a line
fn tables_that_cannot_be_read() {
    check_all(&[
        ("wrong header", "crew.csv", "person,role,calendar,brakes\n", "", "D114", "crew.csv:1"),
        ("semicolons", "crew.csv", "person,role,calendar,brakes", "person;role;calendar;brakes", "D114", "crew.csv:1"),
        ("missing column", "crew.csv", "calendar,", "", "D108", "crew.csv:1:calendar"),
        ("unknown column", "crew.csv", "role", "rôle", "D107", "crew.csv:1:rôle"),
        ("column twice", "sections.csv", "count", "length_in", "D109", "sections.csv:1:length_in"),
        ("quote not closed", "parts.csv", "\"tray, two flanges\"", "\"tray", "D111", "parts.csv:3"),
        ("text after a quote", "parts.csv", "\"tray, two flanges\"", "\"tray\" two", "D111", "parts.csv:3"),
        ("too few cells", "crew.csv", "set-1,both,day,B1", "set-1,both,day", "D110", "crew.csv:3"),
        ("too many cells", "crew.csv", "set-1,both,day,B1", "set-1,both,day,B1,", "D110", "crew.csv:3"),
        ("comma in a name", "parts.csv", "angle bracket", "angle, bracket", "D110", "parts.csv:2"),
        ("only comments", "floor.csv", small_shop::FLOOR, "# nothing yet\n", "D114", "floor.csv:1"),
    ]);
}

#[test]
#[rustfmt::skip] // one fault a line
fn parts_and_tools_with_values_that_cannot_be() {
    check_all(&[
        ("length negative", "bends.csv", "90,400,40", "90,-400,40", "D204", "bends.csv:2:length"),
        ("length not a number", "bends.csv", "90,400,40", "90,NaN,40", "D203", "bends.csv:2:length"),
        ("length infinite", "bends.csv", "90,400,40", "90,inf,40", "D203", "bends.csv:2:length"),
        ("length in words", "bends.csv", "90,400,40", "90,4?0,40", "D202", "bends.csv:2:length"),
        ("length over zero", "bends.csv", "90,400,40", "90,3/0 in,40", "D202", "bends.csv:2:length"),
        ("leg missing", "bends.csv", "90,400,40", "90,400,", "D201", "bends.csv:2:leg"),
        ("angle flat", "bends.csv", "1,90,400", "1,180,400", "D205", "bends.csv:2:angle_deg"),
        ("angle zero", "bends.csv", "1,90,400", "1,0,400", "D205", "bends.csv:2:angle_deg"),
        ("unknown direction", "bends.csv", "down", "dwon", "D209", "bends.csv:4:direction"),
        ("unknown edge", "bends.csv", "up,a", "up,e", "D209", "bends.csv:2:edge"),
        ("bend of no number", "bends.csv", "BRACKET,1", "BRACKET,one", "D202", "bends.csv:2:bend"),
        ("bend zero", "bends.csv", "BRACKET,1", "BRACKET,0", "D205", "bends.csv:2:bend"),
        ("bend missing", "bends.csv", "TRAY,1,90,600,30,up,a,2.5,,0,0,0,0,30,air,,28\n", "", "D324", "bends.csv:3:bend"),
        ("bend gap", "bends.csv", "TRAY,2", "TRAY,3", "D324", "bends.csv:4:bend"),
        ("bend twice", "bends.csv", "TRAY,2", "TRAY,1", "D308", "bends.csv:4:bend"),
        ("part without bends", "bends.csv", "BRACKET,1,90,400,40,up,a,,,,,,,,,,38.5\n", "", "D323", "parts.csv:2:part"),
        ("bends of no part", "bends.csv", "BRACKET", "BRAKCET", "D301", "bends.csv:2:part"),
        ("bend beyond the blank", "bends.csv", "90,400,40", "90,4000,40", "D344", "bends.csv:2:length"),
        ("thickness zero", "parts.csv", "STEEL,1.5", "STEEL,0", "D205", "parts.csv:2:thickness"),
        ("unknown material", "parts.csv", "STEEL", "STEAL", "D302", "parts.csv:2:material"),
        ("part twice", "parts.csv", "TRAY", "BRACKET", "D308", "parts.csv:3:part"),
        ("crew of three", "parts.csv", ",2,inspector", ",3,inspector", "D209", "parts.csv:3:crew"),
        ("unknown approval", "parts.csv", "inspector", "boss", "D209", "parts.csv:3:approval"),
        ("proven maybe", "parts.csv", ",own,no", ",own,maybe", "D209", "parts.csv:2:proven_only"),
        ("sides swapped", "parts.csv", "400,120", "120,400", "D345", "parts.csv:2:blank_length"),
        ("part with a space", "parts.csv", "BRACKET", "BIG BRACKET", "D210", "parts.csv:2:part"),
        ("section of no length", "sections.csv", "P1,500", "P1,0", "D205", "sections.csv:2:length"),
        ("section count zero", "sections.csv", "P1,500,2", "P1,500,0", "D205", "sections.csv:2:count"),
        ("horn on a die", "sections.csv", "V16,500,1,,A,", "V16,500,1,,A,left", "D322", "sections.csv:7:horn"),
        ("section of no profile", "sections.csv", "P2,500", "P3,500", "D303", "sections.csv:4:profile"),
        ("section id twice", "sections.csv", "P2-left", "P1-100mm", "D308", "sections.csv:5:id"),
        ("section without mass", "sections.csv", "D1,9.5", "D1,", "D201", "sections.csv:2:mass_kg"),
        ("section status", "sections.csv", ",out", ",away", "D209", "sections.csv:8:status"),
        ("section id too long", "sections.csv", "P2-left", "P2-a-very-long-name-for-a-section-that-nobody-could-stamp-on-its-end", "D210", "sections.csv:5:id"),
        ("no section in service", "sections.csv", "V16,500,1,,A,,D4,12.5,good", "V16,500,1,,A,,D4,12.5,out", "D341", "tooling.toml:28:id"),
        ("setup leaves out a bend", "setups.csv", "P2,V16,600,2", "P2,V16,600,1", "D325", "setups.csv:3:bends"),
        ("setup of no bend", "setups.csv", "P2,V16,600,2", "P2,V16,600,2 7", "D325", "setups.csv:3:bends"),
        ("setup station gap", "setups.csv", "PRG-7,2", "PRG-7,3", "D326", "setups.csv:3:station"),
        ("setup disagrees", "setups.csv", "V16,600,2,,", "V16,600,2,25,", "D327", "setups.csv:3:seconds_a_piece"),
        ("setup of no brake", "setups.csv", "TRAY,B1,PRG-7,1", "TRAY,B9,PRG-7,1", "D304", "setups.csv:2:brake"),
        ("setup with die above", "setups.csv", "1,P1,V16", "1,V12,V16", "D303", "setups.csv:2:punch"),
        ("setup that does not mount", "tooling.toml", "mount = \"M1\"\n\n[[die]]\nid = \"V16\"", "mount = \"M2\"\n\n[[die]]\nid = \"V16\"", "D328", "floor.csv:2:die"),
        ("setup last run", "setups.csv", "2027-02-01", "1 February", "D207", "setups.csv:2:last_run"),
    ]);
}

#[test]
#[rustfmt::skip] // one fault a line
fn orders_that_cannot_be() {
    check_all(&[
        ("quantity absurd", "work-orders.csv", "BRACKET,40", "BRACKET,1000001", "D205", "work-orders.csv:2:quantity"),
        ("quantity zero", "work-orders.csv", "BRACKET,40", "BRACKET,0", "D205", "work-orders.csv:2:quantity"),
        ("quantity negative", "work-orders.csv", "BRACKET,40", "BRACKET,-4", "D204", "work-orders.csv:2:quantity"),
        ("quantity fractional", "work-orders.csv", "BRACKET,40", "BRACKET,4.5", "D217", "work-orders.csv:2:quantity"),
        ("decimal comma", "work-orders.csv", "BRACKET,40", "BRACKET,\"4,5\"", "D202", "work-orders.csv:2:quantity"),
        ("weight zero", "work-orders.csv", "2,K-1,,B1", "0,K-1,,B1", "D205", "work-orders.csv:2:weight"),
        ("certificate in words", "work-orders.csv", "415", "attached", "D202", "work-orders.csv:2:certificate_mpa"),
        ("unknown part", "work-orders.csv", "BRACKET", "BRAKET", "D301", "work-orders.csv:2:part"),
        ("unknown brake", "work-orders.csv", ",B1,415", ",B2,415", "D304", "work-orders.csv:2:brake"),
        ("order twice", "work-orders.csv", "W-3", "W-1", "D308", "work-orders.csv:4:order"),
        ("after nobody", "work-orders.csv", "K-1,W-1", "K-1,W-9", "D307", "work-orders.csv:3:after"),
        ("after itself", "work-orders.csv", "K-1,W-1", "K-1,W-2", "D309", "work-orders.csv:3:after"),
        ("after each other", "work-orders.csv", "2,K-1,,B1", "2,K-1,W-2,B1", "D309", "work-orders.csv:2:after"),
        ("both dates", "work-orders.csv", "2027-03-24,,,2", "2027-03-24,2027-03-25,,2", "D218", "work-orders.csv:2:due"),
        ("neither date", "work-orders.csv", "2027-03-24,,,2", ",,,2", "D218", "work-orders.csv:2:due"),
        ("due before ready", "work-orders.csv", "40,,2027-03-24", "40,2027-03-25,2027-03-24", "D310", "work-orders.csv:2:due"),
        ("ship date before ready", "work-orders.csv", "2027-03-23T06:00", "2027-03-30T06:00", "D310", "work-orders.csv:3:ship_date"),
        ("date the other way round", "work-orders.csv", "2027-03-24", "24.03.2027", "D207", "work-orders.csv:2:due"),
        ("day that is not", "work-orders.csv", "2027-03-24", "2027-02-30", "D207", "work-orders.csv:2:due"),
        ("time skipped", "work-orders.csv", "2027-03-24", "2027-03-28T02:15", "D208", "work-orders.csv:2:due"),
        ("year 9999", "work-orders.csv", "2027-03-24", "9999-03-24", "D207", "work-orders.csv:2:due"),
        ("days of later work unused", "work-orders.csv", "2027-03-24,,,2", "2027-03-24,,3,2", "D343", "work-orders.csv:2:downstream_days"),
        ("kit of one", "work-orders.csv", "1,K-1", "1,K-2", "D342", "work-orders.csv:2:kit"),
        ("deliveries exceed", "deliveries.csv", "W-3,60", "W-3,61", "D312", "deliveries.csv:3:quantity"),
        ("delivery of no order", "deliveries.csv", "W-3,60", "W-4,60", "D307", "deliveries.csv:3:order"),
        ("delivery without date", "deliveries.csv", "W-3,40,2027-03-25", "W-3,40,", "D201", "deliveries.csv:2:due"),
        ("few blanks", "blanks.csv", "W-3,60", "W-3,59", "D311", "blanks.csv:3:quantity"),
        ("blanks of no order", "blanks.csv", "W-3,60", "X-3,60", "D307", "blanks.csv:2:order"),
        ("control character", "work-orders.csv", "job 7", "job\u{7}7", "D220", "work-orders.csv:2:reference"),
    ]);
}

#[test]
#[rustfmt::skip] // one fault a line
fn people_and_floor_that_cannot_be() {
    check_all(&[
        ("unknown role", "crew.csv", "operator", "welder", "D209", "crew.csv:2:role"),
        ("unknown brake", "crew.csv", "both,day,B1", "both,day,B1 B7", "D304", "crew.csv:3:brakes"),
        ("unknown calendar", "crew.csv", "both,day", "both,noon", "D305", "crew.csv:3:calendar"),
        ("person twice", "crew.csv", "set-1", "op-1", "D308", "crew.csv:3:person"),
        ("nobody sets", "crew.csv", "set-1,both", "set-1,operator", "D340", "brakes.toml:2:id"),
        ("unknown row", "floor.csv", "station", "tools", "D209", "floor.csv:2:what"),
        ("unknown section", "floor.csv", "P1-100mm", "P1-150mm", "D306", "floor.csv:2:punch_sections"),
        ("section twice", "floor.csv", "V12-500mm-1 V12-500mm-2", "V12-500mm-1 V12-500mm-1", "D315", "floor.csv:2:die_sections"),
        ("section of another profile", "floor.csv", "P1-100mm", "P2-500mm", "D316", "floor.csv:2:punch_sections"),
        ("section out of service", "floor.csv", "V12,1000,P1-500mm-1 P1-100mm,V12-500mm-1 V12-500mm-2", "V16,1000,P1-500mm-1,V16-835mm", "D317", "floor.csv:2:die_sections"),
        ("sets mixed", "floor.csv", "V12,1000,P1-500mm-1 P1-100mm,V12-500mm-1 V12-500mm-2", "V16,1000,P1-500mm-1,V16-500mm V16-835mm", "D320", "floor.csv:2:die_sections"),
        ("horn inside", "floor.csv", "P1,V12,1000,P1-500mm-1 P1-100mm", "P2,V12,1000,P2-500mm P2-left", "D321", "floor.csv:2:punch_sections"),
        ("beyond the bed", "floor.csv", "V12,1000", "V12,1501", "D318", "floor.csv:2:left"),
        ("left of the bed", "floor.csv", "V12,1000", "V12,-1", "D204", "floor.csv:2:left"),
        ("stations overlap", "floor.csv", "running,B1", "station,B1,P2,V16,1999,P2-500mm,V16-500mm,,,,,\nrunning,B1", "D319", "floor.csv:3:left"),
        ("section on two stations", "floor.csv", "running,B1", "station,B1,P1,V16,100,P1-500mm-1,V16-500mm,,,,,\nrunning,B1", "D315", "floor.csv:3:punch_sections"),
        ("die of no such name", "floor.csv", "P1,V12", "P1,V10", "D303", "floor.csv:2:die"),
        ("station without sections", "floor.csv", "P1-500mm-1 P1-100mm", "", "D201", "floor.csv:2:punch_sections"),
        ("cell of another kind", "floor.csv", "W-1,12,,,", "W-1,12,,,why", "D219", "floor.csv:3:reason"),
        ("running unknown", "floor.csv", "W-1,12", "W-8,12", "D307", "floor.csv:3:order"),
        ("running on an unknown brake", "floor.csv", "running,B1", "running,B8", "D304", "floor.csv:3:brake"),
        ("more done than ordered", "floor.csv", "W-1,12", "W-1,41", "D314", "floor.csv:3:pieces_done"),
        ("all done", "floor.csv", "W-1,12", "W-1,40", "D346", "floor.csv:3:pieces_done"),
        ("two orders on a brake", "floor.csv", "down,B1", "running,B1,,,,,,W-3,1,,,\ndown,B1", "D313", "floor.csv:4:brake"),
        ("down backwards", "floor.csv", "2027-03-24T12:00", "2027-03-24T05:00", "D216", "floor.csv:4:until"),
        ("down for ever", "floor.csv", "2027-03-24T12:00", "", "D201", "floor.csv:4:until"),
        ("down until a skipped time", "floor.csv", "2027-03-24T12:00", "2027-03-28 02:59", "D208", "floor.csv:4:until"),
    ]);
}

#[test]
fn an_order_cannot_run_on_two_brakes() {
    let second = small_shop::BRAKES.replace("\"B1\"", "\"B2\"");
    let mut set = files();
    set.insert(
        "brakes.toml",
        [small_shop::BRAKES, &second].concat().into_bytes(),
    );
    set.insert(
        "crew.csv",
        small_shop::CREW.replace("day,B1", "day,B1 B2").into_bytes(),
    );
    let floor = format!("{}running,B2,,,,,,W-1,1,,,\n", small_shop::FLOOR);
    set.insert("floor.csv", floor.into_bytes());
    check("two brakes", &set, "D313", "floor.csv:6:order");
    check("tied elsewhere", &set, "D329", "floor.csv:6:brake");
}

#[test]
fn a_place_is_one_on_a_brake() {
    // Two orders on B1 with a place each, and one without.
    let with = |first: &str, second: &str, third: &str| {
        let orders = small_shop::ORDERS
            .replace("brake,certificate", "brake,place,certificate")
            .replace(",B1,415", &format!(",B1,{first},415"))
            .replace("K-1,W-1,,,,", &format!("K-1,W-1,{second},,,"))
            .replace("10:00,,,,,,,,,", &format!("10:00,,,,,,{third},,,"));
        let mut set = files();
        set.insert("work-orders.csv", orders.into_bytes());
        set
    };
    let (shop, findings) = read_shop(&with("999", "B1,1", ","));
    let shop = shop.unwrap_or_else(|| panic!("{findings:#?}"));
    let places: Vec<Option<u32>> = shop.orders.iter().map(|order| order.place).collect();
    assert_eq!(places, [Some(999), Some(1), None]);
    let set = with("7", "B1,7", ",");
    check("two at a place", &set, "D338", "work-orders.csv:3:place");
    let set = with("7", "B1,1", ",1");
    check("nowhere", &set, "D337", "work-orders.csv:4:place");
    let set = with("0", "B1,1", ",");
    check("place zero", &set, "D205", "work-orders.csv:2:place");
    let set = with("1000", "B1,1", ",");
    check("beyond", &set, "D205", "work-orders.csv:2:place");
    let set = with("1.5", "B1,1", ",");
    check("a half", &set, "D217", "work-orders.csv:2:place");
    let set = with("front", "B1,1", ",");
    check("in words", &set, "D202", "work-orders.csv:2:place");
}

#[test]
fn a_circle_of_three_is_told_once_in_order() {
    let orders = small_shop::ORDERS
        .replace(
            "W-3,TRAY,100,,2027-03-31T10:00,,,,,,,,,",
            "W-3,TRAY,100,,2027-03-31,,,,,W-2,,,,",
        )
        .replace("2,K-1,,B1", "2,K-1,W-3,B1");
    let mut set = files();
    set.insert("work-orders.csv", orders.into_bytes());
    check("circle of three", &set, "D309", "work-orders.csv:2:after");
    let (_, findings) = read_shop(&set);
    let circles: Vec<&Finding> = findings
        .iter()
        .filter(|finding| finding.code == "D309")
        .collect();
    assert_eq!(circles.len(), 1);
    assert_eq!(
        circles[0].found,
        "W-1 waits for W-3 waits for W-2 waits for W-1 in a circle"
    );
}

#[test]
fn whole_files_that_cannot_be_read() {
    let with = |name: &str, bytes: Vec<u8>| {
        let mut set = files();
        set.insert(name, bytes);
        set
    };
    check("empty", &with("parts.csv", Vec::new()), "D106", "parts.csv");
    check(
        "blank",
        &with("shop.toml", b" \n\n".to_vec()),
        "D106",
        "shop.toml",
    );
    check(
        "latin-1",
        &with("crew.csv", b"person,role\nM\xfcller,both\n".to_vec()),
        "D102",
        "crew.csv:2",
    );
    let wide: Vec<u8> = small_shop::CREW
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect();
    check(
        "UTF-16",
        &with("crew.csv", [vec![0xff, 0xfe], wide].concat()),
        "D102",
        "crew.csv:1",
    );
    check(
        "unknown file",
        &with("work_orders.csv", b"x\n".to_vec()),
        "D113",
        "work_orders.csv",
    );
    let mut without = FileSet::new();
    for (name, text) in small_shop::FILES
        .iter()
        .filter(|(name, _)| *name != "bends.csv")
    {
        without.insert(name, text.as_bytes().to_vec());
    }
    check("missing", &without, "D101", "bends.csv");
}

/// A line of more than 1 MiB is refused by itself, and its file goes on; a file of more than 64 MiB
/// (a line of 1 GB too, therefore) is refused by its size before anything looks into it, settings already from 4 MiB.
#[test]
fn nothing_oversized_is_parsed() {
    let long = "x".repeat((1 << 20) + 1);
    let crew = format!(
        "{}op-2,operator,day,{long}\nop-1,both,day,B1\n",
        small_shop::CREW
    );
    let mut set = files();
    set.insert("crew.csv", crew.into_bytes());
    check("long line", &set, "D104", "crew.csv:4");
    check("the line after it", &set, "D308", "crew.csv:5:person");

    let mut set = files();
    set.insert("crew.csv", vec![b'x'; (64 << 20) + 1]);
    check("large file", &set, "D103", "crew.csv");

    let mut set = files();
    set.insert("shop.toml", vec![b'#'; (4 << 20) + 1]);
    check("large settings", &set, "D103", "shop.toml");

    let mut rows = String::from("order,quantity,available\n");
    rows.push_str(&"W-3,1,\n".repeat(200_001));
    let mut set = files();
    set.insert("blanks.csv", rows.into_bytes());
    check("many rows", &set, "D105", "blanks.csv:200002");

    let mut people = String::from("person,role,calendar,brakes\n");
    for number in 0..5_001 {
        people.push_str(&format!("p-{number},both,day,all\n"));
    }
    let mut set = files();
    set.insert("crew.csv", people.into_bytes());
    check("many people", &set, "D117", "crew.csv:5002:person");

    let mut set = files();
    let sections = small_shop::SECTIONS.replace("P1,500,2", "P1,500,1000");
    let row = sections.lines().nth(1).expect("a row");
    let many: String = (0..201)
        .map(|n| format!("{}\n", row.replace(",,A", &format!(",S{n},A"))))
        .collect();
    set.insert("sections.csv", format!("{sections}{many}").into_bytes());
    check("many sections", &set, "D205", "sections.csv:211:count");
}

#[test]
fn findings_come_in_file_order_and_are_capped() {
    let mut rows = String::from("person,role,calendar,brakes\n");
    rows.push_str(&"x y,boss,noon,B9\n".repeat(2_000));
    let mut set = edited("shop.toml", "Europe/Berlin", "Nowhere");
    set.insert("crew.csv", rows.into_bytes());
    let (shop, findings) = read_shop(&set);
    assert!(shop.is_none());
    assert_eq!(findings.len(), 1_000);
    assert_eq!(findings[0].place.to_string(), "shop.toml:2:time_zone");
    assert_eq!(findings[999].code, "D190");
    assert_eq!(findings[999].severity, Severity::Note);
    let lines: Vec<Option<u64>> = findings[1..999]
        .iter()
        .map(|finding| finding.place.line)
        .collect();
    assert!(lines.is_sorted());
}

#[test]
fn all_faults_of_a_file_are_found_in_one_pass() {
    let orders = small_shop::ORDERS
        .replace("BRACKET,40", "BRAKET,0")
        .replace("2027-03-30", "soon")
        .replace("W-3,TRAY,100", "W-3,TRAY,many");
    let mut set = files();
    set.insert("work-orders.csv", orders.into_bytes());
    let (_, findings) = read_shop(&set);
    let said: Vec<String> = findings
        .iter()
        .map(|f| format!("{} {}", f.place, f.code))
        .collect();
    for expected in [
        "work-orders.csv:2:part D301",
        "work-orders.csv:2:quantity D205",
        "work-orders.csv:3:ship_date D207",
        "work-orders.csv:4:quantity D202",
    ] {
        assert!(
            said.iter().any(|said| said == expected),
            "{expected} in {said:?}"
        );
    }
}

#[test]
fn a_near_name_is_suggested() {
    let cases = [
        (
            "brakes.toml",
            "throat =",
            "throut =",
            "did you mean \"throat\"?",
        ),
        ("parts.csv", "STEEL", "STEAL", "did you mean \"STEEL\"?"),
        (
            "shop.toml",
            "Europe/Berlin",
            "Europe/Berln",
            "did you mean \"Europe/Berlin\"?",
        ),
        ("bends.csv", "down", "dwn", "did you mean \"down\"?"),
        (
            "crew.csv",
            "calendar",
            "calender",
            "did you mean \"calendar\"?",
        ),
    ];
    for (file, from, to, action) in cases {
        let (_, findings) = read_shop(&edited(file, from, to));
        let hit = findings.iter().any(|finding| finding.action == action);
        assert!(hit, "{file}: {}", findings[0]);
    }
}
