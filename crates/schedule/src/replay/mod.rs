//! A plan played again with other durations: the sequence of every brake stays, times slip.
//!
//! What the plan decided stays decided: which run on which brake after which changeover, which bed
//! gives its sections to which. What the floor decides is decided anew: who comes, when a shift or a
//! break is over, when a section is free. With the plan's own durations the plan's own times come
//! out.

mod build;
mod play;
#[cfg(test)]
mod tests;

use crate::problem::Problem;
use crate::roster::Roster;
use crate::timing::{Log, Scratch, time};
use build::Builder;
use model::Shop;
use play::{Play, Turn};
use search::Sequences;
use units::{Moment, Seconds, Window};

/// What the floor makes of the plan's durations.
pub trait Floor {
    /// How long work at the bed takes for which the plan reckons so long.
    fn change(&mut self, planned: Seconds) -> Seconds;
    /// How long bending takes for which the plan reckons so long.
    fn run(&mut self, planned: Seconds) -> Seconds;
    /// How long a brake stands still before, or during, so much work; in its staffed hours.
    fn stop(&mut self, work: Seconds) -> Seconds;
}

/// The plan's own durations.
#[derive(Clone, Copy, Debug, Default)]
pub struct Planned;

impl Floor for Planned {
    fn change(&mut self, planned: Seconds) -> Seconds {
        planned
    }
    fn run(&mut self, planned: Seconds) -> Seconds {
        planned
    }
    fn stop(&mut self, _: Seconds) -> Seconds {
        Seconds::ZERO
    }
}

/// An order that nobody has planned: it goes before the runs that have not begun when it comes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rush {
    /// When it comes.
    pub arrival: Moment,
    /// Work at the bed, there and back.
    pub change: Seconds,
    /// Bending.
    pub run: Seconds,
    /// People who bend.
    pub crew: usize,
}

/// A run as the plan has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlannedRun {
    /// Index of the brake.
    pub brake: usize,
    /// Work at the bed before it.
    pub change: Seconds,
    /// Bending.
    pub run: Seconds,
    /// People who bend.
    pub crew: usize,
}

/// A plan ready to be played.
#[derive(Debug)]
pub struct Replay {
    roster: Roster,
    from: Moment,
    horizon: Moment,
    people: usize,
    quiet: Seconds,
    change_may_span: bool,
    run_may_span: bool,
    pieces: Vec<u32>,
    items: Vec<Item>,
    /// By brake: items in its sequence.
    lines: Vec<Vec<usize>>,
    /// How many moments are kept at which sections become free.
    events: usize,
}

/// A run in a line.
#[derive(Clone, Debug)]
struct Item {
    job: usize,
    order: usize,
    part: usize,
    quantity: u32,
    ready: Moment,
    after: Option<usize>,
    running: bool,
    /// `None` when it found no place: it only takes its turn.
    work: Option<Work>,
    /// Items that must have had their turn.
    before: Vec<usize>,
}

#[derive(Clone, Debug)]
struct Work {
    takedowns: Vec<Takedown>,
    change: Seconds,
    run: Seconds,
    crew: usize,
    inspected: Option<Seconds>,
    /// Moments at which sections that it puts on become free.
    needs: Vec<usize>,
    /// Its own: the end of its change.
    event: usize,
}

#[derive(Clone, Copy, Debug)]
struct Takedown {
    brake: usize,
    work: Seconds,
    event: usize,
}

/// Working memory of a play, and what came out.
#[derive(Clone, Debug, Default)]
pub struct Played {
    clock: Vec<Moment>,
    next: Vec<usize>,
    rushed: Vec<usize>,
    previous: Vec<Option<usize>>,
    people: Vec<Moment>,
    left: Vec<u32>,
    order_end: Vec<Moment>,
    events: Vec<Moment>,
    had_turn: Vec<bool>,
    ends: Vec<Option<Moment>>,
}

impl Played {
    /// When an item ended; `None` when it had no turn or found no time.
    #[must_use]
    pub fn end(&self, item: usize) -> Option<Moment> {
        self.ends.get(item).copied().flatten()
    }
}

impl Replay {
    /// Times the sequences and keeps what the plan decided. Calendars reach `beyond` the problem's
    /// horizon, for what slips out of it.
    #[must_use]
    pub fn new(problem: &Problem<'_>, sequences: &Sequences, beyond: Seconds) -> Replay {
        let mut log = Log::default();
        time(
            problem,
            &mut Scratch::default(),
            sequences,
            i64::MAX,
            Some(&mut log),
        );
        let rules = &problem.shop.rules;
        let window = Window {
            start: problem.from,
            end: problem.until + beyond,
        };
        let mut replay = Replay {
            roster: Roster::new(problem.shop, window),
            from: problem.from,
            horizon: window.end,
            people: problem.shop.people.len(),
            quiet: rules.quiet_before_shift_end,
            change_may_span: rules.changeover_may_span_shifts,
            run_may_span: rules.run_may_span_shifts,
            pieces: problem.pieces_in_jobs.clone(),
            items: Vec::with_capacity(log.order.len()),
            lines: vec![Vec::new(); problem.shop.brakes.len()],
            events: 0,
        };
        Builder::new(problem, &mut replay).add_all(&log);
        replay
    }

