//! Fault-free hours at the worst legal noise: a reaction in time can be had by tripping early, so
//! stops that nobody and nothing asked for are counted beside it.
//!
//! Worst legal noise: every instrument twice as noisy as usual; contacts of run switch, seat, hitch
//! and level that flutter open for less than their debounce, every few seconds; a driver who goes
//! through turns and brakes all the time.

use super::worlds::{DrawError, Drawn};
use super::{TICK_S, TICKS_S};
use crate::actuators;
use crate::instruments::{InstrumentSpec, Instruments, Panel};
use crate::random::Stream;
use crate::world::World;
use crate::world::tractor::Tractor;
use std::collections::BTreeMap;
use strewn_controller::safety::{Condition, Phase, Response};
use strewn_controller::step::{State, step};
use strewn_controller::wires::{Inputs, Outputs, SwitchBits};

/// Each drawn machine works for so long before the next one comes, h.
const SHIFT_H: f64 = 0.5;
/// Ground speeds that the driver changes between, m/s, and for how long each is held, s.
const SPEEDS_M_S: [f64; 6] = [1.34, 1.8, 0.6, 1.34, 0.35, 0.9];
const LEG_S: f64 = 12.0;
/// How long each switch may flutter open, ticks.
const FLUTTERS: [(u16, u64); 4] = [
    (SwitchBits::RUN, 4),
    (SwitchBits::PRESENT, 6),
    (SwitchBits::HITCH_DOWN, 6),
    (SwitchBits::LEVEL, 6),
];
/// A flutter comes once in so many ticks, in the first half of them.
const FLUTTER_TICKS: u64 = 400;

/// What fault-free hours showed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Hours {
    /// Hours of the machine.
    pub machine_h: f64,
    /// Of these, hours of laying.
    pub laying_h: f64,
    /// Stops on a bale that was truly too tough: at the relief pressure, or rollers that stood.
    pub true_stops: u64,
    /// Stops that nobody and nothing asked for.
    pub false_stops: BTreeMap<Condition, u64>,
}

/// Runs at least so many hours. `progress` is told the share done and says whether to go on.
///
/// # Errors
/// A machine that cannot be drawn.
pub fn run(
    seed: u64,
    hours: f64,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<Hours, DrawError> {
    let mut total = Hours::default();
    for number in 0.. {
        if total.machine_h >= hours || !progress(total.machine_h / hours.max(1e-9)) {
            break;
        }
        let drawn = Drawn::new(seed, 1_000 + number)?;
        Shift::new(&drawn).run(SHIFT_H.min(hours), &mut total);
    }
    Ok(total)
}

/// One machine's shift.
struct Shift<'a> {
    drawn: &'a Drawn,
    random: Stream,
    state: State,
    world: World,
    tractor: Tractor,
    instruments: Instruments,
    outputs: Outputs,
    bales: u64,
    /// Ticks since the driver began to press: a bale loaded, or a row begun anew.
    since: u64,
    jammed: bool,
    /// True pressure, Pa, and whether the rollers stood, as the last inputs showed them.
    pressure_pa: f64,
    stood: bool,
}

impl<'a> Shift<'a> {
    fn new(drawn: &'a Drawn) -> Self {
        let random = drawn.random.named("shift");
        Self {
            drawn,
            random,
            state: State::new(&drawn.settings),
            world: World::new(&drawn.scenario.machine, random.named("world")),
            tractor: Tractor::new(&drawn.scenario.tractor, random.named("tractor")),
            instruments: Instruments::new(&noisy(&drawn.instruments), random.named("instruments")),
            outputs: Outputs::default(),
            bales: 0,
            since: 0,
            jammed: false,
            pressure_pa: 0.0,
            stood: true,
        }
    }

    fn run(mut self, hours: f64, total: &mut Hours) {
        for tick in 0..(hours * 3_600.0 * TICKS_S) as u64 {
            let before = self.outputs.view.phase;
            let (hands, wanted_m_s) = self.hands(tick);
            self.pressure_pa = self.world.pressure_pa();
            self.stood = self.world.roller_turns_s() < 0.02;
            self.advance(hands, wanted_m_s);
            let view = &self.outputs.view;
            let asked = view.cause.is_none_or(|cause| cause.row().response == Response::EndRow);
            if before == Phase::Laying && view.phase != Phase::Laying && !asked {
                let cause = view.cause.unwrap_or(Condition::RunReleased);
                if self.is_true(cause) {
                    total.true_stops += 1;
                    // A jammed bale is taken off.
                    self.jammed = true;
                } else {
                    *total.false_stops.entry(cause).or_default() += 1;
                }
            }
            total.machine_h += TICK_S / 3_600.0;
            if view.phase == Phase::Laying {
                total.laying_h += TICK_S / 3_600.0;
            }
        }
    }

