//! Fault-free hours at the worst legal noise: a reaction in time can be had by tripping early, so
//! stops that nobody and nothing asked for are counted beside it.
//!
//! Worst legal noise: every instrument twice as noisy as usual; contacts of run switch, seat, hitch
//! and level that flutter open for less than their debounce, every few seconds; a driver who goes
//! through turns and brakes all the time.

use super::worlds::{DrawError, Drawn};
use super::{TICK_S, TICKS_S, crew};
use crate::actuators;
use crate::instruments::{InstrumentSpec, Instruments, Panel};
use crate::random::Stream;
use crate::world::World;
use crate::world::tractor::Tractor;
use std::array;
use std::collections::BTreeMap;
use std::fmt::Write;
use strewn_controller::safety::{Condition, Phase, Response, TABLE};
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

/// What was so within this many ticks was so for the condition that stopped: a quarter of a second, the
/// longest patience with a bale that is too tough.
const RECENT_TICKS: u64 = 25;

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

/// Shifts by their numbers.
pub type Shifts = BTreeMap<u64, Hours>;

/// All shifts together.
#[must_use]
pub fn total(shifts: &Shifts) -> Hours {
    shifts.values().fold(Hours::default(), |mut all, shift| {
        all.machine_h += shift.machine_h;
        all.laying_h += shift.laying_h;
        all.true_stops += shift.true_stops;
        for (cause, times) in &shift.false_stops {
            *all.false_stops.entry(*cause).or_default() += times;
        }
        all
    })
}

/// How many shifts make so many hours.
#[must_use]
pub fn shifts_in(hours: f64) -> u64 {
    (hours / SHIFT_H).ceil() as u64
}

/// Runs the shifts that have no result yet, on all processors, until there are at least so many
/// hours. `done` sees the shifts after each one and says whether to go on.
///
/// # Errors
/// A machine that cannot be drawn.
pub fn run(
    seed: u64,
    hours: f64,
    mut shifts: Shifts,
    done: &mut dyn FnMut(&Shifts) -> bool,
) -> Result<Shifts, DrawError> {
    let missing: Vec<u64> =
        (0..shifts_in(hours)).filter(|number| !shifts.contains_key(number)).collect();
    let mut failure = None;
    let work = |number: &u64| Ok(Shift::new(&Drawn::new(seed, 1_000 + number)?).run());
    crew::each(&missing, work, |number, shift: Result<Hours, DrawError>| {
        match shift {
            Ok(shift) => drop(shifts.insert(*number, shift)),
            Err(error) => failure = Some(error),
        }
        failure.is_none() && done(&shifts)
    });
    failure.map_or(Ok(shifts), Err)
}

/// The first line of a file of shifts: what they are shifts of.
fn header(seed: u64) -> String {
    format!("# strewn stops: fault-free shifts of {SHIFT_H} h, seed {seed}")
}

/// Shifts as a file.
#[must_use]
pub fn write(seed: u64, shifts: &Shifts) -> String {
    let mut text = header(seed) + "\nshift,machine_h,laying_h,true_stops,false_stops\n";
    for (number, shift) in shifts {
        let Hours { machine_h, laying_h, true_stops, false_stops } = shift;
        let causes: Vec<_> =
            false_stops.iter().map(|(cause, times)| format!("{cause:?}={times}")).collect();
        let causes = causes.join(" ");
        // Writing into a String cannot fail.
        let _ = writeln!(text, "{number},{machine_h},{laying_h},{true_stops},{causes}");
    }
    text
}

/// Shifts from a file under the same seed.
///
/// # Errors
/// A sentence: another seed, or the number of the line that cannot be read.
pub fn read(seed: u64, text: &str) -> Result<Shifts, String> {
    let mut lines = text.lines();
    let found = lines.next().unwrap_or_default();
    if found != header(seed) {
        return Err(format!("it holds \"{found}\", asked is \"{}\"", header(seed)));
    }
    let read = |(number, line)| read_line(line).ok_or_else(|| format!("line {number} is no shift"));
    (3..).zip(lines.skip(1)).map(read).collect()
}

