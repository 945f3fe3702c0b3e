//! What is on the paper, read back from the bytes.

#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)] // helpers of tests are not tests to the lint

mod beds;
mod codes;
mod hostile;
mod pages;
mod reader;

use chrono::NaiveDate;
use model::{Plan, Shop};
use paper::{Issue, Paper};
use std::path::Path;
use std::sync::OnceLock;
use std::sync::atomic::AtomicBool;
use units::{BrakeId, Moment};
use workshop::{Budget, PlanAsk, check_files, default_from, make_plan, read_folder};

/// The demo shop and a plan of it, made once.
pub(crate) fn demo() -> &'static (Shop, Plan) {
    static DEMO: OnceLock<(Shop, Plan)> = OnceLock::new();
    DEMO.get_or_init(|| {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo-shop");
        let shop = check_files(&read_folder(&folder).unwrap()).shop.unwrap();
        let ask = PlanAsk {
            from: default_from(&shop, shop.as_of.unwrap()),
            seed: 1,
            budget: Budget::Steps(300),
        };
        let made = make_plan(&shop, ask, None, &AtomicBool::new(false), &mut ()).unwrap();
        (shop, made.plan)
    })
}

pub(crate) fn issue(paper: Paper) -> Issue {
    Issue {
        paper,
        number: Some(12),
        made: Some(Moment(1_805_000_000)),
        invented: true,
    }
}

pub(crate) fn brake(id: &str) -> BrakeId {
    BrakeId::new(id).unwrap()
}

/// The demo plan's first day.
pub(crate) fn first_day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2027, 3, 23).unwrap()
}
