//! With and without a change, seed by seed.
//!
//! A search does not find the best plan, and how near it comes depends on its seed. A change is
//! therefore never judged by one plan: both shops are planned with the same seeds, from the same
//! beginnings and with the same number of steps, and what counts is the difference of each pair.

use model::Totals;

/// Pairs below which no difference is told apart from chance. Were there no difference at all, five
/// pairs would all fall on the saving side once in 32 comparisons (0.5 to the fifth) \[computed\].
pub const SEEDS_LEAST: usize = 5;

/// The totals of two plans of one seed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pair {
    /// The seed.
    pub seed: u64,
    /// Of the shop as it is.
    pub without: Totals,
    /// Of the shop with the change.
    pub with: Totals,
}

/// A saving over the seeds: positive where the change saves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Mean.
    pub mean: f64,
    /// Least.
    pub least: i64,
    /// Greatest.
    pub greatest: i64,
}

/// What the pairs say about the objective.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Told {
    /// Every pair saves.
    Saves,
    /// Some do not, or there are too few pairs.
    NotToldApart,
    /// No pair differs.
    Same,
    /// Every pair costs.
    Costs,
    /// Every pair costs, though nobody has to use what is new: the search made worse use of it, and
    /// what it is worth is not known.
    PlannedWorse,
}

/// A change held against the shop as it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Comparison {
    /// Pairs.
    pub seeds: usize,
    /// Objective saved, in its unit: sixtieths of a changeover second.
    pub objective: Spread,
    /// Changeover seconds saved.
    pub changeover: Spread,
    /// Weighted late seconds saved.
    pub late: Spread,
    /// Overtime seconds saved.
    pub overtime: Spread,
    /// Late orders fewer.
    pub late_orders: Spread,
    /// Orders without a place fewer.
    pub unplaced_orders: Spread,
    /// What the objective's pairs say.
    pub told: Told,
}

/// Compares pairs; `None` when there is none.
#[must_use]
pub fn compare(pairs: &[Pair]) -> Option<Comparison> {
    let over = |of: fn(&Totals) -> i64| {
        let saved = |pair: &Pair| of(&pair.without).saturating_sub(of(&pair.with));
        spread(pairs.iter().map(saved))
    };
    let objective = over(|totals| totals.objective)?;
    Some(Comparison {
        seeds: pairs.len(),
        objective,
        changeover: over(|totals| totals.changeover.0)?,
        late: over(|totals| totals.weighted_late.0)?,
        overtime: over(|totals| totals.overtime.0)?,
        late_orders: over(|totals| i64::from(totals.late_orders))?,
        unplaced_orders: over(|totals| i64::from(totals.unplaced_orders))?,
        told: told(pairs.len(), objective),
    })
}

impl Comparison {
    /// The same for a change that takes nothing away, which can be no loss.
    #[must_use]
    pub fn of_something_more(self) -> Comparison {
        let told = match self.told {
            Told::Costs => Told::PlannedWorse,
            told => told,
        };
        Comparison { told, ..self }
    }
}

fn told(pairs: usize, objective: Spread) -> Told {
    if (objective.least, objective.greatest) == (0, 0) {
        Told::Same
    } else if pairs < SEEDS_LEAST {
        Told::NotToldApart
    } else if objective.least > 0 {
        Told::Saves
    } else if objective.greatest < 0 {
        Told::Costs
    } else {
        Told::NotToldApart
    }
}

fn spread(savings: impl Iterator<Item = i64> + Clone) -> Option<Spread> {
    let (least, greatest) = (savings.clone().min()?, savings.clone().max()?);
    let (sum, count) = savings.fold((0.0, 0.0), |(sum, count), saving| {
        // Beyond 2^53 the mean is rounded; the least and the greatest are exact.
        #[allow(clippy::cast_precision_loss)]
        let saving = saving as f64;
        (sum + saving, count + 1.0)
    });
    Some(Spread {
        mean: sum / count,
        least,
        greatest,
    })
}

/// Places of the comparisons, best first: those that save by their mean saving, then those without a
/// difference that is told apart from chance, then those that cost. Equals keep their order.
#[must_use]
pub fn rank(comparisons: &[Comparison]) -> Vec<usize> {
    let mut places: Vec<usize> = (0..comparisons.len()).collect();
    places.sort_by(|&one, &other| {
        let (one, other) = (&comparisons[one], &comparisons[other]);
        let by_mean = other.objective.mean.total_cmp(&one.objective.mean);
        let group = |told: Told| match told {
            Told::Saves => 0,
            Told::NotToldApart | Told::Same | Told::PlannedWorse => 1,
            Told::Costs => 2,
        };
        group(one.told).cmp(&group(other.told)).then(by_mean)
    });
    places
}

