//! Least squares from sums, so that a part of the data can be taken out again.

/// Parts that the data are cut into, in their order, to see how much a figure hangs on any of them.
pub(super) const PARTS: usize = 20;
/// A pivot below this share of its column says that the columns cannot be told apart.
const SINGULAR: f64 = 1e-9;

/// Sums over rows `y = coefficients . x`, least squares of N coefficients.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sums<const N: usize> {
    rows: f64,
    products: [[f64; N]; N],
    with_y: [f64; N],
    y_square: f64,
}

impl<const N: usize> Default for Sums<N> {
    fn default() -> Self {
        Self { rows: 0.0, products: [[0.0; N]; N], with_y: [0.0; N], y_square: 0.0 }
    }
}

impl<const N: usize> Sums<N> {
    /// One row more.
    pub(super) fn add(&mut self, x: [f64; N], y: f64) {
        self.rows += 1.0;
        self.y_square += y * y;
        for i in 0..N {
            self.with_y[i] += x[i] * y;
            for j in 0..N {
                self.products[i][j] += x[i] * x[j];
            }
        }
    }

    /// With another's rows `times` 1, or without them `times` -1.
    fn combine(mut self, other: &Self, times: f64) -> Self {
        self.rows += times * other.rows;
        self.y_square += times * other.y_square;
        for i in 0..N {
            self.with_y[i] += times * other.with_y[i];
            for j in 0..N {
                self.products[i][j] += times * other.products[i][j];
            }
        }
        self
    }

    /// The coefficients, by Cholesky's factors; `None` if the rows cannot tell them apart.
    pub(super) fn solve(&self) -> Option<[f64; N]> {
        let mut factor = [[0.0; N]; N];
        for i in 0..N {
            for j in 0..=i {
                let sum: f64 = (0..j).map(|k| factor[i][k] * factor[j][k]).sum();
                let rest = self.products[i][j] - sum;
                factor[i][j] = if i > j {
                    rest / factor[j][j]
                } else if rest > SINGULAR * self.products[i][i] {
                    rest.sqrt()
                } else {
                    return None;
                };
            }
        }
        let mut x = [0.0; N];
        for i in 0..N {
            let sum: f64 = (0..i).map(|k| factor[i][k] * x[k]).sum();
            x[i] = (self.with_y[i] - sum) / factor[i][i];
        }
        for i in (0..N).rev() {
            let sum: f64 = (i + 1..N).map(|k| factor[k][i] * x[k]).sum();
            x[i] = (x[i] - sum) / factor[i][i];
        }
        Some(x)
    }

    /// Sum of squares that a solution of these rows leaves.
    pub(super) fn left_by(&self, solution: &[f64; N]) -> f64 {
        let explained: f64 = solution.iter().zip(&self.with_y).map(|(x, sum)| x * sum).sum();
        (self.y_square - explained).max(0.0)
    }
}

/// Sums of each part of the data.
#[derive(Clone, Debug)]
pub(super) struct Parts<const N: usize>([Sums<N>; PARTS]);

impl<const N: usize> Default for Parts<N> {
    fn default() -> Self {
        Self([Sums::default(); PARTS])
    }
}

impl<const N: usize> Parts<N> {
    /// One row more, the `place`th of `count`.
    pub(super) fn add(&mut self, place: usize, count: usize, x: [f64; N], y: f64) {
        let part = (place * PARTS / count.max(1)).min(PARTS - 1);
        self.0[part].add(x, y);
    }

    /// All rows, but for those of one part if it is named.
    pub(super) fn without(&self, part: Option<usize>) -> Sums<N> {
        let all = self.0.iter().fold(Sums::default(), |all, part| all.combine(part, 1.0));
        part.map_or(all, |part| all.combine(&self.0[part], -1.0))
    }
}

/// A figure of all data and of the data without each part in turn, and its standard error.
///
/// Rows a hundredth of a second apart are alike; the usual formula would take each of them for news.
/// Leaving out whole stretches does not. `None` if any of them leaves no figure.
/// Source: Kunsch, The jackknife and the bootstrap for general stationary observations, Annals of
/// Statistics 17, 1989.
pub(super) fn jackknife<const K: usize>(
    figure: impl Fn(Option<usize>) -> Option<[f64; K]>,
) -> Option<([f64; K], [f64; K])> {
    let whole = figure(None)?;
    let parts: Option<Vec<[f64; K]>> = (0..PARTS).map(|part| figure(Some(part))).collect();
    let parts = parts?;
    let count = PARTS as f64;
    let mut deviation = [0.0; K];
    for (index, deviation) in deviation.iter_mut().enumerate() {
        let mean = parts.iter().map(|part| part[index]).sum::<f64>() / count;
        let squares: f64 =
            parts.iter().map(|part| (part[index] - mean) * (part[index] - mean)).sum();
        *deviation = (squares * (count - 1.0) / count).sqrt();
    }
    Some((whole, deviation))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Stream;
    use proptest::prelude::*;

    #[test]
    fn columns_that_are_alike_give_nothing() {
        let mut sums = Sums::default();
        (0..9).for_each(|row| sums.add([1.0, f64::from(row), 2.0 * f64::from(row)], 1.0));
        assert_eq!(sums.solve(), None);
    }

    proptest! {
        #[test]
        fn an_exact_plane_is_found(a in -9.0..9.0f64, b in -9.0..9.0f64, c in -9.0..9.0f64, seed: u64) {
            let random = Stream::root(seed);
            let mut sums = Sums::default();
            for row in 0..30 {
                let (x, y) = (random.named("x").uniform(row), random.named("y").uniform(row));
                sums.add([1.0, x, y], a + b * x + c * y);
            }
            let found = sums.solve().unwrap();
            for (found, true_value) in found.into_iter().zip([a, b, c]) {
                prop_assert!((found - true_value).abs() < 1e-8, "{found} for {true_value}");
            }
            prop_assert!(sums.left_by(&found) < 1e-8);
        }

        /// The mean of independent values: the jackknife of it is the textbook's standard error.
        #[test]
        fn the_error_of_a_mean_is_the_textbooks(seed: u64) {
            let random = Stream::root(seed);
            let values: Vec<f64> = (0..PARTS as u64).map(|row| random.normal(row)).collect();
            let mut parts = Parts::default();
            for (place, value) in values.iter().enumerate() {
                parts.add(place, values.len(), [1.0], *value);
            }
            let ([mean], [error]) = jackknife(|part| parts.without(part).solve()).unwrap();
            let count = PARTS as f64;
            let square = |value: &f64| (value - mean) * (value - mean);
            let textbook = (values.iter().map(square).sum::<f64>() / (count - 1.0) / count).sqrt();
            prop_assert!((error - textbook).abs() < 1e-9);
        }
    }
}
