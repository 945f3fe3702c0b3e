//! Who can work where and when: spans in which a brake is staffed and a person is there.

use crate::calendar::{ShiftDay, expand};
use model::{Brake, Shop};
use std::collections::BTreeSet;
use units::{Moment, Seconds, Window};

/// A span in which a brake is staffed and a person is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Span {
    pub(crate) start: Moment,
    pub(crate) end: Moment,
    /// End of the person's shift.
    pub(crate) shift_end: Moment,
}

/// A span worked by people (indices into the shop's people).
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Worked {
    pub(crate) start: Moment,
    pub(crate) end: Moment,
    pub(crate) crew: Vec<usize>,
}

/// Calendars of all brakes and people over the planning horizon.
#[derive(Debug)]
pub(crate) struct Roster {
    /// By brake and person; empty when the person is not trained on the brake.
    spans: Vec<Vec<Vec<Span>>>,
    /// People who change tools on a brake.
    pub(crate) setters: Vec<Vec<usize>>,
    /// People who bend on a brake.
    pub(crate) operators: Vec<Vec<usize>>,
    /// By person: whether they change tools.
    sets: Vec<bool>,
    /// Staffed spans of each brake.
    pub(crate) staffed: Vec<Vec<Window>>,
    /// Shifts of each brake.
    shifts: Vec<Vec<Window>>,
    /// Overtime spans of each brake.
    overtime: Vec<Vec<Window>>,
    /// The inspector's hours; `None` when any time will do.
    inspector: Option<Vec<Window>>,
}

/// A person who could join a run, in the order of preference.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct There {
    wanted: Moment,
    comes: bool,
    idle: Seconds,
    person: usize,
    start: Moment,
    end: Moment,
}

/// A setter bends only when nobody else could begin within this time: a setter at one brake for
/// hours keeps all others waiting for their changeovers.
const SETTERS_LAST: Seconds = Seconds(45 * 60);

/// What a change asks of the roster.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ChangeWork {
    pub(crate) brake: usize,
    pub(crate) earliest: Moment,
    pub(crate) work: Seconds,
    /// Seconds before the end that must lie in the inspector's hours.
    pub(crate) inspected: Option<Seconds>,
    pub(crate) quiet: Seconds,
    pub(crate) may_span_shifts: bool,
}

/// Where a change begins and ends.
#[derive(Clone, Copy)]
struct Begun {
    /// Index of the person's span in which it begins.
    index: usize,
    start: Moment,
    end: Moment,
}

impl Roster {
    pub(crate) fn new(shop: &Shop, horizon: Window) -> Roster {
        let shifts_of = |id: &units::CalendarId| -> Vec<ShiftDay> {
            shop.calendar(id)
                .map_or_else(Vec::new, |c| expand(c, shop.zone, horizon))
        };
        let brake_shifts: Vec<Vec<ShiftDay>> = shop
            .brakes
            .iter()
            .map(|brake| shifts_of(&brake.calendar))
            .collect();
        let people: Vec<Vec<ShiftDay>> = shop
            .people
            .iter()
            .map(|person| shifts_of(&person.calendar))
            .collect();
        let staffed: Vec<Vec<Window>> = shop
            .brakes
            .iter()
            .zip(&brake_shifts)
            .map(|(brake, shifts)| staffed_spans(shop, brake, shifts, horizon))
            .collect();
        let able = |brake: &Brake, role: fn(model::Role) -> bool| -> Vec<usize> {
            (0..shop.people.len())
                .filter(|&person| role(shop.people[person].role))
                .filter(|&person| shop.people[person].brakes.contains(&brake.id))
                .collect()
        };
        let spans = shop
            .brakes
            .iter()
            .enumerate()
            .map(|(index, brake)| {
                (0..shop.people.len())
                    .map(|person| {
                        if shop.people[person].brakes.contains(&brake.id) {
                            together(&staffed[index], &people[person])
                        } else {
                            Vec::new()
                        }
                    })
                    .collect()
            })
            .collect();
        Roster {
            spans,
            setters: shop
                .brakes
                .iter()
                .map(|b| able(b, model::Role::sets))
                .collect(),
            operators: shop
                .brakes
                .iter()
                .map(|b| able(b, model::Role::bends))
                .collect(),
            sets: shop
                .people
                .iter()
                .map(|person| person.role.sets())
                .collect(),
            shifts: brake_shifts
                .iter()
                .map(|s| s.iter().map(|s| s.window).collect())
                .collect(),
            overtime: brake_shifts
                .iter()
                .map(|shifts| {
                    let over = shifts.iter().filter(|shift| shift.overtime);
                    merge(over.flat_map(|shift| shift.spans.clone()).collect())
                })
                .collect(),
            staffed,
            inspector: shop.rules.inspector_calendar.as_ref().map(|id| {
                merge(
                    shifts_of(id)
                        .into_iter()
                        .flat_map(|shift| shift.spans)
                        .collect(),
                )
            }),
        }
    }

