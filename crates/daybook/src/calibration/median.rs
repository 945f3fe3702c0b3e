//! The median, and an interval for it that asks nothing of the distribution.

/// Chance with which the interval may miss the true median.
const MISS: f64 = 0.01;

/// The median; 0 of nothing.
pub(super) fn median(values: &[f64]) -> f64 {
    let sorted = sorted(values);
    let middle = sorted.len() / 2;
    let upper = sorted.get(middle).copied().unwrap_or(0.0);
    if sorted.len() % 2 == 1 {
        return upper;
    }
    let lower = middle.checked_sub(1).and_then(|at| sorted.get(at));
    lower.map_or(upper, |lower| f64::midpoint(*lower, upper))
}

/// The order statistics between which the true median lies with at least 99 %: of the number of
/// values below it, which is binomial with chance one half, the tails are left out (sign test;
/// Conover, Practical Nonparametric Statistics, chapter 3 [memory]). Nothing when there are too few
/// values for any.
pub(super) fn interval(values: &[f64]) -> Option<(f64, f64)> {
    let sorted = sorted(values);
    let count = sorted.len();
    // Chance of at most `below` values under the median, summed until the tail is full.
    let mut chance = 0.5_f64.powi(i32::try_from(count).ok()?);
    let mut tail = 0.0;
    let mut below = 0_usize;
    while below < count && tail + chance <= MISS / 2.0 {
        tail += chance;
        #[allow(clippy::cast_precision_loss)]
        let step = (count - below) as f64 / (below + 1) as f64;
        chance *= step;
        below += 1;
    }
    // `below` values may be left out on either side.
    let low = sorted.get(below.checked_sub(1)?)?;
    let high = sorted.get(count.checked_sub(below)?)?;
    Some((*low, *high))
}

fn sorted(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn medians_are_in_the_middle() {
        assert!((median(&[3.0, 1.0, 2.0]) - 2.0).abs() < 1e-12);
        assert!((median(&[4.0, 1.0, 2.0, 3.0]) - 2.5).abs() < 1e-12);
        assert!(median(&[]).abs() < 1e-12);
    }

    /// With 8 values the tails of none and of all hold 2/256 together, below 1 %: the extremes are
    /// the interval. With 7 they hold 2/128, above it. With 10: 1/1024 each, and 11/1024 is above
    /// 0.5 %. With 12: 13/4096 = 0.32 %, so one value is left out on either side. [computed]
    #[test]
    fn intervals_are_those_of_the_sign_test() {
        let values = |count: i32| (1..=count).map(f64::from).collect::<Vec<f64>>();
        assert_eq!(interval(&values(7)), None);
        assert_eq!(interval(&values(8)), Some((1.0, 8.0)));
        assert_eq!(interval(&values(10)), Some((1.0, 10.0)));
        assert_eq!(interval(&values(12)), Some((2.0, 11.0)));
        assert_eq!(interval(&[]), None);
    }
}
