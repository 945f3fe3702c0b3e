//! What guesses go by besides the plan.

use super::real;
use crate::least_change::new_part;
use crate::problem::Problem;
use tooling::{Bed, ToolingOption, run_time};

/// What guesses go by besides the record: seconds that do not depend on the plan.
#[derive(Clone, Debug, Default)]
pub(crate) struct Usual {
    /// By job and way: seconds of its run.
    pub(crate) runs: Vec<Vec<f64>>,
    /// By job and way: seconds of a new part.
    pub(crate) parts: Vec<Vec<i64>>,
    /// By brake: hours passed for an hour worked.
    pub(crate) pace: Vec<f64>,
    /// By order: jobs that wait for it.
    pub(crate) followers: Vec<Vec<usize>>,
    /// By kit: its promises.
    pub(crate) kits: Vec<Vec<usize>>,
    /// By brake: punch and die of each station that stands there at first.
    pub(crate) beds: Vec<Vec<(usize, usize)>>,
}

impl Usual {
    pub(crate) fn of(problem: &Problem<'_>) -> Usual {
        let mut usual = Usual::default();
        for (job, ways) in problem.jobs.iter().zip(&problem.ways) {
            let seconds =
                |way: &ToolingOption| run_time(job.quantity, way.cycle_ms, &problem.shop.rules).0;
            let runs = ways.iter().map(|way| real(seconds(way)));
            usual.runs.push(runs.collect());
            let parts = ways.iter().map(|way| new_part(problem, way, false).0);
            usual.parts.push(parts.collect());
        }
        usual.followers = vec![Vec::new(); problem.shop.orders.len()];
        for (index, job) in problem.jobs.iter().enumerate() {
            if let Some(order) = job.after {
                usual.followers[order].push(index);
            }
        }
        usual.kits = vec![Vec::new(); problem.kits];
        for (index, terms) in problem.promises.iter().enumerate() {
            if let Some(kit) = terms.kit {
                usual.kits[kit].push(index);
            }
        }
        let all = real((problem.until - problem.from).0);
        let brakes = 0..problem.shop.brakes.len();
        let pace = brakes.map(|brake| all / real(problem.roster.staffed_seconds(brake)).max(1.0));
        usual.pace = pace.collect();
        let pairs = |bed: &Bed| {
            bed.stands
                .iter()
                .map(|stand| (stand.punch, stand.die))
                .collect()
        };
        usual.beds = problem.beds.iter().map(pairs).collect();
        usual
    }
}
