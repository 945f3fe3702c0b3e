//! Orders, the folder, beds, brakes and sections.

use crate::host::{Day, id, plain, refused};
use daybook::{Command, Happening, OrderStatus, Policy, RefusalKind, Source};
use documents::{Cells, OrderRow};
use testkit::{Recipe, invent};
use units::{BrakeId, OrderId, Seconds};

#[test]
fn orders_are_read_like_the_folders_and_versions_are_kept() {
    let mut day = Day::of(plain());
    let number = day.state.number;
    let row = day.row(&id("NEW-1"), 12);
    assert_eq!(day.put(vec![row.clone()]).expect("taken").len(), 1);
    assert_eq!(day.state.orders[&id("NEW-1")].version, number + 1);
    assert_eq!(day.put(vec![row.clone()]).expect("no news"), Vec::new());
    let put = |rows: Vec<OrderRow>, new_only: bool, expect| Command::PutOrders {
        source: Source::Request,
        name: "request".to_owned(),
        rows,
        new_only,
        expect,
    };
    let again = day.ask(&put(vec![row.clone()], true, None));
    refused(again, &RefusalKind::Conflict, "is there already");
    let old = day.ask(&put(vec![row], false, Some((id("NEW-1"), number))));
    let current = number + 1;
    refused(old, &RefusalKind::Stale { current }, "read it again");
    let mut bad = day.row(&id("NEW-2"), 5);
    bad.cells
        .insert("part".to_owned(), "NO-SUCH-PART".to_owned());
    bad.cells.insert("colour".to_owned(), "red".to_owned());
    let refusal = day.put(vec![bad]).expect_err("bad");
    let RefusalKind::Invalid(findings) = refusal.kind else {
        panic!("{refusal}");
    };
    let codes: Vec<(&str, String)> = findings
        .iter()
        .map(|finding| (finding.code, finding.place.to_string()))
        .collect();
    assert!(
        codes.contains(&("D301", "request:1:part".to_owned())),
        "{codes:?}"
    );
    assert!(
        codes.contains(&("D107", "request:1:colour".to_owned())),
        "{codes:?}"
    );
    // NEW-1 may not wait for one that waits for it.
    let mut second = day.row(&id("NEW-2"), 5);
    second.cells.insert("after".to_owned(), "NEW-1".to_owned());
    day.put(vec![second]).expect("taken");
    let mut first = day.row(&id("NEW-1"), 12);
    first.cells.insert("after".to_owned(), "NEW-2".to_owned());
    let refusal = day.put(vec![first]).expect_err("a circle");
    assert!(
        refusal
            .text
            .contains("NEW-1 waits for NEW-2 waits for NEW-1"),
        "{refusal}"
    );
}

#[test]
fn the_folder_brings_only_what_changed_in_it() {
    let mut day = Day::of(plain());
    let (first, second, third) = (id("W-1"), id("W-2"), id("W-3"));
    // A person changes the first; the folder does not, and so the person's word stands.
    let row = day.row(&first, 77);
    day.put(vec![row]).expect("taken");
    let mut shop = day.shop.clone();
    shop.orders.retain(|order| order.id != second);
    let third_in_folder = shop.orders.iter_mut().find(|order| order.id == third);
    third_in_folder.expect("there").quantity = 88;
    let kinds: Vec<&str> = day
        .take(&shop, 2)
        .expect("taken")
        .iter()
        .map(Happening::kind)
        .collect();
    assert_eq!(
        kinds,
        ["shop-data-taken", "orders-taken", "orders-withdrawn"]
    );
    let status = |day: &Day, id: &OrderId| day.state.order_line(&day.state.orders[id]);
    assert_eq!(status(&day, &first).quantity, 77);
    assert_eq!(status(&day, &second).status, OrderStatus::Withdrawn);
    assert_eq!(status(&day, &third).quantity, 88);
    assert_eq!(
        day.take(&shop, 3).expect("taken").len(),
        1,
        "nothing but the revision"
    );
    // It comes back into the folder as it was.
    let all = day.shop.clone();
    day.take(&all, 4).expect("taken");
    assert_eq!(status(&day, &second).status, OrderStatus::Open);
    // A part that an open order needs may not go.
    let row = day.row(&id("NEW-1"), 3);
    day.put(vec![row]).expect("taken");
    let part = day.state.orders[&id("NEW-1")].order.part.clone();
    let mut without = day.shop.clone();
    without.parts.retain(|known| known.id != part);
    without.setups.retain(|setup| setup.part != part);
    without.orders.retain(|order| order.part != part);
    let refusal = day.take(&without, 5).expect_err("needed");
    assert!(refusal.text.contains("of open order NEW-1"), "{refusal}");
}

