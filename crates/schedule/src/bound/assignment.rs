//! The least sum of a matrix, one number from every row and every column.
//!
//! The Hungarian method: H. W. Kuhn, "The Hungarian Method for the assignment problem", Naval
//! Research Logistics Quarterly 2 (1955) \[memory\]; with potentials, in time n³.

/// Least sum over all ways of taking one number from each of `size` rows, all from different
/// columns of as many.
pub(super) fn least_sum(size: usize, cost: &dyn Fn(usize, usize) -> i64) -> i64 {
    // Row and column 0 stand for "none yet"; the others count from 1.
    let (mut of_row, mut of_column) = (vec![0_i64; size + 1], vec![0_i64; size + 1]);
    let mut row_in = vec![0_usize; size + 1];
    for row in 1..=size {
        let mut way = vec![0_usize; size + 1];
        let mut slack = vec![i64::MAX; size + 1];
        let mut seen = vec![false; size + 1];
        row_in[0] = row;
        let mut column = 0;
        while row_in[column] != 0 {
            seen[column] = true;
            let (at, mut delta, mut next) = (row_in[column], i64::MAX, 0);
            for other in 1..=size {
                if seen[other] {
                    continue;
                }
                let reduced = cost(at - 1, other - 1) - of_row[at] - of_column[other];
                if reduced < slack[other] {
                    (slack[other], way[other]) = (reduced, column);
                }
                if slack[other] < delta {
                    (delta, next) = (slack[other], other);
                }
            }
            for other in 0..=size {
                if seen[other] {
                    of_row[row_in[other]] += delta;
                    of_column[other] -= delta;
                } else if other > 0 {
                    slack[other] -= delta;
                }
            }
            column = next;
        }
        while column != 0 {
            row_in[column] = row_in[way[column]];
            column = way[column];
        }
    }
    (1..=size)
        .map(|column| cost(row_in[column] - 1, column - 1))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};
    use rand_pcg::Pcg64;

    fn by_trying(matrix: &[Vec<i64>], row: usize, free: &mut Vec<usize>) -> i64 {
        if row == matrix.len() {
            return 0;
        }
        let mut best = i64::MAX;
        for index in 0..free.len() {
            let column = free.swap_remove(index);
            best = best.min(matrix[row][column] + by_trying(matrix, row + 1, free));
            free.push(column);
            let last = free.len() - 1;
            free.swap(index, last);
        }
        best
    }

    #[test]
    fn equals_the_best_of_all_assignments() {
        let mut rng = Pcg64::seed_from_u64(1);
        for size in (0..=6).cycle().take(700) {
            let row = |rng: &mut Pcg64| (0..size).map(|_| rng.random_range(0..50)).collect();
            let matrix: Vec<Vec<i64>> = (0..size).map(|_| row(&mut rng)).collect();
            let best = by_trying(&matrix, 0, &mut (0..size).collect());
            assert_eq!(least_sum(size, &|r, c| matrix[r][c]), best, "{matrix:?}");
        }
    }
}
