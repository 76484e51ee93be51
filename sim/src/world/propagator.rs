//! The exact step of a linear pair of states under inputs that are constant over the step.

/// Terms of the series; the last ones vanish for any pair that a millisecond moves by less than its
/// own size.
const TERMS: u32 = 30;

type Matrix = [[f64; 2]; 2];

/// `x' = a x + b u` over one step: `x <- state x + input u`, with a diagonal b.
///
/// Source: the matrix exponential and its integral as power series, textbook knowledge.
#[derive(Clone, Copy, Debug)]
pub(super) struct Propagator {
    state: Matrix,
    input: Matrix,
}

impl Propagator {
    pub(super) fn new(a: Matrix, b: [f64; 2], step_s: f64) -> Self {
        let one = [[1.0, 0.0], [0.0, 1.0]];
        let (mut state, mut integral) = (one, scaled(one, step_s));
        let mut power = one;
        let mut factorial_step = 1.0;
        for term in 1..TERMS {
            power = product(power, a);
            factorial_step *= step_s / f64::from(term);
            state = sum(state, scaled(power, factorial_step));
            integral = sum(integral, scaled(power, factorial_step * step_s / f64::from(term + 1)));
        }
        Self { state, input: product(integral, [[b[0], 0.0], [0.0, b[1]]]) }
    }

    /// The states after the step.
    pub(super) fn step(&self, x: [f64; 2], u: [f64; 2]) -> [f64; 2] {
        let row = |row: usize| {
            let [s, i] = [self.state[row], self.input[row]];
            (s[0] * x[0] + s[1] * x[1]) + (i[0] * u[0] + i[1] * u[1])
        };
        [row(0), row(1)]
    }
}

fn product(a: Matrix, b: Matrix) -> Matrix {
    let at = |row: usize, column: usize| a[row][0] * b[0][column] + a[row][1] * b[1][column];
    [[at(0, 0), at(0, 1)], [at(1, 0), at(1, 1)]]
}

fn sum(a: Matrix, b: Matrix) -> Matrix {
    let at = |row: usize, column: usize| a[row][column] + b[row][column];
    [[at(0, 0), at(0, 1)], [at(1, 0), at(1, 1)]]
}

fn scaled(a: Matrix, by: f64) -> Matrix {
    a.map(|row| row.map(|value| value * by))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halving_the_step_changes_nothing_but_rounding() {
        // A drive like the real one, in MPa and rad/s.
        let (a, b) = ([[-14.0, -83.0], [16.7, -2.4]], [2.0, 0.4]);
        let (whole, half) = (Propagator::new(a, b, 1e-3), Propagator::new(a, b, 5e-4));
        let (mut once, mut twice) = ([4.0, 6.0], [4.0, 6.0]);
        for step in 0..1000 {
            let inputs = [f64::from(step % 7), -80.0];
            once = whole.step(once, inputs);
            twice = half.step(half.step(twice, inputs), inputs);
            assert!((once[0] - twice[0]).abs() < 1e-9 && (once[1] - twice[1]).abs() < 1e-9);
        }
    }

    #[test]
    fn a_leak_alone_is_an_exponential() {
        let leak = Propagator::new([[-5.0, 0.0], [0.0, 0.0]], [0.0, 0.0], 0.1);
        assert!((leak.step([1.0, 0.0], [0.0, 0.0])[0] - libm::exp(-0.5)).abs() < 1e-15);
    }
}
