//! The scenario on the table: its text, and the numbers in it that the window lets a person change.

use std::path::{Path, PathBuf};
use strewn::bench::scenario::{Scenario, ScenarioError};
use toml::{Table, Value};

/// A number of the scenario file that has a slider.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WorldKnob {
    /// The table it stands in; empty for the top of the file.
    pub section: &'static str,
    /// Its key.
    pub key: &'static str,
    /// What people call it.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// Lowest value.
    pub low: f64,
    /// Highest value.
    pub high: f64,
    /// The value where the file has none.
    pub usual: f64,
    /// What it does.
    pub words: &'static str,
    /// Whether it acts at once; otherwise from the next start on.
    pub at_once: bool,
}

macro_rules! world {
    ($($section:literal $key:literal, $name:literal, $unit:literal, $low:literal..=$high:literal,
        $usual:literal, $when:ident, $words:literal;)+) => {
        /// Every number with a slider; ranges as the scenario file has them.
        pub const WORLD: &[WorldKnob] = &[$(WorldKnob {
            section: $section,
            key: $key,
            name: $name,
            unit: $unit,
            low: $low,
            high: $high,
            usual: $usual,
            words: $words,
            at_once: world!(@ $when),
        },)+];
    };
    (@ now) => { true };
    (@ later) => { false };
}

world! {
    "" "target_lb_per_ft", "Target", "lb/ft", 0.5..=40.0, 3.0, now,
        "Hay wanted on each foot of the row. The controller is told.";
    "tractor" "engine_rpm", "Engine", "rpm", 800.0..=2600.0, 1900.0, now,
        "Engine turns drive the pump: too few, and the rollers cannot keep up.";
    "tractor" "speed_wander_percent", "Speed wander", "%", 0.0..=30.0, 4.0, now,
        "No driver holds one speed: its deviation as a share of it.";
    "tractor" "acceleration_mph_per_s", "Acceleration", "mph/s", 0.1..=5.0, 1.0, now,
        "How briskly the tractor gains speed.";
    "machine" "remote_flow_gpm", "Remote flow", "gal/min", 3.0..=60.0, 24.0, now,
        "What the tractor's remote lets through with the valve wide open.";
    "machine" "relief_psi", "Relief", "psi", 500.0..=4000.0, 2600.0, now,
        "Pressure at which the tractor's oil escapes: less of it stalls the rollers.";
    "machine" "return_psi", "Return line", "psi", 0.0..=400.0, 0.0, now,
        "What the return line takes at full flow; the motors lack it.";
    "machine" "dead_band_percent", "Dead band", "%", 0.0..=50.0, 15.0, now,
        "Share of the command before the valve opens. The controller is not told of a change.";
    "machine" "hysteresis_percent", "Hysteresis", "%", 0.0..=20.0, 4.0, now,
        "Play of the spool: up and down do not meet.";
    "machine" "dither_percent", "Dither", "%", 0.0..=100.0, 0.0, now,
        "Share of that play which a trembling current takes away.";
    "machine" "valve_lag_s", "Valve lag", "s", 0.01..=1.0, 0.12, now,
        "How long valve and spool take to follow, with warm oil.";
    "machine" "oil_f", "Oil", "F", -20.0..=220.0, 122.0, now,
        "Cold oil is thick: it drags, lags and leaks less.";
    "machine" "supply_v", "Supply", "V", 9.0..=16.0, 12.0, now,
        "Voltage at the valve's coil: a low one opens the valve less.";
    "machine" "valve_coil_f", "Coil", "F", -20.0..=250.0, 68.0, now,
        "A warm coil draws less current and opens the valve less.";
    "machine" "fall_s", "Fall", "s", 0.1..=1.5, 0.45, later,
        "Time from leaving the rollers to lying on the ground.";
    "" "between_bales_s", "Between bales", "s", 0.0..=600.0, 8.0, later,
        "From the end of a bale until the next one lies on the rollers.";
    "tractor" "hill_percent", "Hills", "%", 0.0..=20.0, 0.0, later,
        "Deviation of the slope along the way.";
    "tractor" "mud_percent", "Mud", "%", 0.0..=100.0, 0.0, later,
        "Share of the way that is muddy: wheels slip, wheel speed lies.";
    "sensors" "nmea_dropout_percent", "Receiver without fix", "%", 0.0..=100.0, 0.0, later,
        "Share of the time in which the satellite receiver has no fix.";
}