    /// Whether the machine truly was as the cause says.
    fn is_true(&self, cause: Condition) -> bool {
        let limit_pa = f64::from(self.drawn.settings.safety.pressure_limit.to_milli());
        match cause {
            Condition::PressureHigh => self.pressure_pa > limit_pa,
            Condition::RollersNotTurning | Condition::RollersStalled => {
                self.stood && self.pressure_pa > 0.8 * limit_pa
            }
            _ => false,
        }
    }

    fn hands(&mut self, tick: u64) -> (u16, f64) {
        if self.world.left_kg() < 0.5 || self.jammed {
            self.jammed = false;
            let bales = &self.drawn.scenario.bales;
            if let Some(bale) = bales.get((self.bales % bales.len().max(1) as u64) as usize) {
                self.world.load(&bale.spec, self.bales);
            }
            self.bales += 1;
            self.since = 0;
        }
        self.since += 1;
        let all = SwitchBits::PRESENT
            | SwitchBits::STOP_CLEAR_A
            | SwitchBits::STOP_CLEAR_B
            | SwitchBits::GUARD_SHUT
            | SwitchBits::HITCH_DOWN
            | SwitchBits::LEVEL;
        let bits = match self.since {
            0..50 => SwitchBits::NEW_BALE,
            150..180 => SwitchBits::ARM,
            220.. => SwitchBits::RUN | SwitchBits::RUN_B,
            _ => 0,
        };
        let stopped = self.since > 240 && self.outputs.view.phase != Phase::Laying;
        if stopped {
            self.since = 100;
        }
        let leg = (tick as f64 / (LEG_S * TICKS_S)) as usize;
        (self.flutter(tick, all | bits), SPEEDS_M_S[leg % SPEEDS_M_S.len()])
    }

    /// Only while hay is laid: at rest, a person holds still.
    fn flutter(&self, tick: u64, bits: u16) -> u16 {
        if self.outputs.view.phase != Phase::Laying {
            return bits;
        }
        let (window, place) = (tick / FLUTTER_TICKS, tick % FLUTTER_TICKS);
        let open = (0..).zip(FLUTTERS).filter(|(number, (_, most))| {
            let random = self.random.named("flutter").numbered(*number);
            let begins = random.bits(window) % (FLUTTER_TICKS / 2);
            (begins..begins + most).contains(&place)
        });
        open.fold(bits, |bits, (_, (bit, _))| bits & !bit)
    }

    fn advance(&mut self, hands: u16, wanted_m_s: f64) {
        let mut inputs = Inputs::default();
        let panel = Panel { switches: SwitchBits(hands), ticket: 0 };
        self.instruments.read(&self.world, panel, &mut inputs);
        self.outputs = step(&self.drawn.settings, &mut self.state, &inputs);
        let command = actuators::command(&self.outputs);
        for _ in 0..10 {
            let motion = self.tractor.step(wanted_m_s);
            self.world.step(command, motion);
            self.instruments.watch(&self.world);
        }
    }
}

/// Every instrument twice as noisy.
fn noisy(spec: &InstrumentSpec) -> InstrumentSpec {
    InstrumentSpec {
        pitch_error: 2.0 * spec.pitch_error,
        slip_error: 2.0 * spec.slip_error,
        nmea_lag_s: 2.0 * spec.nmea_lag_s,
        nmea_noise_m_s: 2.0 * spec.nmea_noise_m_s,
        weigh_zero_kg: 2.0 * spec.weigh_zero_kg,
        weigh_noise_kg: 2.0 * spec.weigh_noise_kg,
        weigh_bounce: 2.0 * spec.weigh_bounce,
        pressure_noise_pa: 2.0 * spec.pressure_noise_pa,
        gauge_noise_m: 2.0 * spec.gauge_noise_m,
        ..spec.clone()
    }
}
