//! Commands by chance: mostly what people would ask for next, some of it nonsense.

use crate::site::{Site, base_of};
use daybook::{Calibrated, Command, Doing, Evidence, Happening, Policy, Source};
use documents::{Cells, OrderRow};
use model::{BedStation, Run, SectionStatus, StepKind};
use rand::RngExt;
use rand_pcg::Pcg64;
use units::{BrakeId, Moment, OrderId, Seconds};

pub(crate) fn pick<'a, T>(dice: &mut Pcg64, items: &'a [T]) -> Option<&'a T> {
    if items.is_empty() {
        return None;
    }
    items.get(dice.random_range(0..items.len()))
}

fn one_in(dice: &mut Pcg64, count: u32) -> bool {
    dice.random_range(0..count) == 0
}

pub(crate) fn command(site: &mut Site, dice: &mut Pcg64) -> Command {
    site.now = Moment(site.now.0 + dice.random_range(0..3_600));
    let brakes: Vec<BrakeId> = site.folder.brakes.iter().map(|b| b.id.clone()).collect();
    let brake = if one_in(dice, 40) {
        BrakeId::new("NONE").expect("an id")
    } else {
        pick(dice, &brakes).expect("a brake").clone()
    };
    match dice.random_range(0..100) {
        0..=8 => put_orders(site, dice),
        9..=10 => withdraw(site, dice),
        11..=13 => shop_data(site, dice),
        14..=16 => describe_bed(site, dice, brake),
        17..=18 => down(site, dice, brake),
        19 => Command::BrakeUp { brake },
        20..=21 => sections(site, dice),
        22..=30 => plan(site, dice),
        31..=33 => publish(site, dice),
        34 => Command::ChangePolicy {
            policy: Policy {
                publish_automatically: one_in(dice, 2),
                steps: dice.random_range(0..1_000_000),
                quiet_seconds: 5,
                drift_seconds: dice.random_range(0..100_000),
            },
            expect: one_in(dice, 2).then_some(site.state.policy_version),
        },
        40..=43 => pin(site, dice, brake),
        35..=36 => calibration(site, dice, brake),
        37..=39 => takedown(site, dice, brake),
        _ => work(site, dice, brake),
    }
}

fn row(cells: &[(&str, String)]) -> Cells {
    let cells = cells.iter().filter(|(_, text)| !text.is_empty());
    cells.map(|(k, v)| ((*k).to_owned(), v.clone())).collect()
}

fn any_order(site: &Site, dice: &mut Pcg64) -> OrderId {
    let ids: Vec<&OrderId> = site.state.orders.keys().collect();
    match pick(dice, &ids) {
        Some(id) if !one_in(dice, 30) => (*id).clone(),
        _ => OrderId::new("NONE").expect("an id"),
    }
}

fn put_orders(site: &mut Site, dice: &mut Pcg64) -> Command {
    let count = dice.random_range(1..=3);
    let rows = (0..count).map(|_| order_row(site, dice)).collect();
    let first = any_order(site, dice);
    let version = site
        .state
        .orders
        .get(&first)
        .map_or(0, |order| order.version);
    Command::PutOrders {
        source: if one_in(dice, 3) {
            Source::Inbox
        } else {
            Source::Request
        },
        name: "request".to_owned(),
        rows,
        new_only: one_in(dice, 3),
        expect: one_in(dice, 4).then_some((first, version + u64::from(one_in(dice, 4)))),
    }
}