#[test]
fn a_brake_down_twice_is_down_once_with_a_new_end() {
    let mut day = Day::of(plain());
    let brake = day.shop.brakes[0].id.clone();
    let as_of = day.now;
    let end = |hours: i64| as_of + Seconds(hours * 3_600);
    let down = |hours: i64, why: &str| Command::BrakeDown {
        brake: brake.clone(),
        from: None,
        until: end(hours),
        why: why.to_owned(),
    };
    day.ask(&down(2, "oil")).expect("down");
    day.now = day.now + Seconds(600);
    day.ask(&down(5, "")).expect("longer");
    // Nothing begins on it meanwhile, as somebody may be at work in it.
    day.publish();
    let lines = day.plan.clone().expect("published").brakes;
    if let Some(run) = lines[0].runs.first() {
        let start = day.ask(&Command::StartRun {
            brake: brake.clone(),
            run: run.name.clone(),
        });
        refused(start, &RefusalKind::NotNow, "is down (oil)");
    }
    assert_eq!(day.state.downs.len(), 1);
    let only = &day.state.downs[0];
    assert_eq!((only.window.start, only.window.end), (as_of, end(5)));
    assert_eq!(only.reason, "oil");
    day.ask(&Command::BrakeUp {
        brake: brake.clone(),
    })
    .expect("up");
    assert!(day.state.downs.is_empty());
}

#[test]
fn a_section_out_leaves_its_bed_and_old_proposals_are_not_published() {
    let mut day = Day::of(plain());
    day.publish();
    let (brake, runs) = day.runs();
    day.ask(&Command::StartRun {
        brake: brake.clone(),
        run: runs[0].clone(),
    })
    .expect("begun");
    let run = day.state.run_on(&brake).expect("a run");
    let section = run.stations[0].punch_sections[0].clone();
    let order = day.order_on(&brake);
    let made_from = day.state.number;
    day.ask(&Command::SectionOut {
        section: section.clone(),
        why: "chipped".to_owned(),
    })
    .expect("out");
    let shop = day.state.shop().expect("a shop");
    let stands = |station: &model::BedStation| station.sections().any(|id| *id == section);
    assert!(!shop.floor.stations.iter().any(stands));
    // Without its tools the order is not in progress any more, and is planned like the others.
    assert!(shop.floor.running.is_empty() && shop.order(&order).is_some());
    day.ask(&Command::RecordProposal {
        plan: 5,
        made_from,
        cause: "made in the meantime".to_owned(),
        objective: 1,
    })
    .expect("kept");
    let publish = Command::Publish {
        plan: 5,
        expect_published: None,
    };
    refused(
        day.ask(&publish),
        &RefusalKind::NotNow,
        "wait for the next proposal",
    );
    // Nor does the policy publish it.
    day.ask(&Command::ChangePolicy {
        policy: Policy {
            publish_automatically: true,
            ..Policy::default()
        },
        expect: Some(0),
    })
    .expect("set");
    let late = |plan, made_from| Command::RecordProposal {
        plan,
        made_from,
        cause: "again".to_owned(),
        objective: 1,
    };
    assert_eq!(day.ask(&late(6, made_from)).expect("kept").len(), 1);
    let number = day.state.number;
    assert_eq!(day.ask(&late(7, number)).expect("kept").len(), 2);
    assert_eq!(
        day.state.published.as_ref().map(|now| now.automatically),
        Some(true)
    );
}

#[test]
fn a_bed_takes_its_sections_from_where_they_stood() {
    let recipe = Recipe {
        tooled: 1.0,
        ..Recipe::bed(30, 0.0, testkit::Sections::Ample, 5)
    };
    let mut shop = invent(&recipe);
    shop.floor.running.clear();
    let mut day = Day::of(shop);
    let station = day.shop.floor.stations[0].clone();
    let other = &day
        .shop
        .brakes
        .iter()
        .find(|brake| brake.id != station.brake);
    let other = other.expect("another brake").id.clone();
    let spaced = |ids: &[units::SectionId]| {
        let ids: Vec<&str> = ids.iter().map(units::SectionId::as_str).collect();
        ids.join(" ")
    };
    let cells: Cells = [
        ("punch", station.punch.to_string()),
        ("die", station.die.to_string()),
        ("left", "0".to_owned()),
        ("punch_sections", spaced(&station.punch_sections)),
        ("die_sections", spaced(&station.die_sections)),
    ]
    .map(|(column, text)| (column.to_owned(), text))
    .into();
    let done = day.ask(&Command::DescribeBed {
        brake: other.clone(),
        stations: vec![cells],
    });
    let done = done.unwrap_or_else(|refusal| panic!("{refusal}"));
    assert_eq!(done.len(), 1);
    assert!(day.state.beds[&station.brake].is_empty());
    assert_eq!(day.state.beds[&other].len(), 1);
    let nowhere = BrakeId::new("B9").expect("an id");
    let nowhere = day.ask(&Command::DescribeBed {
        brake: nowhere,
        stations: Vec::new(),
    });
    refused(nowhere, &RefusalKind::Missing, "brakes.toml");
}
