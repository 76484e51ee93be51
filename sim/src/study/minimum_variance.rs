//! How near a row comes to the least variance that any feedback could have had.
//!
//! Whatever a controller does reaches the ground only after valve lag and fall. What of the error could be
//! told from errors older than that, it could have prevented; the rest nobody could who sees nothing but
//! the row. Source: Harris, Assessment of control loop performance, Canadian Journal of Chemical
//! Engineering 1989; by regression: Desborough and Harris, the same journal 1992 (both from memory).

/// Older errors that are looked at.
const TERMS: usize = 8;
/// Fewest errors for each unknown.
const ERRORS_PER_TERM: usize = 5;

/// Share of the mean square of the errors, in even steps of the row, that cannot be told from errors at
/// least `delay` steps older: 1 when no feedback could have done better, near 0 when it could.
///
/// It lies above what it should by chance in short rows, and sees linear relations only. `None` for too
/// few errors or for none that differ from 0.
#[must_use]
pub fn minimum_variance_index(errors: &[f64], delay: usize) -> Option<f64> {
    let first = delay.max(1) + TERMS - 1;
    let rows = errors.len().checked_sub(first)?;
    if rows < TERMS * ERRORS_PER_TERM {
        return None;
    }
    let mut normal = [[0.0; TERMS]; TERMS];
    let mut right = [0.0; TERMS];
    let mut total = 0.0;
    for place in first..errors.len() {
        let older: [f64; TERMS] = core::array::from_fn(|term| errors[place - delay.max(1) - term]);
        total += errors[place] * errors[place];
        for ((row, right), by) in normal.iter_mut().zip(&mut right).zip(older) {
            *right += by * errors[place];
            row.iter_mut().zip(older).for_each(|(cell, older)| *cell += by * older);
        }
    }
    let explained: f64 =
        solved(normal, right)?.iter().zip(right).map(|(term, right)| term * right).sum();
    // Each unknown takes its share of chance along.
    let unbiased = rows as f64 / (rows - TERMS) as f64;
    Some(((total - explained) / total * unbiased).clamp(0.0, 1.0))
}

/// Solves a symmetric positive system by Cholesky's square root; `None` if it is not positive.
fn solved(mut matrix: [[f64; TERMS]; TERMS], mut right: [f64; TERMS]) -> Option<[f64; TERMS]> {
    let scale: f64 = (0..TERMS).map(|row| matrix[row][row]).sum();
    for row in 0..TERMS {
        for column in 0..=row {
            let inner: f64 = (0..column).map(|k| matrix[row][k] * matrix[column][k]).sum();
            let rest = matrix[row][column] - inner;
            if row > column {
                matrix[row][column] = rest / matrix[column][column];
            } else if rest > 1e-12 * scale {
                matrix[row][row] = rest.sqrt();
            } else {
                return None;
            }
        }
        let inner: f64 = (0..row).map(|k| matrix[row][k] * right[k]).sum();
        right[row] = (right[row] - inner) / matrix[row][row];
    }
    for row in (0..TERMS).rev() {
        let inner: f64 = (row + 1..TERMS).map(|k| matrix[k][row] * right[k]).sum();
        right[row] = (right[row] - inner) / matrix[row][row];
    }
    Some(right)
}
