//! What a model says of a touched answer is what it says of the same answer afresh, and what the
//! judge says; and the search and its rivals keep to it.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use search::{Effort, Problem, Sequences, Slot, Touched, solve};
use std::time::Duration;
use trials::clock::{Clock, Limit};
use trials::instance::{Goal, Instance, SetupShop, SizedShop, ToolShop};
use trials::judge;
use trials::measure::{Searcher, run};
use trials::models::{Keep, SetupModel, SizedModel, ToolModel};
use trials::rivals;
use trials::start;
use trials::unequal::{compare, draw};

const GOALS: [Goal; 4] = [
    Goal::WeightedTardiness,
    Goal::Makespan,
    Goal::FlowTime,
    Goal::Total,
];

fn numbers(count: usize, most: i64, rng: &mut Pcg64) -> Vec<i64> {
    (0..count).map(|_| rng.random_range(0..=most)).collect()
}

fn setup_shop(machines: usize, jobs: usize, goal: Goal, rng: &mut Pcg64) -> SetupShop {
    let mut each = |count: usize, most: i64| -> Vec<Vec<i64>> {
        (0..machines).map(|_| numbers(count, most, rng)).collect()
    };
    let (process, first, setup) = (each(jobs, 40), each(jobs, 9), each(jobs * jobs, 30));
    SetupShop {
        jobs,
        process,
        first,
        setup,
        last: numbers(jobs, 20, rng),
        weight: numbers(jobs, 9, rng),
        due: numbers(jobs, 600, rng).iter().map(|due| due - 50).collect(),
        goal,
    }
}

fn tool_shop(machines: usize, jobs: usize, goal: Goal, rng: &mut Pcg64) -> ToolShop {
    let few = |rng: &mut Pcg64| {
        (0..rng.random_range(0..6)).fold(0, |t, _| t | 1_u128 << rng.random_range(0..14))
    };
    let capacity: Vec<u32> = (0..machines).map(|_| rng.random_range(5..9)).collect();
    ToolShop {
        capacity,
        switch_time: numbers(machines, 5, rng),
        process: (0..machines).map(|_| numbers(jobs, 30, rng)).collect(),
        tools: (0..jobs).map(|_| few(rng)).collect(),
        goal,
    }
}

/// Any jobs' order within a stretch, or a run to another machine.
fn change(answer: &mut Sequences, fits: impl Fn(usize, usize) -> bool, rng: &mut Pcg64) -> Touched {
    let machines = answer.machines.len();
    let from = rng.random_range(0..machines);
    let length = answer.machines[from].len();
    let begin = rng.random_range(0..=length);
    let end = rng.random_range(begin..=(begin + 5).min(length));
    let to = rng.random_range(0..machines);
    if to == from {
        let line = &mut answer.machines[from][begin..end];
        line.rotate_left(usize::from(line.len() > 1));
        return Touched::nothing().and_before(from, begin, length - end);
    }
    let run: Vec<Slot> = answer.machines[from][begin..end].to_vec();
    if !run.iter().all(|slot| fits(slot.job, to)) {
        return Touched::nothing().and_before(from, begin, length - end);
    }
    let at = rng.random_range(0..=answer.machines[to].len());
    let tail = answer.machines[to].len() - at;
    answer.machines[from].drain(begin..end);
    answer.machines[to].splice(at..at, run);
    Touched::nothing()
        .and_before(from, begin, length - end)
        .and_before(to, at, tail)
}

fn lines(answer: &Sequences) -> Vec<Vec<usize>> {
    let jobs = |line: &Vec<Slot>| line.iter().map(|slot| slot.job).collect();
    answer.machines.iter().map(jobs).collect()
}

