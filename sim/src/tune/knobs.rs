//! The settings that are searched, each within its declared range.

use crate::bench::scenario::ScenarioError;
use crate::bench::{MachineFile, TRIED};
use strewn_controller::settings::Field;

/// What is measured on a machine and is not a matter of taste.
const MEASURED: [&str; 9] = [
    "fall_ms",
    "valve_lag_ms",
    "dead_band_permille",
    "full_rate_milliturns_s",
    "most_rate_milliturns_s",
    "roller_pulses_per_turn",
    "gauge_axis_mm",
    "idle_pressure_kpa",
    "drag_pa_per_kg",
];
/// A range whose ends differ by this factor is searched by factors, not by differences.
const WIDE: i32 = 8;

/// One setting that is searched.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Knob {
    /// The table of the machine file it stands in.
    pub section: &'static str,
    /// Name, words, range and usual value.
    pub field: Field,
}

/// All settings that are searched, in a fixed order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Knobs(pub Vec<Knob>);

impl Default for Knobs {
    /// Every setting of metering and estimation that is neither of the job nor measured on the machine.
    fn default() -> Self {
        let knob = |section| move |field: &Field| Knob { section, field: *field };
        let all = TRIED.iter().flat_map(|tried| tried.of_the_machine().map(knob(tried.name)));
        Self(all.filter(|knob| !MEASURED.contains(&knob.field.name)).collect())
    }
}

impl Knob {
    /// Whether factors count rather than differences.
    fn is_wide(&self) -> bool {
        self.field.low > 0 && self.field.high / self.field.low >= WIDE
    }

    /// The value at a share of the range, 0 to 1.
    fn at(&self, share: f64) -> i32 {
        let (low, high) = (f64::from(self.field.low), f64::from(self.field.high));
        let value = if self.is_wide() {
            low * libm::pow(high / low, share)
        } else {
            low + (high - low) * share
        };
        (value.round() as i32).clamp(self.field.low, self.field.high)
    }

    /// Where in its range a value lies, 0 to 1.
    fn share(&self, value: i32) -> f64 {
        let (low, high) = (f64::from(self.field.low), f64::from(self.field.high));
        let value = f64::from(value).clamp(low, high);
        if self.is_wide() {
            libm::log(value / low) / libm::log(high / low)
        } else {
            (value - low) / (high - low)
        }
    }
}

impl Knobs {
    /// The usual values.
    #[must_use]
    pub fn usual(&self) -> Vec<i32> {
        self.0.iter().map(|knob| knob.field.typical).collect()
    }

    /// The usual values as a place without bounds: see [`Knobs::values`].
    #[must_use]
    pub fn start(&self) -> Vec<f64> {
        let place = |knob: &Knob| {
            let share = knob.share(knob.field.typical);
            libm::acos(1.0 - 2.0 * share) / std::f64::consts::PI
        };
        self.0.iter().map(place).collect()
    }

    /// The values at a place. Any number is a place: it goes up and down the range again and again, as a
    /// cosine does, so that no search leaves it and none sticks at its ends.
    #[must_use]
    pub fn values(&self, place: &[f64]) -> Vec<i32> {
        let share = |place: f64| 0.5 - 0.5 * libm::cos(std::f64::consts::PI * place);
        self.0.iter().zip(place).map(|(knob, place)| knob.at(share(*place))).collect()
    }

    /// The text of a machine file with those values that differ from the usual ones, each explained.
    #[must_use]
    pub fn machine_file(&self, values: &[i32]) -> String {
        let mut text = String::from(
            "# Settings found by `strewn tune`, in place of the usual ones. To be changed by hand: each has\n\
             # its meaning, range and usual value beside it; what does not fit is refused by name.\n",
        );
        let mut section = "";
        for (knob, value) in self.0.iter().zip(values) {
            let Field { name, words, low, high, typical } = knob.field;
            if *value == typical {
                continue;
            }
            if section != knob.section {
                section = knob.section;
                text += &format!("\n[{section}]\n");
            }
            text += &format!("#{words} {low} to {high}, usually {typical}.\n{name} = {value}\n");
        }
        text
    }

    /// The same as settings.
    ///
    /// # Errors
    /// A value out of its range, which [`Knobs::values`] does not give.
    pub fn machine(&self, values: &[i32]) -> Result<MachineFile, ScenarioError> {
        MachineFile::parse(&self.machine_file(values))
    }
}
