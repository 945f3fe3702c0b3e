//! An invented shop, small and without a fault: one brake, a few tools, a bracket, a tray and a
//! lid with hems and a stepped radius.
//!
//! Tests change one thing in it at a time. Lines count from 1 at the first character.

// Each test program uses its own share of it; `text` is for tests alone.
#![allow(
    dead_code,
    missing_docs,
    unreachable_pub,
    clippy::expect_used,
    clippy::panic
)]

pub mod faults;

use documents::FileSet;

pub const SHOP: &str = r#"name = "Invented bending shop"
time_zone = "Europe/Berlin"
units = "mm"
as_of = "2027-03-22T15:30"
invented = true
due_time = "14:00"
downstream_days = 1

[rules]
late_hour_minutes = 30
inspector_calendar = "day"

[calendars.day]
shifts = [
  { name = "early", days = ["mon", "tue", "wed", "thu", "fri"], start = "06:00", end = "14:00", breaks = [["09:00", "09:15"], ["12:00", "12:30"]] },
]
closed = [{ date = "2027-03-26", reason = "public holiday" }]
extra = [{ date = "2027-03-27", name = "saturday", start = "06:00", end = "12:00", breaks = [], overtime = true }]

[calendars.night]
shifts = [
  { name = "night", days = ["sun", "mon"], start = "22:00", end = "06:00", breaks = [["01:45", "02:15"]] },
]
"#;

pub const BRAKES: &str = r#"[[brake]]
id = "B1"
name = "invented brake"
force_kn = 1000
bed = 2500
between_frames = "2150 mm"
throat = 300
open_height = 500
stroke = 200
drive_span = 2200
upper_holder = 100
lower_holder = 60
clamp_load_kn_m = 1500
holder_load_kn_m = 1500
rail_load_kn_m = 1500
tang = "T1"
die_mount = "M1"
clamping = "quick"
fast_mm_s = 120
slow_mm_s = 10
bend_mm_s = 8
back_mm_s = 100
gauge_mm_s = 300
mute_height = 6
fingers = 2
x = [5, 600]
r = [-20, 150]
z = "hand"
fitted = { r = "2027-01-15" }
angle_accuracy_deg = 0.5
calendar = "day"
times = { base_minutes = 5 }
"#;

pub const MATERIALS: &str = r#"[[material]]
id = "STEEL"
name = "plain steel sheet"
family = "steel"
strength_mpa = 400
strength_highest_mpa = 510
yield_mpa = 235
modulus_mpa = 210000
density_kg_m3 = 7850
radius_share_of_v = 0.16
springback_deg = 1
v_over_t = [6, 12]
source = "invented for tests"
"#;

pub const TOOLING: &str = r#"[[punch]]
id = "P1"
angle_deg = 85
tip_radius = 1
height = 120
load_kn_m = 1000
tang = "T1"

[[punch]]
id = "P2"
angle_deg = 85
tip_radius = 1
height = 120
load_kn_m = 500
tang = "T1"
relief = 40

[[die]]
id = "V12"
v = 12
angle_deg = 85
height = 80
groove_depth = 9
load_kn_m = 1000
mount = "M1"

[[die]]
id = "V16"
v = 16
angle_deg = 85
height = 80
groove_depth = 11
load_kn_m = 1000
mount = "M1"

[[punch]]
id = "AC30"
angle_deg = 28
tip_radius = 0.6
height = 120
load_kn_m = 400
tang = "T1"
relief = 10
relief_height = 45
body = 20

[[punch]]
id = "F1"
height = 100
load_kn_m = 2000
tang = "T1"
flattening = true

[[die]]
id = "F2"
v = 0
height = 100
load_kn_m = 2000
mount = "M1"
flattening = true

[[die]]
id = "MV-8"
v = 8
angle_deg = 28
height = 60
groove_depth = 12
load_kn_m = 800
mount = "M1"
width = 60
block = "MV"

[[die]]
id = "MV-10"
v = 10
angle_deg = 85
height = 60
groove_depth = 8
load_kn_m = 900
mount = "M1"
width = 60
block = "MV"
"#;

pub const SECTIONS: &str = "\
profile,length_mm,count,id,set,horn,drawer,mass_kg,status
P1,500,2,,A,none,D1,9.5,good
P1,100,1,,A,none,D1,1.9,good
P2,500,1,,A,none,D2,8.1,good
P2,100,1,P2-left,A,left,D2,1.6,good
V12,500,2,,A,,D3,11.2,good
V16,500,1,,A,,D4,12.5,good
V16,835,1,,B,,D4,20.9,out
AC30,600,1,,A,none,D5,9.9,good
F1,600,1,,A,,D5,12.4,good
F2,600,1,,A,,D5,12.4,good
MV,600,2,,A,,D6,15.8,good
";