/// Moves at random, some kept, some not, with limits and without.
fn wander<P: Problem>(
    model: &P,
    judged: impl Fn(&[Vec<usize>]) -> i64,
    moves: u32,
    rng: &mut Pcg64,
) {
    let mut answer = Sequences::new(model.machines());
    for job in 0..model.jobs() {
        let places = model.places(job);
        let place = places[rng.random_range(0..places.len())];
        answer.machines[place.machine].push(Slot {
            job,
            way: place.way,
        });
    }
    let fits = |job: usize, to: usize| model.places(job).iter().any(|place| place.machine == to);
    let (mut base, mut fresh) = (model.scratch(), model.scratch());
    let mut cost = model.cost(&mut base, &answer, i64::MAX);
    for step in 0..moves {
        let before = answer.clone();
        let touched = change(&mut answer, fits, rng);
        let wanted = model.cost(&mut fresh, &answer, i64::MAX);
        let limit = match rng.random_range(0..3) {
            0 => i64::MAX,
            1 => cost + rng.random_range(-20..20),
            _ => wanted,
        };
        let found = model.trial(&mut base, &answer, &touched, limit);
        if wanted > limit {
            assert!(found > limit, "step {step}: {found} is not above {limit}");
        } else {
            assert_eq!(
                found, wanted,
                "step {step} after {before:?} gives {answer:?}"
            );
        }
        if found <= limit && rng.random_range(0..3) == 0 {
            model.keep(&mut base, &answer, &touched);
            cost = found;
            assert_eq!(model.worth(&base, cost), model.worth(&fresh, cost));
            if step % 16 == 0 {
                assert_eq!(model.worth(&base, cost), judged(&lines(&answer)));
            }
        } else {
            answer = before;
        }
    }
}

#[test]
fn a_trial_says_what_a_fresh_evaluation_says() {
    let mut rng = Pcg64::seed_from_u64(1);
    for round in 0..6 {
        let (machines, jobs) = ([1, 2, 3][round % 3], rng.random_range(3..26));
        for goal in GOALS {
            let shop = setup_shop(machines, jobs, goal, &mut rng);
            let judged = |lines: &[Vec<usize>]| judge::setups(&shop, lines).unwrap();
            wander(&SetupModel::new(shop.clone()), judged, 4_000, &mut rng);
        }
        for goal in &GOALS[1..] {
            let shop = tool_shop(machines, jobs, *goal, &mut rng);
            let judged = |lines: &[Vec<usize>]| judge::tools(&shop, lines).unwrap();
            wander(&ToolModel::new(shop.clone()), judged, 5_000, &mut rng);
        }
    }
}

fn sequences(lines: &[Vec<usize>]) -> Sequences {
    let slots = |line: &Vec<usize>| line.iter().map(|&job| Slot { job, way: 0 }).collect();
    Sequences {
        machines: lines.iter().map(slots).collect(),
    }
}

/// Both rules, over a hundred thousand changes; the judge of the second only looks at what the
/// magazines are said to hold.
#[test]
fn a_trial_with_tools_of_unequal_size_says_what_a_fresh_evaluation_says() {
    let mut rng = Pcg64::seed_from_u64(5);
    for (round, goal) in GOALS[1..].iter().cycle().take(6).enumerate() {
        let mut shop = tool_shop(round % 3 + 1, rng.random_range(4..16), *goal, &mut rng);
        for slots in &mut shop.capacity {
            *slots = *slots * 2 + 3;
        }
        let size = (0..14).map(|_| rng.random_range(1..4)).collect();
        let sized = SizedShop { shop, size };
        let judged = |lines: &[Vec<usize>]| judge::sized(&sized, lines).unwrap();
        let soonest = SizedModel::new(sized.clone(), Keep::Soonest);
        wander(&soonest, judged, 9_000, &mut rng);
        let per_slot = SizedModel::new(sized.clone(), Keep::PerSlot);
        let judged = |lines: &[Vec<usize>]| {
            let held = per_slot.magazines(&sequences(lines));
            judge::carried_out(&sized, lines, &held).unwrap()
        };
        wander(&per_slot, judged, 9_000, &mut rng);
    }
}

/// Two wide tools and narrow ones take turns; by hand.
#[test]
fn a_wide_tool_goes_out_before_narrow_ones_that_are_needed_a_little_later() {
    // Tool 0 takes three slots, the others one; five slots.
    let sized = SizedShop {
        shop: ToolShop {
            capacity: vec![5],
            switch_time: vec![1],
            process: vec![vec![0; 4]],
            // The first filling holds 0, 1 and 2. Then 3 and 4 come in: either 1 and 2 go out,
            // which are needed last, or only 0.
            tools: vec![0b00111, 0b11000, 0b00001, 0b00110],
            goal: Goal::Total,
        },
        size: vec![3, 1, 1, 1, 1],
    };
    let order = sequences(&[vec![0, 1, 2, 3]]);
    let with = |keep| {
        let model = SizedModel::new(sized.clone(), keep);
        model.cost(&mut model.scratch(), &order, i64::MAX)
    };
    // 3 and 4, then nothing for 0, then 1 and 2 again.
    assert_eq!(with(Keep::Soonest), 4);
    // 3 and 4, then 0 for them, and nothing more.
    assert_eq!(with(Keep::PerSlot), 3);
}

