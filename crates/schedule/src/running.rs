//! Orders in progress: pinned first on their brake, on the bed as it stands.

use crate::problem::Problem;
use model::{Shop, WorkOrder};
use search::Slot;
use tooling::{BedChange, Composer, Custody, Request, Stand, change};
use units::{Finding, Place, Severity};

/// Sections on other beds do not come into it: an order in progress has its tools.
struct BedOnly;

impl Custody for BedOnly {
    fn on_this_bed(&self, _section: usize) -> bool {
        true
    }
    fn wait(&self, _section: usize) -> Option<i64> {
        None
    }
    fn wanted_elsewhere(&self, _stand: &Stand) -> bool {
        false
    }
}

/// Pins every order in progress first on its brake, with a way its bed already serves.
pub(crate) fn pin_running(problem: &mut Problem<'_>) -> Vec<Finding> {
    let mut composer = problem.composer.clone();
    let mut findings = Vec::new();
    for job in 0..problem.jobs.len() {
        if !problem.jobs[job].running {
            continue;
        }
        let order = &problem.shop.orders[problem.jobs[job].order];
        let running = problem
            .shop
            .floor
            .running
            .iter()
            .find(|r| r.order == order.id);
        let brake = running.and_then(|r| {
            problem
                .shop
                .brakes
                .iter()
                .position(|brake| brake.id == r.brake)
        });
        let Some(brake) = brake else { continue };
        let way = (0..problem.ways[job].len()).find_map(|way| {
            serving_change(problem, &mut composer, brake, job, way).map(|change| (way, change))
        });
        match way {
            Some((way, change)) => {
                problem.pinned[brake].push(Slot { job, way });
                problem.serving[brake] = Some(change);
            }
            None => {
                problem.jobs[job].running = false;
                findings.push(wrong_bed(problem.shop, brake, order));
            }
        }
    }
    findings
}

/// The change that is none: the bed serves the way as it stands.
fn serving_change(
    problem: &Problem<'_>,
    composer: &mut Composer,
    brake: usize,
    job: usize,
    way: usize,
) -> Option<BedChange> {
    let option = &problem.ways[job][way];
    if option.brake != brake {
        return None;
    }
    let request = Request {
        brake: &problem.shop.brakes[brake],
        option,
        later: &[],
    };
    let found = change(
        &problem.stock,
        composer,
        &problem.beds[brake],
        &request,
        &BedOnly,
    )?;
    (!found.moves_tools()).then_some(found)
}

fn wrong_bed(shop: &Shop, brake: usize, order: &WorkOrder) -> Finding {
    Finding {
        code: "D390",
        severity: Severity::Warning,
        place: Place {
            file: "floor.csv".into(),
            line: None,
            field: Some(order.id.to_string()),
        },
        found: format!(
            "order {} is in progress on {}, but no setup of its part is on that bed as described",
            order.id, shop.brakes[brake].id
        ),
        expected: "stations that make all its bends".into(),
        action: "describe the bed as it is, or take the order off the floor file; it is planned like an order that has not begun".into(),
    }
}