pub const PARTS: &str = "\
part,name,material,thickness,blank_length,blank_width,developed_for_v,length_tolerance,angle_tolerance_deg,crew,approval,proven_only,grain
BRACKET,angle bracket,STEEL,1.5,400,120,12,0.5,1,,own,no,long
TRAY,\"tray, two flanges\",STEEL,2,600,300,,,,2,inspector,,
LID,hemmed lid,STEEL,1,300,200,,,,,,,short
";

pub const BENDS: &str = "\
part,bend,angle_deg,length,leg,direction,edge,radius,inside,side_return,return_depth,lift,taper_deg,flange_height,kind,gap,line
BRACKET,1,90,400,40,up,a,,,,,,,,,,38.5
TRAY,1,90,600,30,up,a,2.5,,0,0,0,0,30,air,,28
TRAY,2,90,600,30,down,b,,,,,,,,,,272
LID,1,0,300,10,up,a,,,,,,,,hem,0.5,
LID,2,,300,10,up,b,,,,,,,,hem,,
LID,3,90,200,60,up,c,30,,,,,,,stepped,,
";

pub const SETUPS: &str = "\
part,brake,program,station,punch,die,length,bends,seconds_a_piece,last_run
TRAY,B1,PRG-7,1,P1,V16,600,1,21.5,2027-02-01
TRAY,B1,PRG-7,2,P2,V16,600,2,,
LID,B1,PRG-9,1,AC30,MV-8,300,1 2,,
LID,B1,PRG-9,2,F1,F2,300,2 1,,
LID,B1,PRG-9,3,P1,V12,200,3,,
";

pub const DEDUCTIONS: &str = "\
material,thickness_mm,v_mm,angle_deg,deduction_mm
STEEL,1.5,10,90,2.85
STEEL,1.5,12,90,2.95
STEEL,2,16,90,3.9
STEEL,2,16,120,1.9
";

pub const ORDERS: &str = "\
order,part,quantity,ready,due,ship_date,downstream_days,weight,kit,after,brake,certificate_mpa,heat,reference
W-1,BRACKET,40,,2027-03-24,,,2,K-1,,B1,415,heat 12,job 7
W-2,TRAY,20,2027-03-23T06:00,,2027-03-30,2,1,K-1,W-1,,,,
W-3,TRAY,100,,2027-03-31T10:00,,,,,,,,,
";

pub const DELIVERIES: &str = "\
order,quantity,due
W-3,40,2027-03-25
W-3,60,2027-03-31 10:00
";

pub const BLANKS: &str = "\
order,quantity,available
W-3,60,2027-03-24
W-3,40,
";

pub const FLOOR: &str = "\
what,brake,punch,die,left,punch_sections,die_sections,order,pieces_done,from,until,reason
station,B1,P1,V12,1000,P1-500mm-1 P1-100mm,V12-500mm-1 V12-500mm-2,,,,,
running,B1,,,,,,W-1,12,,,
down,B1,,,,,,,,2027-03-24T06:00,2027-03-24T12:00,yearly service
station,B1,AC30,MV-10,100,AC30-600mm,MV-600mm-1,,,,,
";

pub const CREW: &str = "\
person,role,calendar,brakes
op-1,operator,day,all
set-1,both,day,B1
";

/// The files with their texts.
pub const FILES: &[(&str, &str)] = &[
    ("shop.toml", SHOP),
    ("brakes.toml", BRAKES),
    ("materials.toml", MATERIALS),
    ("tooling.toml", TOOLING),
    ("sections.csv", SECTIONS),
    ("parts.csv", PARTS),
    ("bends.csv", BENDS),
    ("deductions.csv", DEDUCTIONS),
    ("setups.csv", SETUPS),
    ("work-orders.csv", ORDERS),
    ("deliveries.csv", DELIVERIES),
    ("blanks.csv", BLANKS),
    ("crew.csv", CREW),
    ("floor.csv", FLOOR),
];

/// The whole folder.
pub fn files() -> FileSet {
    let mut set = FileSet::new();
    for (name, text) in FILES {
        set.insert(name, text.as_bytes().to_vec());
    }
    set
}

/// The text of one of its files.
pub fn text(name: &str) -> &'static str {
    FILES
        .iter()
        .find(|(file, _)| *file == name)
        .map(|(_, text)| *text)
        .expect("a known file")
}