#[test]
fn with_tools_of_one_size_both_rules_are_one_and_with_others_the_second_is_better() {
    let mut sums = [0; 2];
    for seed in 1..=20 {
        let same = compare(&draw(1, 40, seed), 200, seed);
        assert_eq!(same.as_drawn[0], same.as_drawn[1]);
        assert_eq!(same.searched[0], same.searched[1]);
        let unequal = compare(&draw(6, 40, seed), 200, seed).as_drawn;
        sums = [sums[0] + unequal[0], sums[1] + unequal[1]];
    }
    // By about a tenth; a twentieth at least.
    assert!(sums[1] * 20 < sums[0] * 19, "{sums:?}");
}

#[test]
fn magazines_that_hold_too_much_or_not_what_is_needed_are_refused() {
    let sized = draw(4, 20, 1);
    let order = sequences(&[(0..sized.shop.tools.len()).collect()]);
    let lines = lines(&order);
    let model = SizedModel::new(sized.clone(), Keep::PerSlot);
    let held = model.magazines(&order);
    let value = model.cost(&mut model.scratch(), &order, i64::MAX);
    assert_eq!(judge::carried_out(&sized, &lines, &held), Ok(value));
    let refused = |change: &dyn Fn(&mut Vec<u128>)| {
        let mut wrong = held.clone();
        change(&mut wrong[0]);
        judge::carried_out(&sized, &lines, &wrong).is_err()
    };
    assert!(refused(&|held| held[3] = (1 << 24) - 1));
    assert!(refused(&|held| held[3] = 0));
    assert!(refused(&|held| held.truncate(10)));
}

/// By hand: three jobs, two slots, one tool each: the first two are there for free.
#[test]
fn the_first_filling_is_free() {
    let shop = ToolShop {
        capacity: vec![2],
        switch_time: vec![1],
        process: vec![vec![0; 3]],
        tools: vec![1, 2, 4],
        goal: Goal::Total,
    };
    assert_eq!(judge::tools(&shop, &[vec![0, 1, 2]]), Ok(1));
    let two_at_first = ToolShop {
        tools: vec![3, 4, 3],
        ..shop
    };
    // One out for the middle job, and it must come back.
    assert_eq!(judge::tools(&two_at_first, &[vec![0, 1, 2]]), Ok(2));
    assert_eq!(judge::tools(&two_at_first, &[vec![0, 2, 1]]), Ok(1));
    assert!(judge::tools(&two_at_first, &[vec![0, 1]]).is_err());
}

#[test]
fn the_search_finds_proved_optima() {
    let mut rng = Pcg64::seed_from_u64(2);
    for goal in [Goal::WeightedTardiness, Goal::FlowTime, Goal::Total] {
        let shop = setup_shop(2, 6, goal, &mut rng);
        let model = SetupModel::new(shop.clone());
        let best = exact::enumerate(&model, 100_000).unwrap();
        let first = start::setups(&shop, &model);
        let stop = &mut |steps| steps >= 20_000;
        let found = solve(&model, first, Effort::single(1), stop, &mut ());
        assert_eq!(found.cost, best.cost, "{goal:?}");
    }
}

#[test]
fn every_searcher_gives_an_answer_that_the_judge_takes() {
    let mut rng = Pcg64::seed_from_u64(3);
    let shops = [
        Instance::Setups(setup_shop(2, 12, Goal::Makespan, &mut rng)),
        Instance::Tools(tool_shop(2, 12, Goal::FlowTime, &mut rng)),
    ];
    for shop in &shops {
        for searcher in [Searcher::Engine, Searcher::Annealing, Searcher::Iterated] {
            let time = Duration::from_millis(60);
            run(shop, searcher, Effort::single(1), time).unwrap();
        }
    }
}

#[test]
fn rivals_improve_on_a_bad_start() {
    let mut rng = Pcg64::seed_from_u64(4);
    let shop = setup_shop(1, 15, Goal::Total, &mut rng);
    let model = SetupModel::new(shop);
    let mut first = Sequences::new(1);
    first.machines[0].extend((0..15).map(|job| Slot { job, way: 0 }));
    let cost = model.cost(&mut model.scratch(), &first, i64::MAX);
    let limit = || Limit::new(Clock::start(), Duration::from_millis(60));
    assert!(rivals::annealing(&model, first.clone(), 1, limit()).1 < cost);
    assert!(rivals::iterated(&model, first, 1, limit()).1 < cost);
}