/// A scenario and where it came from.
#[derive(Clone, Debug)]
pub struct Job {
    /// The file it was read from; `None` for the built-in demonstration.
    pub path: Option<PathBuf>,
    /// What it says.
    pub scenario: Scenario,
    text: String,
    table: Table,
    changed: bool,
}

impl Job {
    /// Reads a scenario.
    ///
    /// # Errors
    /// The first thing in it that is wrong.
    pub fn parse(text: &str, path: Option<&Path>) -> Result<Self, ScenarioError> {
        let scenario = Scenario::parse(text)?;
        // What the scenario's own reader took is a table.
        let table = text.parse().unwrap_or_default();
        let path = path.map(Path::to_owned);
        Ok(Self { path, scenario, text: text.to_owned(), table, changed: false })
    }

    /// The present value of a slider, in its unit.
    #[must_use]
    pub fn get(&self, knob: &WorldKnob) -> f64 {
        let table = match knob.section {
            "" => Some(&self.table),
            section => self.table.get(section).and_then(Value::as_table),
        };
        let value = table.and_then(|table| table.get(knob.key));
        let number = value.and_then(|value| {
            value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64))
        });
        number.unwrap_or(knob.usual)
    }

    /// Moves a slider. The file on the disk stays as it is.
    ///
    /// # Errors
    /// A value beyond its range; the scenario stays as it was.
    pub fn set(&mut self, knob: &WorldKnob, value: f64) -> Result<(), ScenarioError> {
        let mut table = self.table.clone();
        let section = match knob.section {
            "" => Some(&mut table),
            section => {
                table.entry(section).or_insert_with(|| Value::Table(Table::new())).as_table_mut()
            }
        };
        if let Some(section) = section {
            section.insert(knob.key.to_owned(), Value::Float(value));
        }
        self.scenario = Scenario::parse(&table.to_string())?;
        (self.table, self.changed) = (table, true);
        Ok(())
    }

    /// The scenario as a file: word for word if nothing was changed, otherwise without comments.
    #[must_use]
    pub fn text(&self) -> String {
        if self.changed { self.table.to_string() } else { self.text.clone() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_slider_moves_within_the_range_of_the_file() {
        for knob in WORLD {
            let mut job = Job::parse("", None).unwrap();
            let before = job.scenario.clone();
            assert!(job.get(knob) == knob.usual, "{}", knob.key);
            for value in [knob.low, knob.high] {
                job.set(knob, value).unwrap();
                assert!(job.get(knob) == value, "{}", knob.key);
                assert_eq!(Scenario::parse(&job.text()).unwrap(), job.scenario);
            }
            assert_ne!(before, job.scenario, "{} changes nothing", knob.key);
            let beyond = knob.high + 1.0;
            let told = job.set(knob, beyond).unwrap_err().to_string();
            assert!(told.contains(knob.key), "{told}");
            assert!(job.get(knob) == knob.high);
        }
    }

    #[test]
    fn usual_values_are_those_of_the_scenario() {
        let plain = Job::parse("", None).unwrap();
        for knob in WORLD {
            let mut job = plain.clone();
            job.set(knob, knob.usual).unwrap();
            // One conversion of units more may change the last bit.
            let (a, b) = (format!("{:.9?}", job.scenario), format!("{:.9?}", plain.scenario));
            assert_eq!(a, b, "{}", knob.key);
        }
    }

    #[test]
    fn what_was_not_changed_is_saved_word_for_word() {
        let job = Job::parse(Scenario::DEMO, None).unwrap();
        assert_eq!(job.text(), Scenario::DEMO);
    }
}
