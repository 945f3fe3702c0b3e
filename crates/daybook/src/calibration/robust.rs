//! An M-estimate of linear factors, drawn toward 1.

use super::median::median;

/// Huber's bound in scales: 95 % efficient with normal errors [memory].
const HUBER: f64 = 1.345;
/// The biweight's, likewise [memory].
const BIWEIGHT: f64 = 4.685;
/// Median absolute deviation of a standard normal [memory].
const NORMAL_MAD: f64 = 0.6745;
/// Times are reported by people: a relative error is taken to be no smaller than this.
const LEAST_SCALE: f64 = 0.01;
const STEPS: usize = 60;
const SETTLED: f64 = 1e-9;

/// Factors with their standard errors.
pub(super) struct Fit {
    pub(super) factors: Vec<f64>,
    pub(super) errors: Vec<f64>,
}

/// Fits ratio ≈ Σ factor × share over rows. `prior` is the standard deviation of a factor about 1.
pub(super) fn fit(rows: &[&[f64]], ratios: &[f64], prior: f64) -> Option<Fit> {
    let width = rows.first()?.len();
    let mut factors = vec![1.0; width];
    let mut scale = LEAST_SCALE;
    for _ in 0..STEPS {
        let residuals = residuals(rows, ratios, &factors);
        scale = scale_of(&residuals);
        let weights = residuals.iter().map(|r| huber(r / scale)).collect();
        let next = weighted(rows, ratios, weights, (scale / prior).powi(2))?;
        if settled(&mut factors, next) {
            break;
        }
    }
    for _ in 0..STEPS {
        let residuals = residuals(rows, ratios, &factors);
        let weights = residuals.iter().map(|r| biweight(r / scale)).collect();
        let next = weighted(rows, ratios, weights, (scale / prior).powi(2))?;
        if settled(&mut factors, next) {
            break;
        }
    }
    let errors = standard_errors(rows, &residuals(rows, ratios, &factors), scale, prior)?;
    Some(Fit { factors, errors })
}

fn settled(factors: &mut Vec<f64>, next: Vec<f64>) -> bool {
    let pairs = factors.iter().zip(&next);
    let moved = pairs
        .map(|(old, new)| (old - new).abs())
        .fold(0.0, f64::max);
    *factors = next;
    moved < SETTLED
}

fn dot(row: &[f64], factors: &[f64]) -> f64 {
    row.iter()
        .zip(factors)
        .map(|(share, factor)| share * factor)
        .sum()
}

fn residuals(rows: &[&[f64]], ratios: &[f64], factors: &[f64]) -> Vec<f64> {
    let pairs = rows.iter().zip(ratios);
    pairs
        .map(|(row, ratio)| ratio - dot(row, factors))
        .collect()
}

fn scale_of(residuals: &[f64]) -> f64 {
    let absolute: Vec<f64> = residuals.iter().map(|r| r.abs()).collect();
    (median(&absolute) / NORMAL_MAD).max(LEAST_SCALE)
}

fn huber(u: f64) -> f64 {
    if u.abs() <= HUBER {
        1.0
    } else {
        HUBER / u.abs()
    }
}

fn biweight(u: f64) -> f64 {
    let inside = 1.0 - (u / BIWEIGHT).powi(2);
    if inside > 0.0 { inside.powi(2) } else { 0.0 }
}

/// Weighted least squares for the factors' distance from 1, with a ridge.
fn weighted(rows: &[&[f64]], ratios: &[f64], weights: Vec<f64>, ridge: f64) -> Option<Vec<f64>> {
    let width = rows.first()?.len();
    let ones = vec![1.0; width];
    let mut normal = Square::diagonal(width, ridge);
    let mut right = vec![0.0; width];
    for ((row, ratio), weight) in rows.iter().zip(ratios).zip(weights) {
        normal.add(row, weight);
        let off = ratio - dot(row, &ones);
        for (sum, share) in right.iter_mut().zip(*row) {
            *sum += weight * share * off;
        }
    }
    let off = normal.factored()?.solve(&right);
    Some(off.into_iter().map(|off| 1.0 + off).collect())
}

/// Huber's covariance for the biweight: scale² × mean ψ² over the square of mean ψ', times the
/// inverse of the normal matrix with the prior in it.
fn standard_errors(rows: &[&[f64]], residuals: &[f64], scale: f64, prior: f64) -> Option<Vec<f64>> {
    let width = rows.first()?.len();
    #[allow(clippy::cast_precision_loss)]
    let (count, free) = (rows.len() as f64, rows.len().checked_sub(width)? as f64);
    let (mut squares, mut slope) = (0.0, 0.0);
    for residual in residuals {
        let u = residual / scale;
        squares += (biweight(u) * u).powi(2);
        let inside = 1.0 - (u / BIWEIGHT).powi(2);
        if inside > 0.0 {
            slope += inside * (1.0 - 5.0 * (u / BIWEIGHT).powi(2));
        }
    }
    let slope = slope / count;
    if slope <= 0.05 || free < 1.0 {
        return None;
    }
    let variance = scale.powi(2) * (squares / free) / slope.powi(2);
    let mut normal = Square::diagonal(width, variance / prior.powi(2));
    for row in rows {
        normal.add(row, 1.0);
    }
    let factored = normal.factored()?;
    let error = |column: usize| {
        let unit: Vec<f64> = (0..width)
            .map(|at| if at == column { 1.0 } else { 0.0 })
            .collect();
        let inverse = factored.solve(&unit);
        inverse.get(column).map(|v| (variance * v).max(0.0).sqrt())
    };
    (0..width).map(error).collect()
}

