//! What the controller is told: from the scenario's tickets, machine and sensors to plain integers.
//!
//! Only what a person could know goes in - tickets, data sheets, calibration - never the truth about
//! a bale.

use super::ground_speed::Recording;
use super::scenario::{Scenario, Ticket};
use crate::instruments::InstrumentSpec;
use crate::instruments::analog::{
    COUNTS_COIL_FULL, COUNTS_HIGH, COUNTS_LOW, COUNTS_REFERENCE, COUNTS_SUPPLY, GAUGE_HIGH_M,
    GAUGE_TO_AXIS_M, PRESSURE_HIGH_PA,
};
use crate::instruments::weigh::{COUNTS_AT_ZERO, COUNTS_PER_KG};
use crate::world::bite::TearingLaw;
use crate::world::spec::{MachineSpec, Motion, Profile};
use std::f64::consts::FRAC_PI_4;
use strewn_controller::settings::{
    Config, Core, EstimateConfig, GaugeConfig, GroundConfig, MeteringConfig, PressureConfig,
    SafetyConfig, SignalConfig, TicketConfig, WeighConfig,
};

/// Pulses of the modelled ground wheel or radar a metre.
const GROUND_PULSES_PER_M: f64 = 100.0;
/// The reference may stray by this many counts.
const REFERENCE_COUNTS: i32 = 60;
/// Rollers are asked for no more than this share of what the full flow gives, and never for more
/// than [`MOST_TURNS_S`].
const MOST_OF_FLOW: f64 = 0.9;
const MOST_TURNS_S: f64 = 3.5;
/// Pressure may stay below relief by this share before it counts as too high.
const BELOW_RELIEF: f64 = 0.97;
/// The pulse that tests the valve's path stays within this share of the dead band.
const TEST_OF_DEAD_BAND: f64 = 1.0 / 3.0;
/// A driver without a plan drives at this speed: 3 mph, m/s.
const USUAL_M_S: f64 = 1.34;

/// The controller's configuration for a scenario.
#[must_use]
pub(crate) fn config(scenario: &Scenario, recording: Option<&Recording>) -> Config {
    let machine = &scenario.machine;
    let fitted = instruments(scenario, recording);
    Config {
        signals: signals(&fitted),
        estimate: EstimateConfig {
            gauge_axis_mm: milli(GAUGE_TO_AXIS_M),
            ..EstimateConfig::TYPICAL
        },
        metering: metering(scenario),
        safety: SafetyConfig {
            pressure_limit_kpa: milli(machine.relief_pa * BELOW_RELIEF * 1e-6),
            guard_fitted: 1,
            hitch_fitted: 1,
            level_fitted: 1,
            run_pair_fitted: 1,
            coil_fitted: 1,
            coil_full_counts: i32::from(COUNTS_COIL_FULL),
            supply_fitted: 1,
            supply_on_counts: i32::from(COUNTS_SUPPLY.0 / 2),
            test_duty_permille: milli(machine.dead_band * TEST_OF_DEAD_BAND).min(50),
            ..SafetyConfig::TYPICAL
        },
        tickets: scenario.tickets.iter().map(|known| ticket(machine, known)).collect(),
    }
}

/// What is fitted to the machine. With recorded speed messages no others are modelled.
#[must_use]
pub(crate) fn instruments(scenario: &Scenario, recording: Option<&Recording>) -> InstrumentSpec {
    let sensors = &scenario.sensors;
    let recorded = recording
        .is_some_and(|recording| !recording.sentences.is_empty() || !recording.frames.is_empty());
    InstrumentSpec {
        ground_pulses_per_m: (sensors.ground_pulses && !recorded).then_some(GROUND_PULSES_PER_M),
        bus_speed: sensors.bus_speed.filter(|_| !recorded),
        nmea_hz: sensors.nmea_hz.filter(|_| !recorded),
        nmea_lag_s: sensors.nmea_lag_s,
        nmea_dropouts: sensors.nmea_dropouts,
        weigh: sensors.weigh,
        pressure: sensors.pressure,
        gauge: sensors.gauge,
        ..InstrumentSpec::default()
    }
}

