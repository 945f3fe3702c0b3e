//! A shop without a fault is read without a finding, and means what it says.

#![allow(clippy::expect_used)] // helpers of tests are not tests to the lint

mod small_shop;

use documents::{FileSet, local, parse_moment, read_shop};
use model::{BendKind, Grain, Horn, Profile, Shop};
use small_shop::{FILES, files};
use units::{BrakeId, Degrees, Length, OrderId, PartId, ProfileId, Seconds, SectionId};

fn shop() -> Shop {
    let (shop, findings) = read_shop(&files());
    let said: Vec<String> = findings.iter().map(ToString::to_string).collect();
    assert_eq!(said, Vec::<String>::new());
    shop.expect("no finding, hence a shop")
}

#[test]
fn lengths_defaults_and_rules_are_as_written() {
    let shop = shop();
    assert_eq!(shop.name, "Invented bending shop");
    let brake = &shop.brakes[0];
    assert_eq!(brake.between_frames, Length::from_whole_mm(2_150));
    assert_eq!(
        brake.gauge.r.map(|axis| axis.from),
        Some(Length::from_whole_mm(-20))
    );
    assert!(brake.gauge.r.and_then(|axis| axis.fitted).is_some());
    assert_eq!(brake.times.base, Seconds::from_minutes(5));
    assert_eq!(
        brake.times.station_on,
        Seconds(90),
        "the rest from the defaults for quick clamps"
    );
    assert_eq!(shop.rules.late_hour_minutes, 30);
    assert_eq!(shop.rules.v_rules.len(), 4);
    assert_eq!(shop.rules.overtime_tenths, 5);
    assert_eq!(shop.rules.k_factor, None);
    let ids: Vec<&str> = shop
        .profiles
        .iter()
        .map(|profile| profile.id().as_str())
        .collect();
    let expected = [
        "P1", "P2", "AC30", "F1", "V12", "V16", "F2", "MV-8", "MV-10",
    ];
    assert_eq!(ids, expected);
    assert!(matches!(&shop.profiles[1], Profile::Punch(punch) if punch.relief.mm() > 39.0));
}

#[test]
fn sections_are_counted_out_and_named() {
    let shop = shop();
    let ids: Vec<&str> = shop
        .sections
        .iter()
        .map(|section| section.id.as_str())
        .collect();
    let expected = [
        "P1-500mm-1",
        "P1-500mm-2",
        "P1-100mm",
        "P2-500mm",
        "P2-left",
        "V12-500mm-1",
        "V12-500mm-2",
        "V16-500mm",
        "V16-835mm",
        "AC30-600mm",
        "F1-600mm",
        "F2-600mm",
        "MV-600mm-1",
        "MV-600mm-2",
    ];
    assert_eq!(ids, expected);
    let horn = SectionId::new("P2-left")
        .ok()
        .and_then(|id| shop.section(&id).map(|s| s.horn));
    assert_eq!(horn, Some(Horn::Left));
}

#[test]
fn orders_are_due_when_later_work_allows() {
    let shop = shop();
    let due = |id: &str| {
        let order = OrderId::new(id)
            .ok()
            .and_then(|id| shop.order(&id))
            .expect("an order");
        local(order.due, shop.zone)
    };
    // A date alone means the shop's due time.
    assert_eq!(due("W-1"), "2027-03-24 14:00");
    // Two working days before Tuesday the 30th: Monday the 29th, then the extra shift of Saturday
    // the 27th; Sunday the 28th is one too, because a night shift of another calendar starts on it.
    // Counting back: Mon 29, Sun 28.
    assert_eq!(due("W-2"), "2027-03-28 14:00");
    assert_eq!(due("W-3"), "2027-03-31 10:00");
    let third = &shop.orders[2];
    assert_eq!(
        third
            .blanks
            .iter()
            .map(|lot| lot.quantity)
            .collect::<Vec<_>>(),
        [40, 60]
    );
    assert_eq!(
        Some(third.blanks[0].available),
        shop.as_of,
        "on hand when the shop was described"
    );
    assert_eq!(
        local(third.blanks[1].available, shop.zone),
        "2027-03-24 00:00"
    );
    assert_eq!(
        local(third.deliveries[0].due, shop.zone),
        "2027-03-25 14:00"
    );
}