/// How many of so many changes would be said to save if none did anything and a pair fell on either
/// side alike: changes × 0.5 to the number of pairs \[computed\].
#[must_use]
pub fn by_chance(changes: usize, seeds: usize) -> f64 {
    if seeds < SEEDS_LEAST {
        return 0.0;
    }
    #[allow(clippy::cast_precision_loss)] // a count of changes
    let changes = changes as f64;
    changes * 0.5_f64.powi(i32::try_from(seeds).unwrap_or(i32::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;
    use units::Seconds;

    fn pairs(without: &[i64], with: &[i64]) -> Vec<Pair> {
        let totals = |objective: i64| Totals {
            objective,
            changeover: Seconds(objective / 60),
            ..Totals::default()
        };
        let seeds = (1_u64..).zip(without.iter().zip(with));
        let pair = |(seed, (&without, &with)): (u64, (&i64, &i64))| Pair {
            seed,
            without: totals(without),
            with: totals(with),
        };
        seeds.map(pair).collect()
    }

    #[test]
    fn what_is_saved_is_positive_and_five_pairs_are_needed() {
        let pairs = pairs(&[600, 900, 600, 600, 600], &[480, 540, 540, 540, 540]);
        let found = compare(&pairs).unwrap();
        assert_eq!(found.seeds, 5);
        // 120, 360, 60, 60 and 60 sixtieths: 660 / 5 = 132 [computed].
        let expected = Spread {
            mean: 132.0,
            least: 60,
            greatest: 360,
        };
        assert_eq!(found.objective, expected);
        assert_eq!((found.changeover.least, found.changeover.greatest), (1, 6));
        assert_eq!(found.told, Told::Saves);
        assert_eq!(compare(&pairs[..4]).unwrap().told, Told::NotToldApart);
        assert_eq!(compare(&[]), None);
    }

    #[test]
    fn a_spread_with_zero_in_it_is_not_told_apart() {
        let of = |with: &[i64]| compare(&pairs(&[600; 6], with)).unwrap().told;
        assert_eq!(of(&[1, 1, 1, 1, 1, 601]), Told::NotToldApart);
        assert_eq!(of(&[1, 1, 1, 1, 1, 600]), Told::NotToldApart);
        assert_eq!(of(&[600; 6]), Told::Same);
        assert_eq!(of(&[600]), Told::Same);
        assert_eq!(of(&[599; 6]), Told::Saves);
        assert_eq!(of(&[601; 6]), Told::Costs);
    }

    #[test]
    fn what_nobody_has_to_use_is_no_loss() {
        let of = |with: &[i64]| {
            compare(&pairs(&[600; 6], with))
                .unwrap()
                .of_something_more()
        };
        assert_eq!(of(&[601; 6]).told, Told::PlannedWorse);
        assert_eq!(of(&[599; 6]).told, Told::Saves);
        assert_eq!(of(&[601, 599, 601, 601, 601, 601]).told, Told::NotToldApart);
        // It goes among those of which nothing is known, by its mean.
        let costs = compare(&pairs(&[600; 6], &[601; 6])).unwrap();
        assert_eq!(rank(&[costs, of(&[700; 6])]), [1, 0]);
    }

    #[test]
    fn what_saves_goes_before_a_larger_mean_that_is_chance() {
        let of = |with: &[i64]| compare(&pairs(&[600; 5], with)).unwrap();
        let all = [
            of(&[700; 5]),
            of(&[0, 0, 0, 0, 600]),
            of(&[590; 5]),
            of(&[500; 5]),
            of(&[650; 5]),
            of(&[600; 5]),
        ];
        assert_eq!(rank(&all), [3, 2, 1, 5, 4, 0]);
    }

    #[test]
    fn chance_alone_makes_few() {
        assert!((by_chance(32, 5) - 1.0).abs() < 1e-12);
        assert!((by_chance(40, 8) - 0.15625).abs() < 1e-12);
        assert!(by_chance(40, 4) < 1e-12);
    }
}
