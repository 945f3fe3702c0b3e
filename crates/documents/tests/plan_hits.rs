//! A hem's two hits in a plan's JSON.

#![allow(clippy::expect_used)]

mod small_shop;

use documents::{read_plan, read_shop, write_plan};
use model::{Baselines, BendUse, Bound, BrakePlan, Changeover, Plan, Run, Shop, Totals};
use units::{BrakeId, Kilonewtons, Length, Moment, OrderId, PartId, Seconds};

/// A run whose bend takes two hits.
fn run(at: Moment) -> Run {
    let hit = |hit| BendUse {
        bend: 1,
        hit,
        station: 0,
        force: Kilonewtons::of(10.0),
        x: Length::from_whole_mm(10),
        r: Length::ZERO,
        radius: Length::ZERO,
    };
    Run {
        name: "R1".to_owned(),
        order: OrderId::new("W-1").expect("an id"),
        part: PartId::new("LID").expect("an id"),
        quantity: 1,
        batch: "A".to_owned(),
        changeover: Changeover {
            start: at,
            end: at,
            work: Seconds::ZERO,
            segments: Vec::new(),
            remove: Vec::new(),
            turn: Vec::new(),
            slide: Vec::new(),
            keep: Vec::new(),
            insert: Vec::new(),
            steps: Vec::new(),
        },
        start: at,
        end: at,
        segments: Vec::new(),
        run_time: Seconds::ZERO,
        cycle_ms: 0,
        bends: vec![hit(1), hit(2)],
        bed: Vec::new(),
        program: None,
        ready: at,
        due: at,
        late: Seconds::ZERO,
        pinned: false,
        reasons: Vec::new(),
    }
}

fn plan_of(shop: &Shop) -> Plan {
    let at = Moment(1_805_691_600);
    let brake = BrakePlan {
        brake: BrakeId::new("B1").expect("an id"),
        runs: vec![run(at)],
        takedowns: Vec::new(),
    };
    Plan {
        shop: shop.name.clone(),
        from: at,
        until: at,
        seed: 1,
        iterations: 10,
        seconds: None,
        brakes: vec![brake],
        unplaced: Vec::new(),
        told: Vec::new(),
        totals: Totals::default(),
        baselines: Baselines::default(),
        bound: Bound::default(),
        verified: true,
    }
}

#[test]
fn hits_are_written_and_count_from_one() {
    let (shop, _) = read_shop(&small_shop::files());
    let shop = shop.expect("the small shop is good");
    let plan = plan_of(&shop);
    let good = write_plan(&plan, &shop);
    assert_eq!(read_plan("p.json", good.as_bytes(), &shop), Ok(plan));
    let refused = |from: &str, to: &str| {
        assert!(good.contains(from), "{from}");
        let text = good.replacen(from, to, 1);
        let findings = read_plan("p.json", text.as_bytes(), &shop).expect_err(to);
        (findings[0].code, findings[0].place.field.clone())
    };
    let field = "brakes[0].runs[0].bends[1].hit".to_owned();
    let zero = refused("\"hit\": 2", "\"hit\": 0");
    assert_eq!(zero, ("D403", Some(field)));
    let missing = refused("            \"hit\": 2,\n", "");
    let hit = Some("hit".to_owned());
    assert_eq!(missing, ("D402", hit.clone()));
    assert_eq!(refused("\"hit\": 2", "\"hit\": 256"), ("D403", hit));
}