fn read_line(line: &str) -> Option<(u64, Hours)> {
    let parts: Vec<&str> = line.split(',').collect();
    let [number, machine_h, laying_h, true_stops, causes] = parts[..] else { return None };
    let cause = |word: &str| {
        let (name, times) = word.split_once('=')?;
        let row = TABLE.iter().find(|row| format!("{:?}", row.condition) == name)?;
        Some((row.condition, times.parse().ok()?))
    };
    let shift = Hours {
        machine_h: machine_h.parse().ok()?,
        laying_h: laying_h.parse().ok()?,
        true_stops: true_stops.parse().ok()?,
        false_stops: causes.split_whitespace().map(cause).collect::<Option<_>>()?,
    };
    Some((number.parse().ok()?, shift))
}

/// One machine's shift.
struct Shift<'a> {
    drawn: &'a Drawn,
    flutters: [Stream; FLUTTERS.len()],
    state: State,
    world: World,
    tractor: Tractor,
    instruments: Instruments,
    outputs: Outputs,
    bales: u64,
    /// Ticks since the driver began to press: a bale loaded, or a row begun anew.
    since: u64,
    jammed: bool,
    /// Ticks since the true pressure was last above its limit, and since the rollers last stood, as the
    /// settings mean it, at high pressure.
    since_above: u64,
    since_stalled: u64,
}

impl<'a> Shift<'a> {
    fn new(drawn: &'a Drawn) -> Self {
        let random = drawn.random.named("shift");
        Self {
            drawn,
            flutters: array::from_fn(|switch| random.named("flutter").numbered(switch as u64)),
            state: State::new(&drawn.settings),
            world: World::new(&drawn.scenario.machine, random.named("world")),
            tractor: Tractor::new(&drawn.scenario.tractor, random.named("tractor")),
            instruments: Instruments::new(&noisy(&drawn.instruments), random.named("instruments")),
            outputs: Outputs::default(),
            bales: 0,
            since: 0,
            jammed: false,
            since_above: RECENT_TICKS,
            since_stalled: RECENT_TICKS,
        }
    }

    fn run(mut self) -> Hours {
        let mut total = Hours { machine_h: SHIFT_H, ..Hours::default() };
        let mut laid_ticks = 0_u64;
        for tick in 0..(SHIFT_H * 3_600.0 * TICKS_S) as u64 {
            let before = self.outputs.view.phase;
            let (hands, wanted_m_s) = self.hands(tick);
            self.look();
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
            laid_ticks += u64::from(view.phase == Phase::Laying);
        }
        total.laying_h = laid_ticks as f64 * TICK_S / 3_600.0;
        total
    }

    /// Takes note of what is truly too tough.
    fn look(&mut self) {
        let safety = &self.drawn.settings.safety;
        let limit_pa = f64::from(safety.pressure_limit.to_milli());
        let pressure_pa = self.world.pressure_pa();
        let standing_turns_s = f64::from(safety.standing.to_milli()) / 1_000.0;
        let stands = self.world.roller_turns_s() < standing_turns_s;
        let stalled = stands && pressure_pa > 0.8 * limit_pa;
        self.since_above = if pressure_pa > limit_pa { 0 } else { self.since_above + 1 };
        self.since_stalled = if stalled { 0 } else { self.since_stalled + 1 };
    }

    /// Whether the machine truly was as the cause says when its patience ran.
    fn is_true(&self, cause: Condition) -> bool {
        match cause {
            Condition::PressureHigh => self.since_above < RECENT_TICKS,
            Condition::RollersNotTurning | Condition::RollersStalled => {
                self.since_stalled < RECENT_TICKS
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
        let open = self.flutters.iter().zip(FLUTTERS).filter(|(random, (_, most))| {
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
