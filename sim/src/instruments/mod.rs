//! Truth into raw wires: edges, counts, frames and sentences, with their noise and lag.
//!
//! What is not fitted is silent: its pulses never move, its counts are zero, its sequence never
//! steps. The constants of each instrument are public, so that a controller can be set to match.

pub mod analog;
pub mod pulses;
pub mod speed;
pub mod weigh;

use crate::random::Stream;
use crate::world::World;
use analog::Analog;
use pulses::Pickup;
use speed::{Bus, BusSpeed, Receiver};
use strewn_controller::units::Instant;
use strewn_controller::wires::{Inputs, SwitchBits};
use weigh::WeighCells;

/// Which instruments are fitted and how good they are. Noise figures: common practice, no source.
#[derive(Clone, Debug, PartialEq)]
pub struct InstrumentSpec {
    /// Teeth that each roller's pick-up passes a turn; 0 for none.
    pub roller_pulses_per_turn: u32,
    /// Even error of each tooth's place, as a share of the pitch, below 0.4.
    pub pitch_error: f64,
    /// Pulses of a ground wheel or radar a metre, if fitted.
    pub ground_pulses_per_m: Option<f64>,
    /// Speed messages on the bus, if there are any.
    pub bus_speed: Option<BusSpeed>,
    /// Deviation of the bus and radar speed's scale, constant over a run, as a share.
    pub slip_error: f64,
    /// Sentences of a satellite receiver a second, if there is one.
    pub nmea_hz: Option<f64>,
    /// Age of its speed when a sentence arrives, s, up to 2.
    pub nmea_lag_s: f64,
    /// Deviation of its speed, m/s.
    pub nmea_noise_m_s: f64,
    /// Share of the time in which it has no fix.
    pub nmea_dropouts: f64,
    /// Length of a stretch without one, s.
    pub nmea_dropout_s: f64,
    /// Weigh cells under the cradle.
    pub weigh: bool,
    /// Deviation of the zero, constant over a run, kg.
    pub weigh_zero_kg: f64,
    /// Deviation of each conversion, kg.
    pub weigh_noise_kg: f64,
    /// Deviation by bouncing, as a share of the load for each m/s of ground speed.
    pub weigh_bounce: f64,
    /// Deviation of the zero as it drifts over minutes, kg.
    pub weigh_drift_kg: f64,
    /// Share of a change of load that shows only after minutes.
    pub weigh_creep: f64,
    /// Deviation of the converter's offset, constant over a run, counts.
    pub converter_counts: f64,
    /// Pressure across the motors.
    pub pressure: bool,
    /// Deviation of pressure, Pa.
    pub pressure_noise_pa: f64,
    /// Gauge on the bale's face.
    pub gauge: bool,
    /// Deviation of the gauge, m: hay is rough.
    pub gauge_noise_m: f64,
    /// Current of the valve's coil and supply behind the enable.
    pub valve_feedback: bool,
    /// Clouds of dust a second that make the gauge see a face where none is.
    pub gauge_dust_s: f64,
}

impl Default for InstrumentSpec {
    /// Everything but the ground pulses and the satellite receiver.
    fn default() -> Self {
        Self {
            roller_pulses_per_turn: 60,
            pitch_error: 0.05,
            ground_pulses_per_m: None,
            bus_speed: Some(BusSpeed::Ground),
            slip_error: 0.01,
            nmea_hz: None,
            nmea_lag_s: 0.3,
            nmea_noise_m_s: 0.028,
            nmea_dropouts: 0.0,
            nmea_dropout_s: 2.0,
            weigh: true,
            weigh_zero_kg: 1.0,
            weigh_noise_kg: 0.5,
            weigh_bounce: 0.004,
            weigh_drift_kg: 0.3,
            weigh_creep: 0.0005,
            converter_counts: 1.5,
            pressure: true,
            pressure_noise_pa: 60_000.0,
            gauge: true,
            gauge_noise_m: 0.006,
            valve_feedback: true,
            gauge_dust_s: 0.02,
        }
    }
}

/// What the person in the cab does with the switches.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Panel {
    /// Switches as wired.
    pub switches: SwitchBits,
    /// Ticket selected.
    pub ticket: u8,
}

/// All instruments of one machine.
#[derive(Clone, Debug)]
pub struct Instruments {
    rollers: [Pickup; 2],
    ground: Pickup,
    weigh: Option<WeighCells>,
    analog: Analog,
    bus: Option<Bus>,
    receiver: Option<Receiver>,
}

impl Instruments {
    /// Instruments at the start of a world.
    #[must_use]
    pub fn new(spec: &InstrumentSpec, random: Stream) -> Self {
        let scale = 1.0 + spec.slip_error * random.named("slip").normal(0);
        let teeth = spec.roller_pulses_per_turn;
        let roller = |side: u64| {
            let start = 0.5 * side as f64;
            Pickup::new(
                f64::from(teeth),
                teeth,
                spec.pitch_error,
                start,
                random.named("roller").numbered(side),
            )
        };
        let ground_per_m = spec.ground_pulses_per_m.unwrap_or(0.0) * scale;
        Self {
            rollers: [roller(0), roller(1)],
            // A radar has no teeth that come round again: 65,536 are as good as none.
            ground: Pickup::new(
                ground_per_m,
                1 << 16,
                spec.pitch_error,
                0.0,
                random.named("ground"),
            ),
            weigh: spec.weigh.then(|| WeighCells::new(spec, random.named("weigh"))),
            analog: Analog::new(spec, random.named("analog")),
            bus: spec.bus_speed.map(|kind| Bus::new(kind, scale)),
            receiver: spec.nmea_hz.map(|hz| Receiver::new(hz, spec, random.named("receiver"))),
        }
    }

    /// Call after every step of the world: edges and conversions happen between two readings.
    pub fn watch(&mut self, world: &World) {
        for roller in &mut self.rollers {
            roller.follow(world.roller_travel_turns(), world.steps());
        }
        self.ground.follow(world.odometer_m(), world.steps());
        self.analog.watch(world);
        if let Some(weigh) = &mut self.weigh {
            weigh.watch(world);
        }
        if let Some(receiver) = &mut self.receiver {
            receiver.watch(world);
        }
    }

    /// Fills everything that the controller sees in one tick; frames and sentences of the last tick
    /// go.
    pub fn read(&mut self, world: &World, panel: Panel, inputs: &mut Inputs) {
        inputs.now = Instant::from_micros(world.steps() * 1000);
        inputs.rollers = [self.rollers[0].wire(), self.rollers[1].wire()];
        inputs.ground = self.ground.wire();
        inputs.weigh = self.weigh.as_ref().map(WeighCells::wire).unwrap_or_default();
        inputs.analog = self.analog.read(world);
        inputs.switches = panel.switches;
        inputs.ticket = panel.ticket;
        inputs.frames.clear();
        inputs.sentences.clear();
        if let Some(bus) = &mut self.bus {
            inputs.frames.extend(bus.read(world));
        }
        if let Some(receiver) = &mut self.receiver {
            inputs.sentences.extend(receiver.read(world).into_iter().flatten());
        }
    }
}
