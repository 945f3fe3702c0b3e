//! What answers cost, one after the other, each a little different from the one before.
//!
//! An answer is timed from the last milestone before anything that differs from the base: until there
//! the two are the same to the second.

use super::outlook::more;
use super::rehearsal::{Passage, seems_dearer};
use super::{Scratch, Timing, look_ahead};
use crate::problem::Problem;
use search::{Sequences, Touched};

/// Jobs below which every change is timed to its end: that is quick, and where there are few changes none may
/// be passed over.
const SMALL: usize = 100;
/// Jobs beyond which a stretch tells too little: what a change brings late in a long plan is more than
/// what it brings beside it.
const LARGE: usize = 3_000;

/// What an answer costs, timed from its beginning; see [`super::time`].
pub(crate) fn whole(
    problem: &Problem<'_>,
    scratch: &mut Scratch,
    lines: &Sequences,
    limit: i64,
) -> i64 {
    begin(problem, scratch, lines);
    finish_within(problem, scratch, lines, limit, None)
}

/// The same of an answer that differs from the base only where it is touched.
pub(crate) fn of_change(
    problem: &Problem<'_>,
    scratch: &mut Scratch,
    lines: &Sequences,
    touched: &Touched,
    limit: i64,
) -> i64 {
    go_on(problem, scratch, lines, touched);
    finish_within(problem, scratch, lines, limit, None)
}

/// The same, but given up, with a number above the limit, as soon as it seems to come out above that.
pub(crate) fn attempt(
    problem: &Problem<'_>,
    scratch: &mut Scratch,
    lines: &Sequences,
    touched: &Touched,
    limit: i64,
) -> i64 {
    let jobs = problem.jobs.len();
    if jobs < SMALL {
        return of_change(problem, scratch, lines, touched, limit);
    }
    if scratch.milestones.is_empty() {
        set_milestones(problem, scratch);
    }
    let tells = jobs <= LARGE;
    if tells && seems_dearer(problem, scratch, lines, touched, limit) {
        return i64::MAX;
    }
    go_on(problem, scratch, lines, touched);
    finish_within(problem, scratch, lines, limit, tells.then_some(touched))
}

/// Times the base once more, for its milestones.
pub(super) fn set_milestones(problem: &Problem<'_>, scratch: &mut Scratch) {
    scratch.collects = true;
    let base = std::mem::take(&mut scratch.lines);
    whole(problem, scratch, &base, i64::MAX);
    scratch
        .milestones
        .replace(0, &scratch.demand, &mut scratch.fresh);
    scratch.lines = base;
}

/// The state that an answer begins with.
fn begin(problem: &Problem<'_>, scratch: &mut Scratch, lines: &Sequences) {
    scratch.kept = 0;
    scratch.demand.clear();
    scratch.reset(problem, lines);
    Timing::on(problem, scratch).running_first(lines);
    scratch.fresh.begin(lines);
}

/// The state in which a touched answer is still as the base: that of a milestone, or its beginning.
fn go_on(problem: &Problem<'_>, scratch: &mut Scratch, lines: &Sequences, touched: &Touched) {
    // Which brake goes on is decided by the next run of each.
    let ahead = look_ahead(problem.keep).max(1);
    let Some(at) = scratch.milestones.before(touched, ahead) else {
        return begin(problem, scratch, lines);
    };
    let milestone = scratch.milestones.get(at);
    scratch.demand.set(problem, &scratch.lines, lines, touched);
    if !scratch.demand.looks_alike(&milestone.state) {
        return begin(problem, scratch, lines);
    }
    scratch.kept = at + 1;
    scratch.state.clone_from(&milestone.state);
    scratch.demand.add_to(&mut scratch.state);
    scratch.timed.go_on_from(&scratch.base, &milestone.mark);
    scratch.fresh.begin(lines);
    scratch.fresh.go_on();
}

/// Goes on to the end, or until it seems, from time to time on the passage, to come out above the limit.
fn finish_within(
    problem: &Problem<'_>,
    scratch: &mut Scratch,
    lines: &Sequences,
    limit: i64,
    gives_up: Option<&Touched>,
) -> i64 {
    let mut passage = gives_up.map(|touched| (Passage::of(lines, touched), touched));
    let Scratch {
        state,
        composer,
        timed,
        base,
        base_cost,
        fresh,
        room,
        collects,
        ..
    } = scratch;
    let timing = Timing::of(problem, state, composer, Some(timed));
    let cost = timing.finish_within(lines, limit, |timing| {
        if let (true, Some(timed)) = (*collects, timing.timed.as_deref()) {
            fresh.pass(timing.state, timed);
        }
        let Some((passage, touched)) = &mut passage else {
            return true;
        };
        if !passage.asks_late(timing.state) {
            return true;
        }
        let seems = more(problem, base, timing.state, (lines, touched), room);
        *base_cost + seems <= limit
    });
    scratch.cost = cost;
    cost
}

/// The answer timed last, to its end, is the base from now on.
pub(crate) fn keep(problem: &Problem<'_>, scratch: &mut Scratch, lines: &Sequences) {
    let Scratch {
        state,
        timed,
        base,
        milestones,
        fresh,
        demand,
        ..
    } = scratch;
    milestones.replace(scratch.kept, demand, fresh);
    std::mem::swap(timed, base);
    base.finish(problem, lines, &state.promise_end, &state.end_of_order);
    base.spent = state.spent(&problem.shop.rules);
    scratch.base_cost = scratch.cost;
    scratch.lines.clone_from(lines);
}
