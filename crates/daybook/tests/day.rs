//! A day in a small invented shop, step by step: what is taken, what is refused and with which
//! words, and what the shop to plan then is.

#![allow(clippy::expect_used, clippy::panic)] // helpers of tests fail by it

use daybook::{
    Calibrated, Command, Doing, Happening, OrderStatus, Policy, Refusal, RefusalKind, Source, State,
};
use documents::{Base, Cells, FileSet, OrderRow};
use model::{Plan, Shop};
use schedule::{Ask, plan_day};
use std::sync::Arc;
use testkit::{Features, Recipe, invent, write_folder};
use units::{BrakeId, Moment, OrderId, Seconds};

struct Day {
    state: State,
    shop: Shop,
    now: Moment,
    plan: Option<Plan>,
}

fn base_of(shop: &Shop) -> Arc<Base> {
    let mut files = FileSet::new();
    for (name, text) in write_folder(shop) {
        files.insert(name, text.into_bytes());
    }
    Arc::new(Base::read(&files).0.expect("sound"))
}

/// Thirty plain orders on three brakes, all beds empty.
fn plain() -> Shop {
    let mut recipe = Recipe::bed(30, 0.0, testkit::Sections::Ample, 5);
    recipe.features = Features::default();
    recipe.tooled = 0.0;
    invent(&recipe)
}

impl Day {
    fn of(shop: Shop) -> Day {
        let now = shop.as_of.expect("said");
        let mut day = Day {
            state: State::new(),
            shop,
            now,
            plan: None,
        };
        day.take(&day.shop.clone(), 1).expect("taken");
        day
    }

    fn take(&mut self, shop: &Shop, revision: u64) -> Result<Vec<Happening>, Refusal> {
        let base = base_of(shop);
        let done = self.ask(&Command::TakeShopData {
            revision,
            base: Arc::clone(&base),
        })?;
        self.state.furnish(revision, base);
        Ok(done)
    }

    fn ask(&mut self, command: &Command) -> Result<Vec<Happening>, Refusal> {
        let done = self.state.decide(command, self.now, self.plan.as_ref())?;
        for happening in &done {
            let number = self.state.number + 1;
            self.state.apply(happening, number, self.now, "lead");
        }
        Ok(done)
    }

    /// Plans, keeps and publishes.
    fn publish(&mut self) {
        let shop = self.state.shop().expect("a shop");
        let ask = Ask {
            from: self.now,
            seed: 1,
            threads: 1,
            seconds: None,
        };
        let mut stop = |done: u64| done >= 20;
        let plan = plan_day(&shop, ask, self.plan.as_ref(), &mut stop, &mut ()).plan;
        let number = self.state.number + 1_000;
        let made_from = self.state.number;
        let (cause, objective) = ("a test".to_owned(), plan.totals.objective);
        self.ask(&Command::RecordProposal {
            plan: number,
            made_from,
            cause,
            objective,
        })
        .expect("kept");
        self.ask(&Command::Publish {
            plan: number,
            expect_published: None,
        })
        .expect("published");
        self.plan = Some(plan);
    }

    /// A brake with at least two runs in the plan, and the names of its runs.
    fn runs(&self) -> (BrakeId, Vec<String>) {
        let lines = &self.plan.as_ref().expect("published").brakes;
        let line = lines.iter().find(|line| line.runs.len() > 1).expect("runs");
        let names = line.runs.iter().map(|run| run.name.clone()).collect();
        (line.brake.clone(), names)
    }

    fn order_on(&self, brake: &BrakeId) -> OrderId {
        self.state.run_on(brake).expect("a run").order.clone()
    }

    fn row(&self, order: &OrderId, quantity: u32) -> OrderRow {
        let part = self.state.orders.get(order).map(|order| &order.order.part);
        let part = part.unwrap_or(&self.shop.parts[0].id);
        let cells = [
            ("order", order.to_string()),
            ("part", part.to_string()),
            ("quantity", quantity.to_string()),
            ("due", "2027-12-01".to_owned()),
        ];
        OrderRow {
            cells: cells.map(|(column, text)| (column.to_owned(), text)).into(),
            ..OrderRow::default()
        }
    }

    fn put(&mut self, rows: Vec<OrderRow>) -> Result<Vec<Happening>, Refusal> {
        self.ask(&Command::PutOrders {
            source: Source::Request,
            name: "request".to_owned(),
            rows,
            new_only: false,
            expect: None,
        })
    }
}

fn id(text: &str) -> OrderId {
    OrderId::new(text).expect("an id")
}