    /// Spans in order, each with how many brakes of a set can work at once at most: no more than are
    /// staffed, and no more than people are there.
    pub(crate) fn capacity(&self, brakes: &BTreeSet<usize>) -> Vec<(Window, i64)> {
        let people = self.spans.first().map_or(0, Vec::len);
        let there = (0..people).map(|person| {
            let spans = brakes.iter().flat_map(|&brake| &self.spans[brake][person]);
            let windows = spans.map(|span| Window {
                start: span.start,
                end: span.end,
            });
            merge(windows.collect())
        });
        // Brakes and people that come (+1) and go (−1).
        let mut changes: Vec<(Moment, i64, i64)> = Vec::new();
        for window in brakes.iter().flat_map(|&brake| &self.staffed[brake]) {
            changes.extend([(window.start, 1, 0), (window.end, -1, 0)]);
        }
        for window in there.flatten() {
            changes.extend([(window.start, 0, 1), (window.end, 0, -1)]);
        }
        changes.sort_unstable();
        let (mut staffed, mut present) = (0_i64, 0_i64);
        let mut spans = Vec::new();
        for (index, &(start, brake, person)) in changes.iter().enumerate() {
            staffed += brake;
            present += person;
            let Some(&(end, _, _)) = changes.get(index + 1) else {
                break;
            };
            let at_once = staffed.min(present);
            if start < end && at_once > 0 {
                spans.push((Window { start, end }, at_once));
            }
        }
        spans
    }

    /// By person who bends: the spans in which they can be at one of their brakes.
    pub(crate) fn bending(&self) -> Vec<Vec<Window>> {
        let people: BTreeSet<usize> = self.operators.iter().flatten().copied().collect();
        let windows = |person: usize| {
            let spans = self.spans.iter().flat_map(move |brake| &brake[person]);
            spans.map(|span| Window {
                start: span.start,
                end: span.end,
            })
        };
        people
            .into_iter()
            .map(|person| merge(windows(person).collect()))
            .collect()
    }

    fn spans_of(&self, brake: usize, person: usize) -> &[Span] {
        &self.spans[brake][person]
    }

    /// Seconds in which the brake is staffed.
    pub(crate) fn staffed_seconds(&self, brake: usize) -> i64 {
        let spans = self.staffed[brake].iter();
        spans.map(|span| (span.end - span.start).0).sum()
    }

    /// First moment from `at` on when the brake is staffed.
    pub(crate) fn next_staffed(&self, brake: usize, at: Moment) -> Option<Moment> {
        let spans = &self.staffed[brake];
        let index = spans.partition_point(|span| span.end <= at);
        spans.get(index).map(|span| span.start.max(at))
    }

    /// Earliest end of a change by one setter, with the setter and the spans worked.
    pub(crate) fn place_change(
        &self,
        ask: &ChangeWork,
        free_from: &[Moment],
    ) -> Option<(usize, Vec<Window>)> {
        let mut best: Option<(Moment, usize, Begun)> = None;
        for &person in &self.setters[ask.brake] {
            let earliest = ask.earliest.max(free_from[person]);
            let least = earliest + ask.work;
            if best.as_ref().is_some_and(|(end, _, _)| least >= *end) {
                continue;
            }
            let Some(begun) = self.change_by(ask, person, earliest) else {
                continue;
            };
            if best.as_ref().is_none_or(|(end, _, _)| begun.end < *end) {
                best = Some((begun.end, person, begun));
            }
        }
        best.map(|(_, person, begun)| (person, self.spans_from(ask, person, begun)))
    }

    fn change_by(&self, ask: &ChangeWork, person: usize, earliest: Moment) -> Option<Begun> {
        let mut from = earliest;
        // Each round moves the start past what stood in the way; a horizon has few hundred spans.
        for _ in 0..1_000 {
            let begun = self.change_from(ask, person, from)?;
            match ask
                .inspected
                .and_then(|length| self.too_early_for_inspector(begun.end, length))
            {
                None => return Some(begun),
                Some(late_by) => from = begun.start + late_by,
            }
        }
        None
    }