/// A symmetric matrix, as rows.
struct Square(Vec<Vec<f64>>);

/// Its lower Cholesky factor.
struct Lower(Vec<Vec<f64>>);

impl Square {
    fn diagonal(width: usize, value: f64) -> Square {
        let row = |at: usize| (0..width).map(move |to| if to == at { value } else { 0.0 });
        Square((0..width).map(|at| row(at).collect()).collect())
    }

    /// Adds weight × row × rowᵀ.
    fn add(&mut self, row: &[f64], weight: f64) {
        for (line, left) in self.0.iter_mut().zip(row) {
            for (cell, right) in line.iter_mut().zip(row) {
                *cell += weight * left * right;
            }
        }
    }

    /// Nothing when it is not positive definite.
    fn factored(&self) -> Option<Lower> {
        let mut lower: Vec<Vec<f64>> = Vec::new();
        for (at, line) in self.0.iter().enumerate() {
            let mut row: Vec<f64> = Vec::new();
            for (to, cell) in line.iter().enumerate().take(at + 1) {
                let above = if to == at { &row } else { lower.get(to)? };
                let sum: f64 = row.iter().zip(above).map(|(a, b)| a * b).sum();
                if to == at {
                    let square = cell - sum;
                    if square <= 0.0 || !square.is_finite() {
                        return None;
                    }
                    row.push(square.sqrt());
                } else {
                    row.push((cell - sum) / above.get(to)?);
                }
            }
            lower.push(row);
        }
        Some(Lower(lower))
    }
}

impl Lower {
    fn solve(&self, right: &[f64]) -> Vec<f64> {
        let mut forward: Vec<f64> = Vec::new();
        for (row, value) in self.0.iter().zip(right) {
            let sum: f64 = row.iter().zip(&forward).map(|(a, b)| a * b).sum();
            let pivot = row.last().copied().unwrap_or(1.0);
            forward.push((value - sum) / pivot);
        }
        let mut solved = forward;
        for at in (0..self.0.len()).rev() {
            let below: f64 = self
                .0
                .iter()
                .zip(&solved)
                .skip(at + 1)
                .filter_map(|(row, value)| row.get(at).map(|cell| cell * value))
                .sum();
            let pivot = self.0.get(at).and_then(|row| row.get(at)).copied();
            if let Some(value) = solved.get_mut(at) {
                *value = (*value - below) / pivot.unwrap_or(1.0);
            }
        }
        solved
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 4x + 2y = 10, 2x + 3y = 11 has x = 1, y = 3.
    #[test]
    fn two_equations_are_solved() {
        let square = Square(vec![vec![4.0, 2.0], vec![2.0, 3.0]]);
        let solved = square.factored().expect("positive").solve(&[10.0, 11.0]);
        assert!((solved[0] - 1.0).abs() < 1e-12 && (solved[1] - 3.0).abs() < 1e-12);
        assert!(
            Square(vec![vec![1.0, 2.0], vec![2.0, 1.0]])
                .factored()
                .is_none()
        );
    }

    #[test]
    fn exact_ratios_are_fitted_and_twins_keep_their_times() {
        let rows: Vec<Vec<f64>> = (0..40)
            .map(|at| {
                let share = 0.2 + 0.015 * f64::from(at);
                vec![share, 1.0 - share]
            })
            .collect();
        let shares: Vec<&[f64]> = rows.iter().map(Vec::as_slice).collect();
        let ratios: Vec<f64> = rows.iter().map(|row| 1.5 * row[0] + 0.8 * row[1]).collect();
        let fit_of = fit(&shares, &ratios, 0.5).expect("a fit");
        assert!(
            (fit_of.factors[0] - 1.5).abs() < 0.01,
            "{:?}",
            fit_of.factors
        );
        assert!(
            (fit_of.factors[1] - 0.8).abs() < 0.01,
            "{:?}",
            fit_of.factors
        );
        // Always half and half: which of the two takes longer cannot be told.
        let halves = vec![[0.5, 0.5]; 40];
        let shares: Vec<&[f64]> = halves.iter().map(<[f64; 2]>::as_slice).collect();
        let twins = fit(&shares, &[1.2; 40], 0.5).expect("a fit");
        assert!((twins.factors[0] - twins.factors[1]).abs() < 1e-9);
        assert!(twins.errors[0] > 0.3, "{:?}", twins.errors);
    }
}
