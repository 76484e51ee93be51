//! Numbers at the upright axis of a trace.

use egui::Rangef;
use egui_plot::GridInput;

/// Distance of two marks, points: below the first they bear no numbers, from the second on plain ones.
pub(super) const NUMBERS: Rangef = Rangef { min: 12.0, max: 16.0 };

/// Marks of the upright axis: few round numbers, so that a low trace has one above zero, too. The longer
/// steps are those of zero alone.
pub(super) fn marks(input: GridInput) -> [f64; 3] {
    let step = round_below(0.75 * (input.bounds.1 - input.bounds.0));
    [step, step * 100.0, step * 10_000.0]
}

/// The largest of 1, 2 and 5 times a power of ten that is not above a length; 1 without one.
fn round_below(length: f64) -> f64 {
    let power = 10f64.powf(length.log10().floor());
    let round = [5.0, 2.0, 1.0].into_iter().map(|digit| digit * power).find(|step| *step <= length);
    round.filter(|step| step.is_normal()).unwrap_or(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_length_has_a_mark_above_zero_and_at_most_three() {
        for tenth in 1..20_000 {
            let length = f64::from(tenth) / 10.0;
            let [step, ..] = marks(GridInput { bounds: (0.0, length), base_step_size: 1.0 });
            let marks = (length / step).floor();
            assert!((1.0..=3.0).contains(&marks), "{marks} marks of {step} in {length}");
        }
    }

    #[test]
    fn no_length_is_no_mistake() {
        assert_eq!(round_below(0.0), 1.0);
        assert_eq!(round_below(f64::NAN), 1.0);
        assert_eq!(round_below(f64::INFINITY), 1.0);
    }
}