fn refused(asked: Result<Vec<Happening>, Refusal>, kind: &RefusalKind, words: &str) {
    let refusal = asked.expect_err(words);
    assert_eq!(&refusal.kind, kind, "{refusal}");
    assert!(refusal.text.contains(words), "{refusal}");
}

#[test]
fn a_run_goes_from_changeover_to_its_last_piece() {
    let mut day = Day::of(plain());
    day.publish();
    let (brake, runs) = day.runs();
    let start = |run: &str| Command::StartRun {
        brake: brake.clone(),
        run: run.to_owned(),
    };
    refused(
        day.ask(&start("B9-99")),
        &RefusalKind::Missing,
        "look it up",
    );
    let change = Command::StartChangeover {
        brake: brake.clone(),
        run: runs[0].clone(),
    };
    assert_eq!(day.ask(&change).expect("begun").len(), 1);
    assert!(matches!(day.state.doing(&brake), Doing::ChangingOver(_)));
    refused(
        day.ask(&start(&runs[1])),
        &RefusalKind::Conflict,
        "being changed over",
    );
    day.now = day.now + Seconds(1_500);
    // The changeover ends with the start of its run.
    let kinds: Vec<&str> = day
        .ask(&start(&runs[0]))
        .expect("begun")
        .iter()
        .map(Happening::kind)
        .collect();
    assert_eq!(kinds, ["changeover-finished", "run-started"]);
    assert_eq!(day.state.actuals.changes[0].seconds, 1_500);
    refused(
        day.ask(&start(&runs[1])),
        &RefusalKind::Conflict,
        "end its run first",
    );
    let order = day.order_on(&brake);
    let quantity = day.state.orders[&order].order.quantity;
    let withdraw = Command::WithdrawOrders {
        orders: vec![order.clone()],
        why: String::new(),
    };
    refused(
        day.ask(&withdraw),
        &RefusalKind::NotNow,
        "end its run first",
    );
    let count = |good, scrap| Command::CountPieces {
        brake: brake.clone(),
        good,
        scrap,
    };
    refused(
        day.ask(&count(quantity + 1, 0)),
        &RefusalKind::Conflict,
        "correct the count",
    );
    day.ask(&count(1, 1)).expect("counted");
    assert_eq!(day.ask(&count(1, 1)).expect("no news"), Vec::new());
    let scrap = Command::Scrap {
        brake: brake.clone(),
        pieces: 2,
    };
    day.ask(&scrap).expect("counted");
    assert_eq!(day.state.run_on(&brake).map(|run| run.scrap), Some(3));
    let running = &day.state.shop().expect("a shop").floor.running;
    assert_eq!(running[0].pieces_done, 1);
    let finish = |good, short| Command::FinishRun {
        brake: brake.clone(),
        good,
        scrap: 3,
        short,
    };
    if quantity > 1 {
        refused(
            day.ask(&finish(1, false)),
            &RefusalKind::Conflict,
            "ends short",
        );
    }
    day.now = day.now + Seconds(600);
    day.ask(&finish(quantity, false)).expect("ended");
    let line = day.state.order_line(&day.state.orders[&order]);
    assert_eq!(
        (line.status, line.done, line.scrap),
        (OrderStatus::Done, quantity, 3)
    );
    refused(
        day.ask(&start(&runs[0])),
        &RefusalKind::Conflict,
        "begun already",
    );
    refused(
        day.ask(&finish(1, true)),
        &RefusalKind::Conflict,
        "start a run first",
    );
    let shop = day.state.shop().expect("a shop");
    assert!(shop.order(&order).is_none() && shop.floor.running.is_empty());
    assert!(!shop.floor.stations.is_empty(), "the tools stay on the bed");
}