#[test]
fn setups_floor_and_crew_are_put_together() {
    let shop = shop();
    let tray = PartId::new("TRAY").expect("an id");
    let brake = BrakeId::new("B1").expect("an id");
    let setup = shop
        .setups_of(&tray, &brake)
        .next()
        .expect("a proven setup");
    assert_eq!(setup.stations.len(), 2);
    assert_eq!(setup.seconds_a_piece, Some(21.5));
    let stations: Vec<usize> = shop
        .floor
        .stations
        .iter()
        .map(|station| station.sections().count())
        .collect();
    assert_eq!(stations, [2, 4], "from left to right");
    assert_eq!(shop.floor.running[0].pieces_done, 12);
    let noon = parse_moment("2027-03-24T12:00", shop.zone);
    assert_eq!(Ok(shop.floor.down[0].window.end), noon);
    assert_eq!(shop.people[0].brakes, vec![brake]);
}

#[test]
fn a_punch_stands_as_drawn_unless_its_row_says_otherwise() {
    let said = |cell: &str| {
        let floor = format!(
            "what,brake,punch,die,left,punch_sections,die_sections,reversed\n\
             station,B1,P2,V16,100,P2-500mm,V16-500mm,{cell}\n"
        );
        let mut set = files();
        set.insert("floor.csv", floor.into_bytes());
        let (shop, findings) = read_shop(&set);
        assert!(findings.is_empty(), "{cell}: {}", findings[0]);
        shop.expect("a shop").floor.stations[0].reversed
    };
    assert_eq!(["yes", "no", ""].map(said), [true, false, false]);
    let without: Vec<bool> = shop().floor.stations.iter().map(|s| s.reversed).collect();
    assert_eq!(without, [false, false], "and without the column");
}

#[test]
fn a_rule_given_goes_before_its_default() {
    let mut set = files();
    let rules = small_shop::SHOP.replacen("[rules]", "[rules]\nstop_height = \"1/2 in\"", 1);
    set.insert("shop.toml", rules.into_bytes());
    let shop = read_shop(&set).0.expect("a good shop");
    assert_eq!(shop.rules.stop_height, Length::from_nanometres(12_700_000));
}

#[test]
fn hems_stepped_radii_and_lines_are_as_written() {
    let shop = shop();
    let part = |id: &str| {
        let part = PartId::new(id).ok().and_then(|id| shop.part(&id).cloned());
        part.expect("a part")
    };
    let (bracket, tray, lid) = (part("BRACKET"), part("TRAY"), part("LID"));
    let grains = [bracket.grain, tray.grain, lid.grain];
    assert_eq!(grains, [Some(Grain::Long), None, Some(Grain::Short)]);
    let line = |nm| Some(Length::from_nanometres(nm));
    assert_eq!(bracket.bends[0].line, line(38_500_000));
    assert_eq!(bracket.bends[0].kind, BendKind::Air);
    assert_eq!(tray.bends[0].line, line(28_000_000));
    let kinds: Vec<BendKind> = lid.bends.iter().map(|bend| bend.kind).collect();
    let gap = Length::from_nanometres(500_000);
    let closed = BendKind::Hem { gap: Length::ZERO };
    assert_eq!(kinds, [BendKind::Hem { gap }, closed, BendKind::Stepped]);
    let angles: Vec<Degrees> = lid.bends.iter().map(|bend| bend.angle).collect();
    assert_eq!(angles, [0.0, 0.0, 90.0].map(Degrees::of));
    assert!(lid.bends.iter().all(|bend| bend.line.is_none()));
    assert_eq!(lid.bends[0].flange_height, lid.bends[0].leg);
    assert_eq!(lid.bends[2].radius, Some(Length::from_whole_mm(30)));
}

#[test]
fn shapes_of_tools_and_brakes_are_as_written_or_by_default() {
    let shop = shop();
    let mm = Length::from_whole_mm;
    let punch = |id: &str| {
        let punch = ProfileId::new(id)
            .ok()
            .and_then(|id| shop.punch(&id).cloned());
        punch.expect("a punch")
    };
    let die = |id: &str| {
        let die = ProfileId::new(id)
            .ok()
            .and_then(|id| shop.die(&id).cloned());
        die.expect("a die")
    };
    let brake = &shop.brakes[0];
    assert_eq!(
        (brake.ram_thickness, brake.bed_thickness),
        (mm(100), mm(120))
    );
    let straight = punch("P1");
    assert_eq!(
        (straight.relief_height, straight.body),
        (Length::ZERO, mm(25))
    );
    assert_eq!(punch("P2").relief_height, mm(2 * 40 + 25));
    let acute = punch("AC30");
    assert_eq!((acute.relief_height, acute.body), (mm(45), mm(20)));
    let flat = punch("F1");
    assert!(flat.flattening && !straight.flattening);
    assert_eq!(
        (flat.angle, flat.tip_radius),
        (Degrees::of(180.0), Length::ZERO)
    );
    let flat = die("F2");
    assert!(flat.flattening && flat.block.is_none());
    assert_eq!(
        (flat.v, flat.groove_depth, flat.width),
        (Length::ZERO, Length::ZERO, mm(40))
    );
    // 16 + 20 mm are less than 40; 60 are given.
    assert_eq!((die("V16").width, die("MV-8").width), (mm(40), mm(60)));
    let block = ProfileId::new("MV").ok();
    assert!(block.is_some() && die("MV-8").block == block && die("MV-10").block == block);
}

