//! A shop without a fault is read without a finding, and means what it says.

#![allow(clippy::expect_used)] // helpers of tests are not tests to the lint

mod small_shop;

use documents::{FileSet, local, parse_moment, read_shop};
use model::{Horn, Profile, Shop};
use small_shop::{FILES, files};
use units::{BrakeId, Length, OrderId, PartId, Seconds, SectionId};

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
    assert_eq!(ids, ["P1", "P2", "V12", "V16"]);
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
    assert_eq!(shop.floor.stations.len(), 1);
    assert_eq!(shop.floor.stations[0].sections().count(), 4);
    assert_eq!(shop.floor.running[0].pieces_done, 12);
    let noon = parse_moment("2027-03-24T12:00", shop.zone);
    assert_eq!(Ok(shop.floor.down[0].window.end), noon);
    assert_eq!(shop.people[0].brakes, vec![brake]);
}

#[test]
fn columns_comments_and_units_may_come_as_people_write_them() {
    let mut set = files();
    let parts = "\u{feff}# our parts\r\n\r\nname,part,blank_width_in,blank_length_in,thickness_in,material\r\n\
                 bracket,BRACKET,\"4-3/4\",15-3/4,1.5 mm,STEEL\r\n\
                 tray,TRAY,300mm,\"23 5/8\",2 mm,STEEL\r\n";
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
    let optional = ["setups.csv", "deliveries.csv", "blanks.csv", "floor.csv"];
    for (name, text) in FILES.iter().filter(|(name, _)| !optional.contains(name)) {
        set.insert(name, text.as_bytes().to_vec());
    }
    let (shop, findings) = read_shop(&set);
    assert!(shop.is_some());
    assert_eq!(findings.len(), optional.len());
    assert!(findings.iter().all(|finding| finding.code == "D115"));
}