#[test]
fn what_is_left_of_a_short_run_is_planned_again() {
    let mut shop = plain();
    for order in &mut shop.orders {
        order.quantity = 10;
        let due = order.due;
        let share = |quantity| model::Delivery { quantity, due };
        order.deliveries = vec![share(4), share(6)];
        let available = order.ready;
        let lot = |quantity| model::BlankLot {
            quantity,
            available,
        };
        order.blanks = vec![lot(5), lot(6)];
    }
    let mut day = Day::of(shop);
    day.publish();
    let (brake, runs) = day.runs();
    day.ask(&Command::StartRun {
        brake: brake.clone(),
        run: runs[0].clone(),
    })
    .expect("begun");
    let order = day.order_on(&brake);
    let run = day.state.run_on(&brake).expect("a run").clone();
    assert!(run.quantity <= 5, "within a lot and a delivery");
    let finish = |good, scrap| Command::FinishRun {
        brake: brake.clone(),
        good,
        scrap,
        short: true,
    };
    // Eleven blanks are announced in all.
    refused(
        day.ask(&finish(2, 10)),
        &RefusalKind::Conflict,
        "announce more blanks",
    );
    day.ask(&finish(2, 3)).expect("ended");
    assert!(day.state.plan_wanted());
    let shop = day.state.shop().expect("a shop");
    let left = shop.order(&order).expect("open");
    assert_eq!(left.quantity, 8);
    let deliveries: Vec<u32> = left.deliveries.iter().map(|d| d.quantity).collect();
    assert_eq!(deliveries, [2, 6]);
    // Five blanks are used up; two of the eight pieces have none any more.
    let blanks: Vec<u32> = left.blanks.iter().map(|lot| lot.quantity).collect();
    assert_eq!(blanks, [6]);
    let fewer = day.row(&order, 1);
    refused(
        day.put(vec![fewer]),
        &RefusalKind::Conflict,
        "order at least so many",
    );
}

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
fn an_order_may_be_bent_on_two_brakes_at_once() {
    let mut shop = plain();
    shop.orders.truncate(1);
    let order = &mut shop.orders[0];
    (order.quantity, order.run_pieces) = (1_000, Some(500));
    let (id, ready) = (order.id.clone(), order.ready);
    order.due = ready;
    let mut day = Day::of(shop);
    day.publish();
    let lines = day.plan.clone().expect("published").brakes;
    let busy: Vec<_> = lines.iter().filter(|line| !line.runs.is_empty()).collect();
    assert_eq!(busy.len(), 2, "one order late on two brakes");
    for line in &busy {
        day.now = day.now + Seconds(60);
        day.ask(&Command::StartRun {
            brake: line.brake.clone(),
            run: line.runs[0].name.clone(),
        })
        .expect("begun");
    }
    let shop = day.state.shop().expect("a shop");
    assert_eq!(shop.order(&id).map(|order| order.quantity), Some(500));
    assert_eq!(shop.floor.running.len(), 1);
    assert_eq!(shop.floor.running[0].brake, busy[0].brake);
    let down = &shop.floor.down[0];
    assert_eq!(down.brake, busy[1].brake);
    assert!(down.window.end >= busy[1].runs[0].end);
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

#[test]
fn an_accepted_calibration_is_in_the_shop() {
    let mut shop = plain();
    // One part, proven on one brake alone.
    let setup = shop.setups[0].clone();
    let (part, only) = (setup.part.clone(), setup.brake.clone());
    shop.setups = vec![setup];
    for order in &mut shop.orders {
        (order.quantity, order.part) = (1_000, part.clone());
        order.brake = Some(only.clone());
    }
    let mut day = Day::of(shop);
    // Runs of one part, each a tenth of an order, take twice what is planned.
    for _ in 0..12 {
        day.publish();
        let (brake, runs) = day.runs();
        day.ask(&Command::StartRun {
            brake: brake.clone(),
            run: runs[0].clone(),
        })
        .expect("begun");
        let run = day.state.run_on(&brake).expect("a run");
        let planned = run.planned_cycle_ms * 100 / 1_000;
        let pause = run.planned_pause_seconds;
        day.now = day.now + Seconds(2 * planned + pause);
        day.ask(&Command::FinishRun {
            brake,
            good: 100,
            scrap: 0,
            short: true,
        })
        .expect("ended");
    }
    let done = day.ask(&Command::OfferCalibrations).expect("worked out");
    let Some(Happening::CalibrationOffered { brake, what, .. }) = done.first() else {
        panic!("{done:?}");
    };
    assert_eq!(*what, Calibrated::Part(part.clone()));
    assert_eq!(
        day.ask(&Command::OfferCalibrations).expect("no news"),
        Vec::new()
    );
    let accept = Command::AcceptCalibration {
        brake: brake.clone(),
        what: what.clone(),
    };
    day.ask(&accept).expect("accepted");
    refused(day.ask(&accept), &RefusalKind::Missing, "offered");
    let factor = day.state.factors[&(brake.clone(), what.clone())].factor;
    let shop = day.state.shop().expect("a shop");
    let seconds = shop.setups[0].seconds_a_piece.expect("calibrated");
    assert!((seconds - factor).abs() < 0.051, "{seconds} {factor}");
    let planned = day.shop.setups[0].seconds_a_piece.unwrap_or(0.0);
    assert!(
        planned <= 0.0 || (factor / planned - 2.0).abs() < 0.1,
        "{planned} {factor}"
    );
    // The old times do not make another offer.
    assert_eq!(
        day.ask(&Command::OfferCalibrations).expect("no news"),
        Vec::new()
    );
}