fn order_row(site: &mut Site, dice: &mut Pcg64) -> OrderRow {
    let id = if one_in(dice, 2) {
        any_order(site, dice)
    } else {
        site.fresh += 1;
        OrderId::new(&format!("N-{}", site.fresh)).expect("an id")
    };
    let parts: Vec<_> = site.folder.parts.iter().map(|part| &part.id).collect();
    let known = site.state.orders.get(&id).map(|order| &order.order.part);
    let part = match known {
        Some(part) if !one_in(dice, 6) => part.clone(),
        _ => (*pick(dice, &parts).expect("a part")).clone(),
    };
    let quantity: u32 = dice.random_range(1..120);
    let due = site.now + Seconds(dice.random_range(0..900_000));
    let due = documents::local(due, site.folder.zone);
    let some = |dice: &mut Pcg64, text: String| {
        if one_in(dice, 4) { text } else { String::new() }
    };
    let after = any_order(site, dice).to_string();
    let tied = pick(dice, &site.folder.brakes).expect("a brake");
    let tied = tied.id.to_string();
    let tied = some(dice, tied);
    let place = if tied.is_empty() {
        String::new()
    } else {
        let place = dice.random_range(1..6).to_string();
        some(dice, place)
    };
    let cells = [
        ("order", id.to_string()),
        ("part", part.to_string()),
        ("quantity", quantity.to_string()),
        ("due", due.clone()),
        ("after", some(dice, after)),
        ("brake", tied),
        ("place", place),
        ("kit", some(dice, "K1".to_owned())),
        ("run_pieces", some(dice, quantity.div_ceil(3).to_string())),
        ("certificate_mpa", some(dice, "431.7".to_owned())),
        ("weight", some(dice, "7".to_owned())),
    ];
    let half = quantity.div_ceil(2).to_string();
    let share =
        |column: &str, at: &str| row(&[("quantity", half.clone()), (column, at.to_owned())]);
    OrderRow {
        line: None,
        cells: row(&cells),
        deliveries: match dice.random_range(0..4) {
            0 => vec![share("due", &due)],
            _ => Vec::new(),
        },
        blanks: match dice.random_range(0..6) {
            0 => vec![share("available", "")],
            1 => vec![share("available", ""), share("available", &due)],
            _ => Vec::new(),
        },
    }
}

fn withdraw(site: &Site, dice: &mut Pcg64) -> Command {
    let count = dice.random_range(1..=2);
    Command::WithdrawOrders {
        orders: (0..count).map(|_| any_order(site, dice)).collect(),
        why: "customer called".to_owned(),
    }
}

fn pin(site: &Site, dice: &mut Pcg64, brake: BrakeId) -> Command {
    let order = any_order(site, dice);
    if one_in(dice, 4) {
        let pinned = site.state.orders.keys();
        let pinned: Vec<_> = pinned.filter(|id| site.state.pin(id).is_some()).collect();
        let order = pick(dice, &pinned).map_or(order, |id| (*id).clone());
        return Command::UnpinOrder { order };
    }
    let place = match dice.random_range(0..30) {
        0 => Some(0),
        1 => Some(1_000),
        2..=8 => None,
        _ => Some(dice.random_range(1..6)),
    };
    Command::PinOrder {
        order,
        brake,
        place,
    }
}

/// The folder as somebody edited it.
fn shop_data(site: &mut Site, dice: &mut Pcg64) -> Command {
    let mut shop = site.folder.clone();
    let orders = shop.orders.len();
    if orders > 1 && one_in(dice, 3) {
        let gone = shop.orders.remove(dice.random_range(0..orders)).id;
        shop.floor.running.retain(|running| running.order != gone);
        for order in &mut shop.orders {
            order.after = order.after.take().filter(|after| *after != gone);
        }
    }
    if let Some(order) = shop.orders.first_mut().filter(|_| one_in(dice, 2)) {
        order.quantity += dice.random_range(1..20);
        // Within the runs that an order may be cut into.
        let least = order.quantity.div_ceil(20);
        order.run_pieces = order.run_pieces.map(|pieces| pieces.max(least));
        order.weight = dice.random_range(1..9);
    }
    match dice.random_range(0..8) {
        0 => shop.floor.stations.clear(),
        1 => shop.floor.down.clear(),
        2 => shop.floor.running.clear(),
        3 => {
            // A section out by the files may stand on no bed of theirs.
            let at = dice.random_range(0..shop.sections.len());
            let id = shop.sections[at].id.clone();
            shop.sections[at].status = SectionStatus::Out;
            let holds = |station: &BedStation| station.sections().any(|section| *section == id);
            shop.floor.stations.retain(|station| !holds(station));
        }
        4 if shop.parts.len() > 1 => {
            let gone = shop.parts.remove(0).id;
            shop.setups.retain(|setup| setup.part != gone);
            let lost: Vec<OrderId> = shop
                .orders
                .iter()
                .filter(|order| order.part == gone)
                .map(|order| order.id.clone())
                .collect();
            shop.orders.retain(|order| !lost.contains(&order.id));
            shop.floor
                .running
                .retain(|running| !lost.contains(&running.order));
            for order in &mut shop.orders {
                order.after = order.after.take().filter(|after| !lost.contains(after));
            }
        }
        _ => {}
    }
    if shop.orders.is_empty() {
        shop = site.folder.clone();
    }
    let revision = site.bases.keys().next_back().map_or(1, |last| last + 1);
    let base = base_of(&shop);
    if one_in(dice, 2) {
        site.folder = shop;
    }
    Command::TakeShopData { revision, base }
}