    /// Runs on a shop's first brake in the order given, each with the moment from which its blanks are
    /// there, without changeovers: a plain queue, to hold the playing itself against closed forms.
    #[must_use]
    pub fn queue(shop: &Shop, window: Window, runs: &[(Moment, Seconds)]) -> Replay {
        let rules = &shop.rules;
        let item = |&(ready, run): &(Moment, Seconds)| Item {
            job: 0,
            order: 0,
            part: 0,
            quantity: 0,
            ready,
            after: None,
            running: false,
            work: Some(Work {
                takedowns: Vec::new(),
                change: Seconds::ZERO,
                run,
                crew: 1,
                inspected: None,
                needs: Vec::new(),
                event: 0,
            }),
            before: Vec::new(),
        };
        let mut lines = vec![Vec::new(); shop.brakes.len()];
        if let Some(line) = lines.first_mut() {
            *line = (0..runs.len()).collect();
        }
        Replay {
            roster: Roster::new(shop, window),
            from: window.start,
            horizon: window.end,
            people: shop.people.len(),
            quiet: rules.quiet_before_shift_end,
            change_may_span: rules.changeover_may_span_shifts,
            run_may_span: rules.run_may_span_shifts,
            pieces: vec![0],
            items: runs.iter().map(item).collect(),
            lines,
            events: 1,
        }
    }

    /// Runs in the order in which the plan was timed.
    #[must_use]
    pub fn len(&self) -> usize {
        self.items.len()
    }

    /// Whether there is no run.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.items.is_empty()
    }

    /// Brakes.
    #[must_use]
    pub fn brakes(&self) -> usize {
        self.lines.len()
    }

    /// First moment played.
    #[must_use]
    pub fn from(&self) -> Moment {
        self.from
    }

    /// Calendars end here.
    #[must_use]
    pub fn horizon(&self) -> Moment {
        self.horizon
    }

    /// The item of an order's last run in the plan; `None` when the order has none.
    #[must_use]
    pub fn item_of(&self, order: usize) -> Option<usize> {
        self.items.iter().rposition(|item| item.order == order)
    }

    /// Job of an item.
    #[must_use]
    pub fn job(&self, item: usize) -> Option<usize> {
        self.items.get(item).map(|item| item.job)
    }

    /// Every run that has a place.
    pub fn runs(&self) -> impl Iterator<Item = PlannedRun> + '_ {
        let lines = self.lines.iter().enumerate();
        lines.flat_map(|(brake, line)| {
            let works = line
                .iter()
                .filter_map(|&item| self.items[item].work.as_ref());
            works.map(move |work| PlannedRun {
                brake,
                change: work.change,
                run: work.run,
                crew: work.crew,
            })
        })
    }

    /// Plays the plan until an item has had its turn, or to the end. `rush` has a list by brake,
    /// each by arrival. Answers with the end of that item.
    pub fn play(
        &self,
        floor: &mut dyn Floor,
        rush: &[Vec<Rush>],
        until: Option<usize>,
        played: &mut Played,
    ) -> Option<Moment> {
        self.reset(played);
        let mut play = Play {
            replay: self,
            floor,
            rush,
            state: played,
        };
        play.running_first();
        loop {
            if until.is_some_and(|item| play.state.had_turn.get(item).is_none_or(|had| *had)) {
                break;
            }
            match play.soonest() {
                Some((brake, Turn::Item(item))) => play.turn(brake, item),
                Some((brake, Turn::Rush(rush))) => play.rush(brake, rush),
                None => break,
            }
        }
        until.and_then(|item| played.end(item))
    }

    fn reset(&self, played: &mut Played) {
        fn refill<T: Clone>(items: &mut Vec<T>, length: usize, value: T) {
            items.clear();
            items.resize(length, value);
        }
        let brakes = self.lines.len();
        refill(&mut played.clock, brakes, self.from);
        refill(&mut played.next, brakes, 0);
        refill(&mut played.rushed, brakes, 0);
        refill(&mut played.previous, brakes, None);
        refill(&mut played.people, self.people, self.from);
        played.left.clone_from(&self.pieces);
        refill(&mut played.order_end, self.pieces.len(), self.from);
        refill(&mut played.events, self.events, self.from);
        refill(&mut played.had_turn, self.items.len(), false);
        refill(&mut played.ends, self.items.len(), None);
    }
}
