//! Sections on other beds, fetched by takedowns.

use super::scratch::TakenDown;
use super::{TimedTakedown, Timing};
use crate::roster::ChangeWork;
use tooling::BedChange;
use units::{Moment, Seconds};

impl Timing<'_, '_> {
    /// Frees every section the change puts on: those on other beds by a takedown there. Returns
    /// the moment from which all are free.
    pub(super) fn fetch_sections(
        &mut self,
        brake: usize,
        change: &BedChange,
        taken_down: &mut Vec<TakenDown>,
    ) -> Option<Moment> {
        let mut free = self.problem.from;
        for &index in &change.inserted {
            for section in change.bed.stands[index].sections() {
                if let Some(other) = self.state.holder[section].filter(|&other| other != brake) {
                    taken_down.push(self.take_down(other, brake, section)?);
                }
                if self.state.holder[section].is_none() {
                    free = free.max(self.state.free_at[section]);
                }
            }
        }
        Some(free)
    }

    /// Takes the station that holds a section off another brake's bed.
    fn take_down(&mut self, brake: usize, wanted_by: usize, section: usize) -> Option<TakenDown> {
        let problem = self.problem;
        let state = &self.state.brakes[brake];
        let at = state
            .bed
            .stands
            .iter()
            .position(|stand| stand.holds(section))?;
        let removed = vec![std::sync::Arc::clone(&state.bed.stands[at])];
        let machine = &problem.shop.brakes[brake];
        let steps = BedChange::takedown_steps(&problem.stock, machine, &removed);
        let work: Seconds = steps.iter().map(|step| step.time).sum();
        let rules = &problem.shop.rules;
        let ask = ChangeWork {
            brake,
            earliest: state.clock,
            work,
            inspected: None,
            quiet: rules.quiet_before_shift_end,
            may_span_shifts: rules.changeover_may_span_shifts,
        };
        let (setter, spans) = problem.roster.place_change(&ask, &self.state.people)?;
        let end = spans.last()?.end;
        let undone = self.state.take_down(brake, at, setter, end)?;
        self.account(brake, Some(&spans), work, &[]);
        if let Some(log) = self.log.as_deref_mut() {
            log.takedowns.push(TimedTakedown {
                brake,
                wanted_by,
                removed,
                steps,
                setter,
                spans,
            });
        }
        Some(undone)
    }
}