fn describe_bed(site: &Site, dice: &mut Pcg64, brake: BrakeId) -> Command {
    // A bed the folder knew, on its brake or on another.
    let beds = &site.folder.floor.stations;
    let station = pick(dice, beds).filter(|_| !one_in(dice, 4));
    let spaced = |ids: &[units::SectionId]| {
        ids.iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
            .join(" ")
    };
    let cells = station.map(|station| {
        row(&[
            ("punch", station.punch.to_string()),
            ("die", station.die.to_string()),
            ("left", format!("{} mm", station.left)),
            ("punch_sections", spaced(&station.punch_sections)),
            ("die_sections", spaced(&station.die_sections)),
            (
                "reversed",
                if station.reversed { "yes" } else { "no" }.to_owned(),
            ),
        ])
    });
    Command::DescribeBed {
        brake,
        stations: cells.into_iter().collect(),
    }
}

fn down(site: &Site, dice: &mut Pcg64, brake: BrakeId) -> Command {
    let from = site.now + Seconds(dice.random_range(0..20_000));
    Command::BrakeDown {
        brake,
        from: one_in(dice, 2).then_some(from),
        until: site.now + Seconds(dice.random_range(-1_000..90_000)),
        why: "oil leak, \"front\"".to_owned(),
    }
}

fn sections(site: &Site, dice: &mut Pcg64) -> Command {
    let stands: Vec<_> = site
        .state
        .beds
        .values()
        .flatten()
        .flat_map(|s| s.sections())
        .collect();
    let any: Vec<_> = site
        .folder
        .sections
        .iter()
        .map(|section| &section.id)
        .collect();
    let out: Vec<_> = site.state.sections_out.keys().collect();
    if let Some(section) = pick(dice, &out).filter(|_| one_in(dice, 3)) {
        let section = (*section).clone();
        return Command::SectionBack { section };
    }
    let from = if one_in(dice, 2) { &stands } else { &any };
    let section = *pick(dice, from).unwrap_or(&any[0]);
    Command::SectionOut {
        section: section.clone(),
        why: "chipped".to_owned(),
    }
}

fn plan(site: &mut Site, dice: &mut Pcg64) -> Command {
    let number = site.plans.keys().next_back().map_or(1, |last| last + 1);
    let (_, plan) = site.make_plan("a proposal", 5);
    let objective = plan.totals.objective;
    site.plans.insert(number, plan);
    let made_from = site.state.number + u64::from(one_in(dice, 20));
    Command::RecordProposal {
        plan: number,
        made_from,
        cause: "orders came in".to_owned(),
        objective,
    }
}

fn publish(site: &Site, dice: &mut Pcg64) -> Command {
    let latest = site
        .state
        .latest_proposal()
        .map_or(1, |proposal| proposal.plan);
    let now = site.state.published.as_ref().map_or(0, |now| now.number);
    Command::Publish {
        plan: latest + u64::from(one_in(dice, 8)),
        expect_published: one_in(dice, 2).then_some(now + u64::from(one_in(dice, 6))),
    }
}

