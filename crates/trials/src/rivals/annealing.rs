//! Plain simulated annealing: one cooling over the whole time, which it is told beforehand.

use super::{Found, copy_lines, exchange, put, spots};
use crate::clock::Limit;
use rand::{Rng, RngExt, SeedableRng};
use rand_pcg::Pcg64;
use search::{Problem, Sequences, Touched};

/// Moves tried for the first temperature.
const TRIALS: usize = 500;
/// Share of the mean worsening at the start, at which half of such moves are taken: 1 / ln 2.
const FIRST: f64 = 1.44;
/// Last temperature as a share of the first.
const LAST: f64 = 0.001;
/// Steps between two looks at the clock.
const ROUND: usize = 500;

/// Searches from a start until the time is over.
#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)] // costs far below 2^52
pub fn annealing<P: Problem>(problem: &P, start: Sequences, seed: u64, limit: Limit) -> Found {
    let mut rng = Pcg64::seed_from_u64(seed);
    let mut scratch = problem.scratch();
    let (mut current, mut candidate) = (start.clone(), start.clone());
    let mut cost = problem.cost(&mut scratch, &current, i64::MAX);
    let mut best = (start, problem.worth(&scratch, cost));
    let mut worse = Vec::new();
    for _ in 0..TRIALS {
        if let Some(touched) = random_move(problem, &mut candidate, &mut rng) {
            let found = problem.trial(&mut scratch, &candidate, &touched, i64::MAX);
            worse.extend((found > cost).then(|| (found - cost) as f64));
            copy_lines(&touched, &current, &mut candidate);
        }
    }
    let first = FIRST * worse.iter().sum::<f64>() / worse.len().max(1) as f64;
    loop {
        let share = limit.share();
        if share >= 1.0 {
            return best;
        }
        let temperature = first * LAST.powf(share);
        for _ in 0..ROUND {
            let Some(touched) = random_move(problem, &mut candidate, &mut rng) else {
                continue;
            };
            let draw: f64 = rng.random_range(f64::MIN_POSITIVE..1.0);
            let most = cost + (-draw.ln() * temperature) as i64;
            let found = problem.trial(&mut scratch, &candidate, &touched, most);
            if found > most {
                copy_lines(&touched, &current, &mut candidate);
                continue;
            }
            problem.keep(&mut scratch, &candidate, &touched);
            copy_lines(&touched, &candidate, &mut current);
            cost = found;
            let worth = problem.worth(&scratch, cost);
            if worth < best.1 {
                best = (current.clone(), worth);
            }
        }
    }
}

/// A job anywhere, or two that change places.
pub(super) fn random_move<P: Problem, R: Rng>(
    problem: &P,
    answer: &mut Sequences,
    rng: &mut R,
) -> Option<Touched> {
    let all = spots(problem, answer);
    if all.is_empty() {
        return None;
    }
    let from = all[rng.random_range(0..all.len())];
    if rng.random_range(0..2) == 0 {
        let other = all[rng.random_range(0..all.len())];
        return (from != other)
            .then(|| exchange(problem, answer, from, other))
            .flatten();
    }
    let places = problem.places(answer.machines[from.0][from.1].job);
    let place = places[rng.random_range(0..places.len())];
    let last = answer.machines[place.machine].len() - usize::from(place.machine == from.0);
    let at = rng.random_range(problem.pinned(place.machine).len()..=last);
    Some(put(answer, from, (place.machine, at), place.way))
}
