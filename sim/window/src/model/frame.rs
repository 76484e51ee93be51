//! One moment as the window shows it.

use strewn::bench::record::Sample;
use strewn::bench::{Live, Moment};
use strewn_controller::units::Speed;
use strewn_controller::view::View;
use strewn_controller::wires::{LampBits, SwitchBits};

/// What is kept of a moment, ten times a second. Truth that a log does not hold is not a number.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Frame {
    /// What world and controller did.
    pub sample: Sample,
    /// What the cab screen showed.
    pub view: View,
    /// Lamps and horn.
    pub lamps: LampBits,
    /// Switches as the controller saw them.
    pub switches: SwitchBits,
    /// The bale on the machine, counted from 0; `None` before the first.
    pub bale: Option<u16>,
    /// Turns of the rollers since the start.
    pub roller_turns: f64,
    /// Radius of what is left of the bale, m.
    pub radius_m: f64,
    /// Hay between rollers and ground, kg.
    pub in_air_kg: f64,
    /// Hay on the last 3 ft of the row, kg/m.
    pub laid_kg_m: f64,
}

/// Bins of the row in 3 ft.
const BINS: usize = 30;
/// Hay about the landing point is still spreading: bins left out.
const SPREADING: usize = 5;

impl Frame {
    /// The present moment of a run.
    #[must_use]
    pub fn of(live: &Live) -> Self {
        let world = live.world();
        let outputs = live.outputs();
        Self {
            sample: live.sample(),
            view: outputs.view,
            lamps: outputs.lamps,
            switches: live.inputs().switches,
            bale: live.bale().and_then(|bale| u16::try_from(bale).ok()),
            roller_turns: world.roller_turns(),
            radius_m: world.bale_radius_m(),
            in_air_kg: world.in_air_kg(),
            laid_kg_m: laid_kg_m(world.ground_kg(), world.odometer_m()),
        }
    }

    /// A moment of a log: what the controller knew, and nothing beyond it.
    #[must_use]
    pub fn recalled(moment: &Moment<'_>, before: &Self, time_s: f64) -> Self {
        let view = moment.outputs.view;
        let kg = |mass: strewn_controller::units::Mass| f64::from(mass.to_milli()) * 1e-3;
        let bite = |bite: strewn_controller::units::Bite| f64::from(bite.to_milli()) * 1e-3;
        let turns_s = f64::from(view.roller_speed.to_milli()) * 1e-3;
        let speed_m_s = f64::from(view.ground_speed.to_milli()) * 1e-3;
        let elapsed_s = time_s - before.sample.time_s;
        let advised = view.advised_speed;
        let pressure = moment.readings.analog.pressure.good();
        Self {
            sample: Sample {
                time_s,
                odometer_m: before.sample.odometer_m + speed_m_s * elapsed_s,
                ground_speed_m_s: speed_m_s,
                advised_speed_m_s: if advised == Speed::MAX {
                    f64::INFINITY
                } else {
                    f64::from(advised.to_milli()) * 1e-3
                },
                roller_asked: f64::from(view.roller_asked.to_milli()) * 1e-3,
                roller_turns_s: turns_s,
                pressure_pa: pressure.map_or(f64::NAN, |kpa| f64::from(kpa.to_milli())),
                bite_kg: f64::NAN,
                bite_estimate_kg: (bite(view.bite), bite(view.bite_deviation)),
                left_kg: f64::NAN,
                left_estimate_kg: (kg(view.left), kg(view.left_deviation)),
                duty: f64::from(moment.outputs.valve) / f64::from(i16::MAX),
                phase: view.phase,
                cause: view.cause,
                core_near: view.core_near,
                holding: view.holding,
            },
            view,
            lamps: moment.outputs.lamps,
            switches: SwitchBits::default(),
            bale: None,
            roller_turns: before.roller_turns + turns_s * elapsed_s,
            radius_m: f64::NAN,
            in_air_kg: f64::NAN,
            laid_kg_m: f64::NAN,
        }
    }
}

/// Hay on the last 3 ft whose hay has come to rest.
fn laid_kg_m(ground_kg: &[f64], odometer_m: f64) -> f64 {
    let bin_m = strewn::bench::record::Run::BIN_M;
    let end = ((odometer_m / bin_m) as usize).saturating_sub(SPREADING).min(ground_kg.len());
    let last = ground_kg.get(end.saturating_sub(BINS)..end).unwrap_or_default();
    last.iter().sum::<f64>() / (BINS as f64 * bin_m)
}