#[test]
fn a_wide_die_is_twenty_millimetres_wider_than_its_v_by_default() {
    let mut set = files();
    let tools = small_shop::TOOLING.replacen("v = 16", "v = 50.5", 1);
    set.insert("tooling.toml", tools.into_bytes());
    let shop = read_shop(&set).0.expect("a good shop");
    let die = ProfileId::new("V16")
        .ok()
        .and_then(|id| shop.die(&id).cloned());
    assert_eq!(
        die.map(|die| die.width),
        Some(Length::from_nanometres(70_500_000))
    );
}

#[test]
fn measured_deductions_and_their_rules_are_as_written() {
    let shop = shop();
    let read: Vec<(f64, f64, f64, f64)> = shop
        .deductions
        .iter()
        .map(|row| {
            (
                row.thickness.mm(),
                row.v.mm(),
                row.angle.get(),
                row.deduction.mm(),
            )
        })
        .collect();
    let expected = [
        (1.5, 10.0, 90.0, 2.85),
        (1.5, 12.0, 90.0, 2.95),
        (2.0, 16.0, 90.0, 3.9),
        (2.0, 16.0, 120.0, 1.9),
    ];
    assert_eq!(read, expected);
    assert!(
        shop.deductions
            .iter()
            .all(|row| row.material.as_str() == "STEEL")
    );
    assert_eq!(shop.rules.touch_allowance, Length::from_nanometres(100_000));
    assert_eq!(shop.rules.stop_height, Length::from_whole_mm(10));
    assert_eq!(shop.rules.step_depth, Length::from_nanometres(500_000));
    assert!((shop.rules.flatten_factor - 4.0).abs() < 1e-12);
}

#[test]
fn columns_comments_and_units_may_come_as_people_write_them() {
    let mut set = files();
    let parts = "\u{feff}# our parts\r\n\r\nname,part,blank_width_in,blank_length_in,thickness_in,material\r\n\
                 bracket,BRACKET,\"4-3/4\",15-3/4,1.5 mm,STEEL\r\n\
                 tray,TRAY,300mm,\"23 5/8\",2 mm,STEEL\r\n\
                 lid,LID,200 mm,300 mm,1 mm,STEEL\r\n";
    set.insert(
        "parts.csv",
        parts.replace("\"23 5/8\"", "23-5/8\"").into_bytes(),
    );
    let (shop, findings) = read_shop(&set);
    assert!(findings.is_empty(), "{}", findings[0]);
    let shop = shop.expect("a shop");
    assert_eq!(shop.parts[0].blank.0, Length::from_nanometres(400_050_000));
    assert_eq!(shop.parts[1].blank.0, Length::from_nanometres(600_075_000));
    assert_eq!(shop.parts[0].thickness, Length::from_nanometres(1_500_000));
}

#[test]
fn an_inch_shop_reads_plain_numbers_as_inches() {
    let mut set = files();
    set.insert(
        "shop.toml",
        small_shop::SHOP.replace("\"mm\"", "\"in\"").into_bytes(),
    );
    set.insert("materials.toml", small_shop::MATERIALS.as_bytes().to_vec());
    let (_, findings) = read_shop(&set);
    // 2 500 in of bed are beyond any brake: the unit has reached the file.
    assert!(
        findings
            .iter()
            .any(|finding| finding.place.to_string() == "brakes.toml:5:bed")
    );
}

#[test]
fn optional_files_are_noted_with_what_is_assumed() {
    let mut set = FileSet::new();
    let optional = [
        "deductions.csv",
        "setups.csv",
        "deliveries.csv",
        "blanks.csv",
        "floor.csv",
    ];
    for (name, text) in FILES.iter().filter(|(name, _)| !optional.contains(name)) {
        set.insert(name, text.as_bytes().to_vec());
    }
    let (shop, findings) = read_shop(&set);
    assert!(shop.is_some());
    assert_eq!(findings.len(), optional.len());
    assert!(findings.iter().all(|finding| finding.code == "D115"));
}