    /// When a change ends that starts as early as its rules allow from `from` on.
    fn change_from(&self, ask: &ChangeWork, person: usize, from: Moment) -> Option<Begun> {
        let spans = self.spans_of(ask.brake, person);
        let mut index = spans.partition_point(|span| span.end <= from);
        'start: loop {
            let first = spans.get(index)?;
            let start = first.start.max(from);
            if start > first.shift_end - ask.quiet {
                index += 1;
                continue;
            }
            let mut left = ask.work;
            for span in &spans[index..] {
                if !ask.may_span_shifts && span.shift_end != first.shift_end {
                    index += 1;
                    continue 'start;
                }
                let begin = span.start.max(start);
                if span.end - begin >= left {
                    let end = begin + left;
                    return Some(Begun { index, start, end });
                }
                left = left - (span.end - begin);
            }
            return None;
        }
    }

    /// The spans of a change.
    fn spans_from(&self, ask: &ChangeWork, person: usize, begun: Begun) -> Vec<Window> {
        self.spans_of(ask.brake, person)[begun.index..]
            .iter()
            .take_while(|span| span.start < begun.end)
            .map(|span| Window {
                start: span.start.max(begun.start),
                end: span.end.min(begun.end),
            })
            .collect()
    }

    /// How much later a change must be so that the inspector is there for its last `length`.
    fn too_early_for_inspector(&self, end: Moment, length: Seconds) -> Option<Seconds> {
        let hours = self.inspector.as_ref()?;
        let start = end - length;
        let index = hours.partition_point(|span| span.end < end);
        let fits = |span: &Window| span.start <= start && end <= span.end;
        match hours[index..].iter().find(|span| span.length() >= length) {
            Some(span) if fits(span) => None,
            Some(span) => Some((span.start + length) - end),
            // No inspector for the rest of the horizon: push it out of reach.
            None => Some(Seconds(86_400 * 400)),
        }
    }

    /// Spans worked by a crew of `crew` people from `earliest` on, as early as may be. People stay
    /// until they leave; after a break the same people go on where they can.
    pub(crate) fn place_run(
        &self,
        brake: usize,
        earliest: Moment,
        work: Seconds,
        crew: usize,
        may_span_shifts: bool,
        free_from: &[Moment],
    ) -> Option<Vec<Worked>> {
        let mut from = earliest;
        loop {
            let worked = self.run_from(brake, from, work, crew, free_from)?;
            if may_span_shifts {
                return Some(worked);
            }
            let (start, end) = (worked.first()?.start, worked.last()?.end);
            let shift = self.shifts[brake]
                .iter()
                .find(|s| s.start <= start && start < s.end)?;
            if end <= shift.end {
                return Some(worked);
            }
            from = shift.end;
        }
    }

    fn run_from(
        &self,
        brake: usize,
        from: Moment,
        work: Seconds,
        crew: usize,
        free_from: &[Moment],
    ) -> Option<Vec<Worked>> {
        let mut worked: Vec<Worked> = Vec::new();
        let (mut at, mut left) = (from, work);
        while left > Seconds::ZERO {
            let before = worked
                .last()
                .map(|last| last.crew.as_slice())
                .unwrap_or_default();
            let (start, end, people) = self.gather(brake, at, crew, before, free_from)?;
            let end = end.min(start + left);
            left = left - (end - start);
            at = end;
            match worked.last_mut() {
                Some(last) if last.end == start && last.crew == people => last.end = end,
                _ => worked.push(Worked {
                    start,
                    end,
                    crew: people,
                }),
            }
        }
        Some(worked)
    }

    /// The earliest span from `at` on with enough people on the brake. Of people who could begin
    /// together, those already on the run stay, then whoever has been idle for the shortest time
    /// comes: the others keep their free time in one piece for other brakes.
    fn gather(
        &self,
        brake: usize,
        at: Moment,
        crew: usize,
        before: &[usize],
        free_from: &[Moment],
    ) -> Option<(Moment, Moment, Vec<usize>)> {
        let mut at = at;
        loop {
            let come = |&person: &usize| self.comes(brake, person, at, before, free_from);
            let mut there: Vec<There> = if crew == 1 {
                // By far the most frequent: no need to rank the others.
                self.first_there(brake, at, before, free_from)
                    .into_iter()
                    .collect()
            } else {
                self.operators[brake].iter().filter_map(come).collect()
            };
            if there.len() < crew {
                return None;
            }
            there.sort_unstable();
            let chosen = &there[..crew];
            let start = chosen.iter().map(|person| person.start).max()?;
            let end = chosen.iter().map(|person| person.end).min()?;
            if start < end {
                let mut people: Vec<usize> = chosen.iter().map(|person| person.person).collect();
                people.sort_unstable();
                return Some((start, end, people));
            }
            at = start; // somebody leaves before the last one comes
        }
    }

    /// Whoever is preferred of those who could join a run from `at` on.
    fn first_there(
        &self,
        brake: usize,
        at: Moment,
        before: &[usize],
        free_from: &[Moment],
    ) -> Option<There> {
        let mut best: Option<There> = None;
        for &person in &self.operators[brake] {
            // Nobody is wanted before being free, unless already on the run.
            let late = |best: &There| free_from[person] > best.wanted && !before.contains(&person);
            if best.as_ref().is_some_and(late) {
                continue;
            }
            let there = self.comes(brake, person, at, before, free_from);
            best = match (best, there) {
                (Some(best), Some(there)) => Some(best.min(there)),
                (best, there) => best.or(there),
            };
        }
        best
    }

    /// When a person could join a run from `at` on.
    fn comes(
        &self,
        brake: usize,
        person: usize,
        at: Moment,
        before: &[usize],
        free_from: &[Moment],
    ) -> Option<There> {
        let stays = before.contains(&person);
        let from = if stays { at } else { at.max(free_from[person]) };
        let spans = self.spans_of(brake, person);
        let span = spans.get(spans.partition_point(|span| span.end <= from))?;
        let start = span.start.max(from);
        let spare = self.sets[person] && !stays;
        Some(There {
            wanted: if spare { start + SETTERS_LAST } else { start },
            comes: !stays,
            idle: start - free_from[person],
            person,
            start,
            end: span.end,
        })
    }

    /// Seconds of `span` within overtime shifts of the brake.
    pub(crate) fn overtime_in(&self, brake: usize, span: Window) -> i64 {
        self.overtime[brake]
            .iter()
            .map(|over| (over.end.min(span.end).0 - over.start.max(span.start).0).max(0))
            .sum()
    }

    /// Earliest end of an amount of work on a brake, people and changeovers left aside.
    pub(crate) fn earliest_end(&self, brake: usize, from: Moment, work: Seconds) -> Option<Moment> {
        let spans = &self.staffed[brake];
        let mut left = work;
        for span in &spans[spans.partition_point(|span| span.end <= from)..] {
            let start = span.start.max(from);
            if start + left <= span.end {
                return Some(start + left);
            }
            left = left - (span.end - start);
        }
        None
    }
}