/// So few runs make no offer; one is put into the log as if they had.
fn calibration(site: &mut Site, dice: &mut Pcg64, brake: BrakeId) -> Command {
    let setup = pick(dice, &site.folder.setups).filter(|_| one_in(dice, 2));
    let (of, what, factor) = match setup {
        Some(setup) => {
            let seconds = dice.random_range(5.0..90.0);
            (
                setup.brake.clone(),
                Calibrated::Part(setup.part.clone()),
                seconds,
            )
        }
        None => {
            let steps = [
                StepKind::PutOn,
                StepKind::TakeOff,
                StepKind::Prepare,
                StepKind::Guard,
            ];
            let step = *pick(dice, &steps).expect("a step");
            (brake, Calibrated::Step(step), dice.random_range(0.5..2.0))
        }
    };
    let evidence = Evidence {
        observations: 20,
        low: factor * 0.9,
        high: factor * 1.1,
        error_before: 10.0,
        error_after: 5.0,
        known_until: site.state.number,
        events: vec![site.state.number],
    };
    let offer = Happening::CalibrationOffered {
        brake: of.clone(),
        what: what.clone(),
        factor,
        evidence,
    };
    if site.folder.brake(&of).is_some() {
        site.take_in(vec![offer], "an offer");
    }
    let brake = of;
    match dice.random_range(0..5) {
        0 => Command::OfferCalibrations,
        1..=3 => Command::AcceptCalibration { brake, what },
        _ => Command::RefuseCalibration {
            brake,
            what,
            why: "one odd week".to_owned(),
        },
    }
}

fn takedown(site: &Site, dice: &mut Pcg64, brake: BrakeId) -> Command {
    let lines = site.published().map_or(&[][..], |plan| &plan.brakes);
    let any = lines.iter().find(|line| !line.takedowns.is_empty());
    Command::FinishTakedown {
        brake: any.map_or(brake, |line| line.brake.clone()),
        takedown: dice.random_range(0..3),
    }
}

/// What the people at a brake would say next.
fn work(site: &Site, dice: &mut Pcg64, brake: BrakeId) -> Command {
    match site.state.doing(&brake) {
        Doing::Running(run) => {
            let good = dice.random_range(0..=run.quantity + 1);
            let scrap = dice.random_range(0..4);
            match dice.random_range(0..10) {
                0 => Command::PauseRun {
                    brake,
                    why: "no crane".to_owned(),
                },
                1..=2 => Command::ResumeRun { brake },
                3..=4 => Command::CountPieces { brake, good, scrap },
                5 => Command::Scrap {
                    brake,
                    pieces: scrap,
                },
                6..=7 => Command::FinishRun {
                    brake,
                    good: run.quantity,
                    scrap,
                    short: false,
                },
                8 => Command::FinishRun {
                    brake,
                    good,
                    scrap,
                    short: one_in(dice, 2),
                },
                _ => next_run(site, dice, brake, false),
            }
        }
        Doing::ChangingOver(change) => match dice.random_range(0..4) {
            0..=1 => Command::FinishChangeover { brake },
            2 => Command::StartRun {
                brake,
                run: change.run.clone(),
            },
            _ => next_run(site, dice, brake, true),
        },
        Doing::Idle => {
            let bend = one_in(dice, 2);
            next_run(site, dice, brake, bend)
        }
    }
}

fn next_run(site: &Site, dice: &mut Pcg64, brake: BrakeId, bend: bool) -> Command {
    let lines = site.published().map_or(&[][..], |plan| &plan.brakes);
    let line = lines.iter().find(|line| line.brake == brake);
    let runs: Vec<&Run> = line.map_or(Vec::new(), |line| line.runs.iter().collect());
    let waiting = runs
        .iter()
        .find(|run| !site.state.begun.contains(&run.name));
    let run = if one_in(dice, 4) {
        pick(dice, &runs)
    } else {
        waiting
    };
    let run = run.map_or("B9-99".to_owned(), |run| run.name.clone());
    if bend {
        Command::StartRun { brake, run }
    } else {
        Command::StartChangeover { brake, run }
    }
}
