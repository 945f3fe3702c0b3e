//! Work orders, their blanks and deliveries.

use crate::dice::Dice;
use crate::parts::Blueprint;
use crate::recipe::Recipe;
use model::{BlankLot, Brake, Delivery, Material, WorkOrder};
use units::{KitId, Megapascals, Moment, OrderId, Seconds};

const DAY: i64 = 86_400;

pub(crate) fn orders(
    recipe: &Recipe,
    blueprints: &[Blueprint],
    (brakes, materials): (&[Brake], &[Material]),
    as_of: Moment,
    dice: &mut Dice,
) -> Vec<WorkOrder> {
    let chosen: Vec<&Blueprint> = (0..recipe.orders)
        .map(|_| &blueprints[dice.count(0, blueprints.len() - 1)])
        .collect();
    let mut all: Vec<WorkOrder> = chosen
        .iter()
        .enumerate()
        .map(|(number, blueprint)| plain_order(number, blueprint, as_of, dice))
        .collect();
    let spread = spread(recipe, &chosen, &all);
    for (order, blueprint) in all.iter_mut().zip(&chosen) {
        // Early ones are late in a tight shop and none is in a loose one.
        let factor = (0.1 + dice.share()) * (2.8 - 2.5 * recipe.due_tightness);
        let seconds = Seconds::from_estimate(factor * spread).0 + 3_600;
        order.due = order.ready.max(Moment(as_of.0 + seconds / 60 * 60));
        order.certificate = (recipe.features.certificates && dice.one_in(5))
            .then(|| certificate(blueprint, materials, dice));
    }
    for at in 0..all.len() {
        let before = (recipe.features.chains && at > 0 && dice.one_in(5))
            .then(|| all[dice.count(0, at - 1)].id.clone());
        let order = &mut all[at];
        order.after = before;
        if recipe.features.kits && dice.one_in(4) {
            let kits = recipe.orders.div_ceil(6);
            order.kit = Some(KitId::new(&format!("K{}", dice.count(1, kits))).expect("an id"));
        }
        if recipe.features.tied && dice.one_in(8) {
            // The first brake makes every part.
            order.brake = Some(brakes[0].id.clone());
        }
        if recipe.features.split && dice.one_in(4) {
            order.run_pieces = Some(order.quantity.div_ceil(dice.pick(&[2, 3])));
        }
        split(recipe, order, as_of, dice);
    }
    all
}

fn plain_order(number: usize, blueprint: &Blueprint, as_of: Moment, dice: &mut Dice) -> WorkOrder {
    let quantity = dice.pick(&[1, 5, 12, 20, 40, 60, 90, 150]);
    let later = if dice.one_in(5) {
        dice.whole(0, 2 * DAY) / 60 * 60
    } else {
        0
    };
    WorkOrder {
        id: OrderId::new(&format!("W-{}", number + 1)).expect("an id"),
        part: blueprint.part.id.clone(),
        quantity,
        ready: Moment(as_of.0 + later),
        due: as_of,
        weight: dice.pick(&[1, 1, 1, 2, 5]),
        kit: None,
        after: None,
        brake: None,
        place: None,
        run_pieces: None,
        certificate: None,
        heat: if dice.one_in(4) {
            format!("heat {number}, \"A\"")
        } else {
            String::new()
        },
        reference: format!("job {number}"),
        deliveries: Vec::new(),
        blanks: Vec::new(),
    }
}

/// Calendar seconds that all work takes, very roughly: 13 staffed hours on five days of seven.
#[allow(clippy::cast_precision_loss)]
fn spread(recipe: &Recipe, chosen: &[&Blueprint], orders: &[WorkOrder]) -> f64 {
    let work: f64 = orders
        .iter()
        .zip(chosen)
        .map(|(order, blueprint)| {
            let bends = blueprint.part.bends.len() as f64;
            1_500.0 + f64::from(order.quantity) * (12.0 + 8.0 * bends)
        })
        .sum();
    let hands = recipe.brakes.min(recipe.people).max(1);
    work / hands as f64 * (24.0 / 13.0) * (7.0 / 5.0)
}

/// Within the standard's range for the material.
fn certificate(blueprint: &Blueprint, materials: &[Material], dice: &mut Dice) -> Megapascals {
    let of_part = materials
        .iter()
        .find(|material| material.id == blueprint.part.material);
    let material = of_part.unwrap_or(&materials[0]);
    let most = material.strength_highest.get() - material.strength_typical.get();
    Megapascals::of((material.strength_typical.get() + (dice.share() - 0.4) * most).round())
}

fn split(recipe: &Recipe, order: &mut WorkOrder, as_of: Moment, dice: &mut Dice) {
    let part_of = |dice: &mut Dice, whole: u32| {
        u32::try_from(dice.whole(1, i64::from(whole))).unwrap_or(whole)
    };
    if recipe.features.deliveries && order.quantity > 3 && dice.one_in(4) {
        let first = part_of(dice, order.quantity - 1);
        let early = Seconds((order.due - as_of).0 * 6 / 10);
        order.deliveries = vec![
            Delivery {
                quantity: first,
                due: as_of + early,
            },
            Delivery {
                quantity: order.quantity - first,
                due: order.due,
            },
        ];
    }
    if recipe.features.lots && order.quantity > 3 && dice.one_in(4) {
        let first = part_of(dice, order.quantity - 1);
        let short = recipe.features.misfits && dice.one_in(3);
        let rest = order.quantity - first - u32::from(short && order.quantity - first > 1);
        let available = Moment(as_of.0 + dice.whole(1, 3) * DAY / 2);
        order.blanks = vec![
            BlankLot {
                quantity: first,
                available: as_of,
            },
            BlankLot {
                quantity: rest,
                available,
            },
        ];
    }
}