/// A brake's spans of work within the horizon, less the time it is down.
fn staffed_spans(shop: &Shop, brake: &Brake, shifts: &[ShiftDay], horizon: Window) -> Vec<Window> {
    let mut spans: Vec<Window> = shifts
        .iter()
        .flat_map(|shift| shift.spans.iter().copied())
        .map(|span| Window {
            start: span.start.max(horizon.start),
            end: span.end.min(horizon.end),
        })
        .filter(|span| span.start < span.end)
        .collect();
    for down in shop.floor.down.iter().filter(|down| down.brake == brake.id) {
        spans = spans
            .into_iter()
            .flat_map(|span| without(span, down.window))
            .collect();
    }
    merge(spans)
}

fn without(span: Window, hole: Window) -> impl Iterator<Item = Window> {
    let before = Window {
        start: span.start,
        end: span.end.min(hole.start),
    };
    let after = Window {
        start: span.start.max(hole.end),
        end: span.end,
    };
    [before, after]
        .into_iter()
        .filter(|part| part.start < part.end)
}

/// Sorted, overlapping spans joined; spans that only touch stay apart, as shifts do.
fn merge(mut spans: Vec<Window>) -> Vec<Window> {
    spans.sort_unstable();
    let mut out: Vec<Window> = Vec::with_capacity(spans.len());
    for span in spans {
        match out.last_mut() {
            Some(last) if span.start < last.end => last.end = last.end.max(span.end),
            _ => out.push(span),
        }
    }
    out
}

/// Spans in which the brake is staffed and the person is there, in time order.
fn together(staffed: &[Window], person: &[ShiftDay]) -> Vec<Span> {
    let mut out = Vec::new();
    for shift in person {
        for own in &shift.spans {
            let first = staffed.partition_point(|span| span.end <= own.start);
            for span in staffed[first..]
                .iter()
                .take_while(|span| span.start < own.end)
            {
                out.push(Span {
                    start: span.start.max(own.start),
                    end: span.end.min(own.end),
                    shift_end: shift.window.end,
                });
            }
        }
    }
    out.sort_unstable_by_key(|span| (span.start, span.end));
    apart(out)
}

/// Spans without the seconds that an earlier one has already: shifts of one calendar may overlap,
/// and one of them may go on through the other's break.
fn apart(spans: Vec<Span>) -> Vec<Span> {
    let mut out: Vec<Span> = Vec::with_capacity(spans.len());
    for span in spans {
        let start = out
            .last()
            .map_or(span.start, |last| span.start.max(last.end));
        if start < span.end {
            out.push(Span { start, ..span });
        }
    }
    out
}
