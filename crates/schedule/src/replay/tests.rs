//! Replays against plans.

use super::*;
use crate::greedy::grouped_by_die;
use crate::lift;
use crate::problem::compile;
use rand::SeedableRng;
use testkit::{Recipe, invent, random_sequences};

/// The plan's own durations give the plan's own times, to the second.
#[test]
fn what_is_played_as_planned_ends_as_planned() {
    let mut runs = 0;
    for seed in 0..40 {
        let shop = invent(&Recipe::anything(seed));
        let (problem, _) = compile(&shop, shop.as_of.unwrap());
        let mut scratch = Scratch::default();
        let by_die = grouped_by_die(&problem, &mut scratch);
        let mut dice = rand_pcg::Pcg64::seed_from_u64(seed);
        let anyhow = random_sequences(&problem, 0, &mut dice);
        for lines in [by_die, anyhow] {
            runs += held_against_plan(&problem, &lines, seed);
        }
    }
    assert!(runs > 300, "{runs}");
}

fn held_against_plan(problem: &Problem<'_>, lines: &Sequences, seed: u64) -> usize {
    let plan = lift(problem, &mut Scratch::default(), lines);
    let replay = Replay::new(problem, lines, Seconds::ZERO);
    let mut played = Played::default();
    replay.play(&mut Planned, &[], None, &mut played);
    let mut held = 0;
    for (brake, line) in replay.lines.iter().enumerate() {
        let placed = line.iter().filter(|&&i| replay.items[i].work.is_some());
        for (&item, run) in placed.zip(&plan.brakes[brake].runs) {
            assert_eq!(played.end(item), Some(run.end), "seed {seed}, {}", run.name);
            held += 1;
        }
    }
    let planned: usize = plan.brakes.iter().map(|brake| brake.runs.len()).sum();
    assert_eq!(held, planned, "seed {seed}");
    held
}

/// Twice the time for everything: nothing ends sooner.
struct Twice;

impl Floor for Twice {
    fn change(&mut self, planned: Seconds) -> Seconds {
        Seconds(planned.0 * 2)
    }
    fn run(&mut self, planned: Seconds) -> Seconds {
        Seconds(planned.0 * 2)
    }
    fn stop(&mut self, _: Seconds) -> Seconds {
        Seconds::ZERO
    }
}

#[test]
fn slower_work_ends_no_sooner_and_every_run_has_its_turn() {
    for seed in 0..20 {
        let shop = invent(&Recipe::anything(seed));
        let (problem, _) = compile(&shop, shop.as_of.unwrap());
        let lines = grouped_by_die(&problem, &mut Scratch::default());
        let replay = Replay::new(&problem, &lines, Seconds(60 * 86_400));
        let (mut plain, mut slow) = (Played::default(), Played::default());
        replay.play(&mut Planned, &[], None, &mut plain);
        replay.play(&mut Twice, &[], None, &mut slow);
        assert!(slow.had_turn.iter().all(|had| *had), "seed {seed}");
        let last = |played: &Played| (0..replay.len()).filter_map(|item| played.end(item)).max();
        assert!(last(&slow) > last(&plain), "seed {seed}");
    }
}
