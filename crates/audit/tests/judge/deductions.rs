//! The shop's own deductions go before the formula.
//!
//! Part P1 (t 2, V 16, square, leg 30) with 3.40 measured over V 12 and 4.20 over V 20: 3.80 over
//! V 16, so X = 28.1. Cycle as for the formula, 22.702 s: one bend, the gauge does not move.

use crate::lone::{V16, expect, lone_plan, lone_shop};
use crate::plan::bend_use;
use crate::shop::{bend, mm, part};
use model::*;
use units::*;

fn row(shop: &Shop, v: i64, deduction: f64) -> Deduction {
    Deduction {
        material: shop.materials[0].id.clone(),
        thickness: mm(2),
        v: mm(v),
        angle: Degrees::of(90.0),
        deduction: Length::from_mm(deduction),
    }
}

fn measured() -> (Shop, Plan) {
    let mut shop = lone_shop(part("P1", 2, (1_000, 60), vec![bend(1, 1_000, 30)]), &[V16]);
    shop.deductions = vec![row(&shop, 20, 4.2), row(&shop, 12, 3.4)];
    let plan = lone_plan(&shop, vec![bend_use(1, 0, 150.0, 28.1, 2.4)], 22_702);
    (shop, plan)
}

#[test]
fn between_two_rows_the_line_counts() {
    let (mut shop, plan) = measured();
    expect("as worked out", &shop, &plan, &[]);
    shop.deductions.push(row(&shop, 16, 3.83));
    expect("a row of its own", &shop, &plan, &["wrong-position"]);
}

#[test]
fn rows_of_other_sheet_or_another_angle_do_not_count() {
    // By the formula X is 28.113274.
    let (mut shop, plan) = measured();
    for row in &mut shop.deductions {
        row.thickness = Length::from_mm(2.1);
    }
    expect("another thickness", &shop, &plan, &["wrong-position"]);
    let (mut shop, plan) = measured();
    for row in &mut shop.deductions {
        row.material = MaterialId::new("other").unwrap();
    }
    expect("another material", &shop, &plan, &["wrong-position"]);
    let (mut shop, plan) = measured();
    for row in &mut shop.deductions {
        row.angle = Degrees::of(90.01);
    }
    expect("0.01° off", &shop, &plan, &[]);
    for row in &mut shop.deductions {
        row.angle = Degrees::of(89.98);
    }
    expect("0.02° off", &shop, &plan, &["wrong-position"]);
}

#[test]
fn beyond_the_rows_nothing_is_inferred() {
    let (mut shop, mut plan) = measured();
    shop.deductions = vec![row(&shop, 18, 4.0), row(&shop, 20, 4.2)];
    plan.brakes[1].runs[0].bends[0].x = Length::from_mm(28.113_274);
    expect("V 16 below V 18", &shop, &plan, &["outside-own-deductions"]);
    shop.deductions = vec![row(&shop, 10, 3.2), row(&shop, 12, 3.4)];
    expect("V 16 above V 12", &shop, &plan, &["outside-own-deductions"]);
    // The one V measured is inside.
    shop.deductions = vec![row(&shop, 16, 3.773_452)];
    expect("only V 16", &shop, &plan, &[]);
}

#[test]
fn a_blank_developed_for_another_v_is_measured_by_the_rows_too() {
    // 4.20 over V 20 less 3.80; by the formula it would be 0.19 less.
    let (mut shop, plan) = measured();
    shop.parts[0].developed_for_v = Some(mm(20));
    shop.parts[0].length_tolerance = Length::from_mm(0.4);
    expect("0.4 off, 0.4 allowed", &shop, &plan, &[]);
    shop.parts[0].length_tolerance = Length::from_mm(0.39);
    expect("0.39 allowed", &shop, &plan, &["developed-for-another-v"]);
    shop.parts[0].length_tolerance = mm(5);
    shop.parts[0].developed_for_v = Some(mm(24));
    expect(
        "V 24 not measured",
        &shop,
        &plan,
        &["outside-own-deductions"],
    );
}
