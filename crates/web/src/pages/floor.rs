//! Where a brake is in the published plan.

use daybook::{Doing, State};
use model::{BrakePlan, Run, Takedown};
use units::BrakeId;

/// What a brake does now and next, by the published plan.
#[derive(Clone, Debug)]
pub(crate) struct Place<'a> {
    /// The planned run that is being bent.
    pub(crate) now: Option<&'a Run>,
    /// The planned run whose changeover is under way.
    pub(crate) changing: Option<&'a Run>,
    /// Runs that have not begun, in order; without the one above.
    pub(crate) next: Vec<&'a Run>,
    /// Takedowns that are not done, with their numbers.
    pub(crate) takedowns: Vec<(u32, &'a Takedown)>,
}

impl<'a> Place<'a> {
    /// Of a brake; `line` is its part of the published plan.
    pub(crate) fn of(state: &State, brake: &BrakeId, line: Option<&'a BrakePlan>) -> Place<'a> {
        let runs = line.map_or(&[][..], |line| &line.runs);
        let begun = |index: usize, run: &Run| state.has_begun(brake, index, run);
        let doing = state.doing(brake);
        let now = match doing {
            Doing::Running(on) => runs
                .iter()
                .enumerate()
                .filter(|(index, run)| run.order == on.order && begun(*index, run))
                .map(|(_, run)| run)
                .next_back(),
            Doing::Idle | Doing::ChangingOver(_) => None,
        };
        let open = runs.iter().enumerate().filter(|(index, run)| {
            let order = state.orders.get(&run.order);
            let wanted =
                order.is_some_and(|order| !order.withdrawn && order.done < order.order.quantity);
            wanted && !begun(*index, run)
        });
        let mut next: Vec<&Run> = open.map(|(_, run)| run).collect();
        let changing = match doing {
            Doing::ChangingOver(change) => {
                let at = next
                    .iter()
                    .position(|run| run.name == change.run && run.order == change.order)
                    .or_else(|| next.iter().position(|run| run.order == change.order));
                at.map(|at| next.remove(at))
            }
            Doing::Idle | Doing::Running(_) => None,
        };
        let takedowns = line.map_or(&[][..], |line| &line.takedowns);
        let takedowns = (1_u32..)
            .zip(takedowns)
            .filter(|(number, _)| !state.taken_down.contains(&(brake.clone(), *number)));
        Place {
            now,
            changing,
            next,
            takedowns: takedowns.collect(),
        }
    }

    /// Whether exactly a run's stations stand on the brake's bed, as they do once its changeover is
    /// done.
    pub(crate) fn is_set_up(state: &State, brake: &BrakeId, run: &Run) -> bool {
        let bed = state.beds.get(brake).map_or(&[][..], Vec::as_slice);
        let stands = |station: &model::Station| {
            bed.iter().any(|one| {
                one.punch == station.punch
                    && one.die == station.die
                    && one.left == station.left
                    && one.reversed == station.reversed
            })
        };
        bed.len() == run.bed.len() && run.bed.iter().all(stands)
    }

    /// Takedowns that come before a run.
    pub(crate) fn before(&self, run: Option<&Run>) -> impl Iterator<Item = &(u32, &'a Takedown)> {
        let until = run.map(|run| run.changeover.start.min(run.start));
        self.takedowns
            .iter()
            .filter(move |(_, down)| until.is_none_or(|until| down.start < until))
    }
}
