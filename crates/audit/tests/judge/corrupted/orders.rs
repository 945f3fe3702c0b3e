//! The plan's frame, orders, promises, totals, batches and unplaced orders.

use super::{Corruption, corruption};
use crate::plan::in_two_runs;
use crate::shop::{at, brake_id, order_id, part_id};
use model::{BlankLot, Delivery, Limit, RunningOrder};
use units::{Moment, Seconds};

pub(super) const CORRUPTIONS: &[Corruption] = &[
    corruption("another shop's plan", &["wrong-shop"], |_, plan| {
        plan.shop = "other".to_owned();
    }),
    corruption("brakes in another order", &["brake-list"], |_, plan| {
        plan.brakes.swap(0, 1);
    }),
    corruption(
        "an idle brake is left out",
        &["brake-list", "refusal-missing"],
        |shop, _| {
            let mut idle = shop.brakes[0].clone();
            idle.id = brake_id("B3");
            shop.brakes.push(idle);
        },
    ),
    corruption("a second more", &["wrong-horizon"], |_, plan| {
        plan.until.0 += 1;
    }),
    corruption(
        "a takedown before the plan",
        &["before-the-plan", "brake-not-staffed"],
        |_, plan| {
            let takedown = &mut plan.brakes[1].takedowns[0];
            takedown.start.0 -= 60;
            takedown.end.0 -= 60;
            takedown.segments[0].start.0 -= 60;
            takedown.segments[0].end.0 -= 60;
        },
    ),
    corruption(
        "a run beyond the horizon",
        &[
            "beyond-the-horizon",
            "wrong-lateness",
            "segments-out-of-shape",
            "run-spans-shifts",
            "wrong-total",
            "wrong-objective",
        ],
        |_, plan| plan.brakes[1].runs[1].end = Moment(plan.until.0 + 1),
    ),
    corruption("two runs of one name", &["run-name-twice"], |_, plan| {
        plan.brakes[1].runs[0].name = "B1-02".to_owned();
    }),
    corruption(
        "a run of no order",
        &[
            "unknown-order",
            "pieces-do-not-add-up",
            "wrong-lateness",
            "wrong-total",
            "wrong-objective",
        ],
        |_, plan| {
            plan.brakes[1].runs[1].order = order_id("O9");
        },
    ),
    corruption("a run of another part", &["wrong-part"], |_, plan| {
        plan.brakes[0].runs[0].part = part_id("P2");
    }),
    corruption(
        "a piece too few",
        &[
            "not-a-share",
            "pieces-do-not-add-up",
            "wrong-run-time",
            "segments-do-not-add-up",
            "wrong-total",
        ],
        |_, plan| plan.brakes[0].runs[1].quantity = 599,
    ),
    corruption(
        "the order grew",
        &["pieces-do-not-add-up", "not-a-share"],
        |shop, _| {
            shop.orders[1].quantity += 1;
        },
    ),
    corruption(
        "an order forgotten",
        &[
            "pieces-do-not-add-up",
            "wrong-total",
            "wrong-objective",
            "bound-above-objective",
        ],
        |_, plan| plan.unplaced.clear(),
    ),
    corruption("deliveries not cut", &["not-a-share"], |shop, _| {
        shop.orders[1].deliveries = vec![Delivery {
            quantity: 10,
            due: at("11:00:00"),
        }];
    }),
    corruption(
        "tied to the other brake",
        &["tied-to-another-brake"],
        |shop, _| {
            shop.orders[1].brake = Some(brake_id("B2"));
        },
    ),
    corruption(
        "a ready time not the order's",
        &["wrong-ready"],
        |_, plan| {
            plan.brakes[0].runs[1].ready.0 += 1;
        },
    ),
    corruption(
        "blanks come after the start",
        &["before-ready"],
        |shop, plan| {
            shop.orders[1].blanks = vec![BlankLot {
                quantity: 600,
                available: at("06:54:03"),
            }];
            plan.brakes[0].runs[1].ready = at("06:54:03");
        },
    ),
    corruption(
        "a follower that leads",
        &["before-predecessor"],
        |shop, _| {
            shop.orders[2].after = Some(order_id("O4"));
            shop.orders[3].after = None;
        },
    ),
    corruption(
        "after an order without a place",
        &["predecessor-unplaced"],
        |shop, _| {
            shop.orders[2].after = Some(order_id("O5"));
        },
    ),
    corruption(
        "unplaced after an unplaced one, for another reason",
        &["predecessor-unplaced"],
        |shop, plan| {
            let mut order = shop.orders[4].clone();
            order.id = order_id("O6");
            order.after = Some(order_id("O5"));
            shop.orders.push(order);
            let mut entry = plan.unplaced[0].clone();
            entry.order = order_id("O6");
            plan.unplaced.push(entry);
            plan.totals.unplaced_orders += 1;
            plan.totals.objective += 3 * 1_000 * 3_600;
        },
    ),
    corruption("a due time not the order's", &["wrong-due"], |_, plan| {
        plan.brakes[0].runs[1].due.0 += 1;
    }),
    corruption("late by a second less", &["wrong-lateness"], |_, plan| {
        plan.brakes[0].runs[1].late.0 -= 1;
    }),
    corruption(
        "lateness counted without the kit",
        &["wrong-lateness"],
        |_, plan| {
            plan.brakes[1].runs[1].late = Seconds(0);
        },
    ),
    corruption(
        "a run in progress that waits",
        &["in-progress-not-first"],
        |shop, _| {
            shop.floor.running.push(RunningOrder {
                brake: brake_id("B2"),
                order: order_id("O4"),
                pieces_done: 0,
            });
        },
    ),
    corruption(
        "a run in progress not pinned",
        &["in-progress-disturbed"],
        |_, plan| {
            plan.brakes[0].runs[0].pinned = false;
        },
    ),
    corruption(
        "a pinned run behind a loose one",
        &["pinned-behind"],
        |_, plan| {
            plan.brakes[1].runs[1].pinned = true;
        },
    ),
    corruption(
        "an order with a place behind one without",
        &["out-of-place"],
        |shop, _| {
            shop.orders[3].after = None;
            shop.orders[3].brake = Some(brake_id("B2"));
            shop.orders[3].place = Some(1);
        },
    ),
    corruption(
        "an order with a place behind one of a later place",
        &["out-of-place"],
        |shop, _| {
            shop.orders[3].after = None;
            for (order, place) in [(2, 8), (3, 7)] {
                shop.orders[order].brake = Some(brake_id("B2"));
                shop.orders[order].place = Some(place);
            }
        },
    ),
    corruption(
        "the later share of an order with a place first",
        &["shares-out-of-order"],
        |shop, plan| {
            in_two_runs(plan);
            let order = &mut shop.orders[3];
            order.brake = Some(brake_id("B2"));
            order.place = Some(1);
            order.deliveries = vec![
                Delivery {
                    quantity: 20,
                    due: at("11:30:00"),
                },
                Delivery {
                    quantity: 10,
                    due: at("13:00:00"),
                },
            ];
            let [_, first, second] = &mut plan.brakes[1].runs[..] else {
                return;
            };
            first.due = at("13:00:00");
            first.late = Seconds(0);
            second.late = Seconds(671);
        },
    ),
    corruption("one run more", &["wrong-total"], |_, plan| {
        plan.totals.runs += 1;
    }),
    corruption("one changeover more", &["wrong-total"], |_, plan| {
        plan.totals.changeovers += 1;
    }),
    corruption("a changeover second less", &["wrong-total"], |_, plan| {
        plan.totals.changeover.0 -= 1;
    }),
    corruption("overtime out of nothing", &["wrong-total"], |_, plan| {
        plan.totals.overtime.0 += 1;
    }),
    corruption(
        "overtime not counted",
        &["wrong-total", "wrong-objective"],
        |shop, _| {
            shop.calendars[0].shifts[0].overtime = true;
        },
    ),
    corruption(
        "a weight that counts twice",
        &["wrong-total", "wrong-objective"],
        |shop, _| {
            shop.orders[1].weight = 4;
        },
    ),
    corruption(
        "an objective off by one",
        &["wrong-objective"],
        |_, plan| {
            plan.totals.objective -= 1;
        },
    ),
    corruption(
        "a bound above the plan",
        &["bound-above-objective"],
        |_, plan| {
            plan.bound.objective = Some(plan.totals.objective + 1);
        },
    ),
    corruption(
        "a baseline below zero",
        &["negative-baseline"],
        |_, plan| {
            plan.baselines.grouped_by_die.objective = -1;
        },
    ),
    corruption(
        "a batch ends on its own bed",
        &["batch-split"],
        |_, plan| {
            plan.brakes[1].runs[1].batch = "B2-b".to_owned();
        },
    ),
    corruption(
        "a batch goes on over a change of tools",
        &["batch-not-new"],
        |_, plan| {
            plan.brakes[0].runs[1].batch = "B1-a".to_owned();
        },
    ),
    corruption(
        "nothing unplaced",
        &[
            "unplaced-entry",
            "pieces-do-not-add-up",
            "wrong-total",
            "wrong-objective",
            "bound-above-objective",
        ],
        |_, plan| plan.unplaced[0].quantity = 0,
    ),
    corruption(
        "a brake without a reason",
        &["refusal-missing"],
        |_, plan| {
            plan.unplaced[0].refusals.truncate(1);
        },
    ),
    corruption(
        "a reason that is none",
        &["refusal-does-not-refuse"],
        |_, plan| {
            plan.unplaced[0].refusals[0].needed = 50.0;
        },
    ),
    corruption(
        "a range that is not left",
        &["refusal-does-not-refuse"],
        |_, plan| {
            let refusal = &mut plan.unplaced[0].refusals[1];
            (refusal.limit, refusal.needed, refusal.unit) = (Limit::GaugeX, 50.0, "mm");
        },
    ),
    corruption(
        "a piece without a blank",
        &["blanks-not-named", "not-a-share"],
        |shop, _| {
            shop.orders[1].blanks = vec![BlankLot {
                quantity: 599,
                available: at("05:00:00"),
            }];
        },
    ),
];