/// How the job is usually driven: for a valve that is set once. The mean over the time in which the
/// rollers feed, as a person who sets it well would have it; what is driven empty does not count.
#[must_use]
pub(super) fn usual_motion(scenario: &Scenario, recording: Option<&Recording>) -> Motion {
    let engine_turns_s = scenario.tractor.engine_turns_s;
    let driven: Vec<(Motion, f64)> = match recording {
        Some(recording) => {
            let motions = recording.motion(engine_turns_s);
            motions.into_iter().map(|(_, motion)| (motion, 1.0)).collect()
        }
        None => {
            let feeding = scenario.drive.iter().filter(|leg| leg.feed);
            let motion = |speed_m_s| Motion { speed_m_s, engine_turns_s };
            feeding.map(|leg| (motion(leg.speed_m_s), leg.duration_s)).collect()
        }
    };
    let rolling = || driven.iter().filter(|(motion, _)| motion.speed_m_s > 0.3);
    let weight: f64 = rolling().map(|(_, weight)| weight).sum();
    if weight <= 0.0 {
        return Motion { speed_m_s: USUAL_M_S, engine_turns_s };
    }
    let mean = |value: fn(&Motion) -> f64| {
        rolling().map(|(motion, share)| value(motion) * share).sum::<f64>() / weight
    };
    Motion {
        speed_m_s: mean(|motion| motion.speed_m_s),
        engine_turns_s: mean(|motion| motion.engine_turns_s),
    }
}

fn signals(fitted: &InstrumentSpec) -> SignalConfig {
    let (low, high) = (i32::from(COUNTS_LOW), i32::from(COUNTS_HIGH));
    let (lowest_counts, highest_counts) = (low / 2, (high + 4_095) / 2);
    let reference = i32::from(COUNTS_REFERENCE);
    SignalConfig {
        ground: fitted.ground_pulses_per_m.map(|pulses| GroundConfig {
            pitch_um: milli(1e3 / pulses),
            shortest_us: 300,
            standing_ms: 500,
        }),
        weigh: fitted.weigh.then_some(WeighConfig {
            zero_counts: COUNTS_AT_ZERO,
            mg_per_count: milli(1e3 / COUNTS_PER_KG),
            ..WeighConfig::TYPICAL
        }),
        pressure: fitted.pressure.then_some(PressureConfig {
            first_counts: low,
            second_counts: high,
            first_kpa: 0,
            second_kpa: milli(PRESSURE_HIGH_PA * 1e-6),
            lowest_counts,
            highest_counts,
        }),
        gauge: fitted.gauge.then_some(GaugeConfig {
            first_counts: low,
            second_counts: high,
            first_mm: 0,
            second_mm: milli(GAUGE_HIGH_M),
            lowest_counts,
            highest_counts,
        }),
        reference_lowest_counts: reference - REFERENCE_COUNTS,
        reference_highest_counts: reference + REFERENCE_COUNTS,
        ..SignalConfig::TYPICAL
    }
}

fn metering(scenario: &Scenario) -> MeteringConfig {
    let machine = &scenario.machine;
    let full_turns_s = machine.remote_flow_m3_s / machine.displacement_m3;
    MeteringConfig {
        target_g_per_m: milli(scenario.target_kg_m),
        row_length_mm: scenario.row_length_m.map_or(0, milli),
        fall_ms: milli(machine.fall_s),
        dead_band_permille: milli(machine.dead_band),
        full_rate_milliturns_s: milli(full_turns_s),
        most_rate_milliturns_s: milli((full_turns_s * MOST_OF_FLOW).min(MOST_TURNS_S)),
        ..MeteringConfig::TYPICAL
    }
}

/// A ticket with the bite that a middling bale of its kind gives on this machine.
fn ticket(machine: &MachineSpec, known: &Ticket) -> TicketConfig {
    TicketConfig {
        mass_g: milli(known.mass_kg),
        diameter_mm: milli(known.diameter_m),
        bite_g: milli(expected_bite_kg(machine, known)),
        core: match known.core.usual_profile() {
            Profile::Even => Core::Even,
            Profile::SoftCore { centre, .. } => Core::Soft { centre_permille: milli(centre) },
            Profile::DenseCore { ratio, radius } => {
                Core::Dense { ratio_permille: milli(ratio), radius_permille: milli(radius) }
            }
        },
    }
}

/// The bite of a full bale of this ticket, kg per roller turn, as the laws of tearing let expect.
///
/// On a real machine it is what the first bale of a lot has taught; see the calibration notes.
fn expected_bite_kg(machine: &MachineSpec, known: &Ticket) -> f64 {
    let volume_m3 = FRAC_PI_4 * known.diameter_m * known.diameter_m * known.width_m;
    let mean_kg_m3 = known.mass_kg / volume_m3;
    let surface_kg_m3 = mean_kg_m3 / known.core.usual_profile().mean();
    let across_m = (machine.roller_diameter_m, known.width_m);
    TearingLaw::default().bite_at(across_m, surface_kg_m3, 1.0, known.hay)
}

fn milli(value: f64) -> i32 {
    (value * 1e3).round() as i32
}
