//! One machine from moment to moment, and one fault let loose on it.

use super::hay::Stop;
use super::judge::{Breach, Evidence, Judge};
use super::moment::Moment;
use super::worlds::Drawn;
use super::{TICK_S, TICKS_S};
use crate::actuators::{self, Watchdog};
use crate::faults::{Fault, Injector, Kind, Wire};
use crate::instruments::{Instruments, Panel};
use crate::random::Stream;
use crate::world::World;
use crate::world::spec::Motion;
use crate::world::tractor::Tractor;
use strewn_controller::safety::{Condition, Phase};
use strewn_controller::settings::Settings;
use strewn_controller::step::{State, step};
use strewn_controller::wires::{Inputs, Outputs, SwitchBits};

/// Steps of the world in a tick.
const STEPS: u64 = 10;
/// Usual ground speed, and that of a turn and of a brake, m/s.
const USUAL_M_S: f64 = 1.34;
const TURN_M_S: f64 = 0.6;
const BRAKED_M_S: f64 = 0.3;
/// A job in which a moment has not come by now has none, s.
const LONGEST_S: f64 = 300.0;
/// A machine with less on it is empty, kg.
const EMPTY_KG: f64 = 0.5;
/// Rollers below this stand, turns/s.
const STILL_TURNS_S: f64 = 0.02;
/// Hands off everything, sitting, all shut and clear.
const SEATED: u16 = SwitchBits::PRESENT
    | SwitchBits::STOP_CLEAR_A
    | SwitchBits::STOP_CLEAR_B
    | SwitchBits::GUARD_SHUT
    | SwitchBits::HITCH_DOWN
    | SwitchBits::LEVEL;
const STOPS: u16 = SwitchBits::STOP_CLEAR_A | SwitchBits::STOP_CLEAR_B;
const RUN: u16 = SwitchBits::RUN | SwitchBits::RUN_B;

/// What a tick counts in the rate that is followed.
const RATE_SHARE: f64 = 0.02;

/// How the driver ends a trial.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Ending {
    PressesStop,
    LetsGo,
    Leaves,
    StopsTractor,
}

/// What a trial found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Finding {
    /// The fault changed something.
    pub altered: bool,
    /// Why the controller stopped or refused, if it did.
    pub cause: Option<Condition>,
    /// What was unsafe, if anything.
    pub breach: Option<Breach>,
    /// From the onset to the command zero, s, if the fault stopped the rollers.
    pub zero_s: Option<f64>,
    /// Longest time from a command zero to rollers still, s; zero if they always stood.
    pub still_s: f64,
    /// Every stop of rollers that turned, and its hay.
    pub stops: Vec<Stop>,
    /// Distance driven from command zero to the last hay, m.
    pub after_m: f64,
}

/// One tick of a controller; that of the core, or one with a defect planted in it.
pub(super) type Step = fn(&Settings, &mut State, &Inputs) -> Outputs;

/// A machine and its driver at one moment.
#[derive(Clone)]
pub(super) struct Machine<'a> {
    drawn: &'a Drawn,
    step: Step,
    state: State,
    world: World,
    tractor: Tractor,
    instruments: Instruments,
    watchdog: Watchdog,
    motion: Motion,
    outputs: Outputs,
    /// What the hands did in the last tick.
    hands: SwitchBits,
    tick: u64,
    empty_s: Option<f64>,
    loaded: usize,
    /// What the controller was shown in every tick, if it is to be kept.
    shown: Option<Vec<Inputs>>,
}

impl<'a> Machine<'a> {
    pub(super) fn new(drawn: &'a Drawn) -> Self {
        let Drawn { scenario, settings, instruments, random } = drawn;
        let mut world = World::new(&scenario.machine, random.named("world"));
        if let Some(bale) = scenario.bales.first() {
            world.load(&bale.spec, 0);
        }
        Self {
            drawn,
            step,
            state: State::new(settings),
            world,
            tractor: Tractor::new(&scenario.tractor, random.named("tractor")),
            instruments: Instruments::new(instruments, random.named("instruments")),
            watchdog: Watchdog::default(),
            motion: Motion::default(),
            outputs: Outputs::default(),
            hands: SwitchBits::default(),
            tick: 0,
            empty_s: None,
            loaded: 0,
            shown: None,
        }
    }

    /// The same machine from now on under another controller.
    #[cfg(test)]
    pub(super) fn under(self, step: Step) -> Self {
        Self { step, ..self }
    }

    fn time_s(&self) -> f64 {
        self.tick as f64 * TICK_S
    }

    /// The sound machine at the beginning of each moment.
    pub(super) fn moments(mut self) -> Vec<(Moment, Self)> {
        let mut found: Vec<(Moment, Self)> = Vec::new();
        while found.len() < Moment::ALL.len() && self.time_s() < LONGEST_S {
            for moment in Moment::ALL {
                if self.is_at(moment) && found.iter().all(|(seen, _)| *seen != moment) {
                    found.push((moment, self.clone()));
                }
            }
            let (hands, wanted_m_s) = self.timetable();
            self.advance(hands, wanted_m_s, &mut []);
        }
        found.sort_by_key(|(moment, _)| *moment);
        found
    }

    fn is_at(&self, moment: Moment) -> bool {
        let time_s = self.time_s();
        let first_bale = self.loaded == 0;
        let bale_kg = self.drawn.scenario.bales.first().map_or(0.0, |bale| bale.spec.mass_kg);
        let left_kg = self.world.left_kg();
        let laying = self.outputs.view.phase == Phase::Laying;
        match moment {
            Moment::Core => first_bale && time_s > 72.0 && laying && left_kg < 0.22 * bale_kg,
            // Where the ledger never waits, the brake itself has to do.
            Moment::Hold => {
                laying && (64.0..70.0).contains(&time_s) && self.outputs.view.holding
                    || time_s > 66.0
            }
            Moment::Seam => first_bale && time_s > 72.0 && left_kg < 12.0,
            other => other.begins_s().is_some_and(|begins_s| time_s >= begins_s - 1e-9),
        }
    }

    /// What the hands do and which speed the driver wants while all is sound. Loads the second bale.
    fn timetable(&mut self) -> (SwitchBits, f64) {
        let time_s = self.time_s();
        if self.world.left_kg() < EMPTY_KG {
            self.empty_s.get_or_insert(time_s);
        }
        let wanted_m_s = match time_s {
            t if t < 0.5 => 0.0,
            t if (24.0..34.0).contains(&t) => TURN_M_S,
            t if (64.0..70.0).contains(&t) => BRAKED_M_S,
            _ => USUAL_M_S,
        };
        let bits = match self.empty_s {
            Some(empty_s) => self.seam(time_s - empty_s),
            None => match time_s {
                t if (0.3..0.6).contains(&t) => SwitchBits::NEW_BALE,
                t if (4.0..4.3).contains(&t) => SwitchBits::ARM,
                t if (5.0..40.0).contains(&t) => RUN,
                t if (42.0..42.3).contains(&t) => SwitchBits::ARM,
                t if (43.0..50.0).contains(&t) => RUN,
                t if (54.0..54.3).contains(&t) => SwitchBits::ARM,
                t if t >= 55.0 => RUN,
                _ => 0,
            },
        };
        let stop = if (50.0..51.0).contains(&time_s) { STOPS } else { 0 };
        (SwitchBits((SEATED | bits) & !stop), wanted_m_s)
    }

    fn seam(&mut self, since_s: f64) -> u16 {
        match since_s {
            s if s < 2.0 => 0,
            s if s < 2.3 => {
                if self.loaded == 0
                    && let Some(bale) = self.drawn.scenario.bales.get(1)
                {
                    self.world.load(&bale.spec, 1);
                    self.loaded = 1;
                }
                SwitchBits::NEW_BALE
            }
            s if (3.0..3.3).contains(&s) => SwitchBits::ARM,
            s if s >= 4.0 => RUN,
            _ => 0,
        }
    }

    /// One tick; what the controller was shown and what reached the valve.
    fn advance(
        &mut self,
        hands: SwitchBits,
        wanted_m_s: f64,
        faults: &mut [Injector],
    ) -> (Inputs, Outputs) {
        let mut inputs = Inputs::default();
        // A press of the new-bale button goes with a turn of the ticket's selector.
        let panel = Panel { switches: hands, ticket: u8::from(hands.has(SwitchBits::NEW_BALE)) };
        self.hands = hands;
        self.instruments.read(&self.world, panel, &mut inputs);
        for fault in &mut *faults {
            fault.on_inputs(self.tick, &mut inputs);
        }
        if let Some(shown) = &mut self.shown {
            shown.push(inputs.clone());
        }
        self.outputs = (self.step)(&self.drawn.settings, &mut self.state, &inputs);
        let mut reached = self.outputs;
        for fault in faults {
            fault.on_outputs(self.tick, &mut reached);
        }
        let reached = self.watchdog.pass(&reached, TICK_S);
        let command = actuators::command(&reached);
        for _ in 0..STEPS {
            self.motion = self.tractor.step(wanted_m_s);
            self.world.step(command, self.motion);
            self.instruments.watch(&self.world);
        }
        self.tick += 1;
        (inputs, reached)
    }

    /// Lets faults loose at a drawn time in the moment and sees it through: what the controller does
    /// by itself, a start tried again, and the driver's own stop.
    pub(super) fn trial(
        mut self,
        moment: Moment,
        faults: &[(Wire, Kind)],
        random: Stream,
    ) -> Finding {
        self.see_through(moment, faults, random)
    }

    /// The machine from its first tick through a trial: what its controller was shown.
    pub(super) fn shown(
        mut self,
        moment: Moment,
        faults: &[(Wire, Kind)],
        random: Stream,
    ) -> Vec<Inputs> {
        self.shown = Some(Vec::new());
        while !self.is_at(moment) && self.time_s() < LONGEST_S {
            let (hands, wanted_m_s) = self.timetable();
            self.advance(hands, wanted_m_s, &mut []);
        }
        self.see_through(moment, faults, random);
        self.shown.unwrap_or_default()
    }

    fn see_through(&mut self, moment: Moment, faults: &[(Wire, Kind)], random: Stream) -> Finding {
        let wait = (random.named("onset").uniform(0) * moment.lasts_s() * TICKS_S) as u64;
        for _ in 0..wait {
            let (hands, wanted_m_s) = self.timetable();
            self.advance(hands, wanted_m_s, &mut []);
        }
        let onset_s = self.time_s();
        let mut injectors: Vec<_> = (0..)
            .zip(faults)
            .map(|(number, (wire, kind))| {
                let fault = Fault { wire: *wire, kind: *kind, onset_s };
                Injector::new(fault, TICKS_S, random.named("fault").numbered(number))
            })
            .collect();
        let endings = [Ending::PressesStop, Ending::LetsGo, Ending::Leaves, Ending::StopsTractor];
        let ending = endings[(random.named("ending").bits(0) & 3) as usize];
        let pressure_is_sound =
            faults.iter().all(|(wire, _)| !matches!(wire, Wire::Pressure | Wire::Reference));
        Watched::new(self, onset_s, ending, pressure_is_sound).run(&mut injectors)
    }
}

/// Hay torn now, kg/s.
fn rate_kg_s(world: &World) -> f64 {
    world.bite_kg() * world.roller_turns_s().abs()
}

/// A trial under way.
struct Watched<'m, 'a> {
    machine: &'m mut Machine<'a>,
    onset_s: f64,
    ending: Ending,
    pressure_limit_pa: f64,
    judge: Judge,
    finding: Finding,
    was_open: bool,
    /// Hay torn a second, followed within a second.
    rate_kg_s: f64,
    zero: Option<(f64, f64)>,
    still: bool,
    stop: Stop,
    /// Hay on the machine and in the air at command zero, kg.
    held_kg: f64,
}

impl<'m, 'a> Watched<'m, 'a> {
    fn new(
        machine: &'m mut Machine<'a>,
        onset_s: f64,
        ending: Ending,
        pressure_is_sound: bool,
    ) -> Self {
        let hands = machine.hands;
        let phase = machine.outputs.view.phase;
        let now_us = (machine.tick.saturating_sub(1)) * 10_000;
        let limit_kpa = machine.drawn.settings.safety.pressure_limit.to_milli();
        let limit_pa = f64::from(limit_kpa);
        Self {
            judge: Judge::of_sound(phase == Phase::Laying, hands, phase == Phase::Armed, now_us),
            rate_kg_s: rate_kg_s(&machine.world),
            pressure_limit_pa: if pressure_is_sound { limit_pa } else { f64::INFINITY },
            was_open: machine.outputs.enable,
            machine,
            onset_s,
            ending,
            finding: Finding::default(),
            zero: None,
            still: true,
            stop: Stop::default(),
            held_kg: 0.0,
        }
    }

    fn run(mut self, faults: &mut [Injector]) -> Finding {
        let end_s = if self.ending == Ending::StopsTractor { 12.0 } else { 7.0 };
        while self.machine.time_s() - self.onset_s < end_s {
            let since_s = self.machine.time_s() - self.onset_s;
            let (hands, wanted_m_s) = self.hands(since_s);
            let before = self.machine.outputs.view.cause;
            let (seen, reached) = self.machine.advance(hands, wanted_m_s, faults);
            let breach = self.judge.tick(&Evidence {
                hands,
                seen: &seen,
                commanded: &self.machine.outputs,
                reached: &reached,
                roller_turns_s: self.machine.world.roller_turns_s(),
                pressure_share: self.machine.world.pressure_pa() / self.pressure_limit_pa,
                ground_m_s: self.machine.motion.speed_m_s,
            });
            self.finding.breach = self.finding.breach.or(breach);
            let cause = self.machine.outputs.view.cause;
            let ends_s = if self.ending == Ending::StopsTractor { 5.0 } else { 5.8 };
            if cause != before && since_s < ends_s && self.finding.cause.is_none() {
                self.finding.cause = cause.filter(|cause| *cause != Condition::RunReleased);
            }
            self.measure(since_s);
        }
        self.finding.altered = faults.iter().all(Injector::has_altered);
        self.finding
    }

    /// What the driver does after the onset: at first as planned, then hands off, both acts again, and
    /// an ending.
    fn hands(&mut self, since_s: f64) -> (SwitchBits, f64) {
        let (planned, wanted_m_s) = self.machine.timetable();
        let base = match since_s {
            s if s < 2.5 => return (planned, wanted_m_s),
            // Everything that can be operated is, once: what is stuck shows itself here at the latest.
            s if (2.6..2.9).contains(&s) => return (SwitchBits::default(), wanted_m_s),
            s if (2.9..3.2).contains(&s) => SwitchBits::NEW_BALE,
            s if (3.4..3.7).contains(&s) => SwitchBits::ARM,
            s if s >= 4.1 => RUN,
            _ => 0,
        };
        let held = SEATED | base;
        let brakes = self.ending == Ending::StopsTractor && since_s > 5.0;
        let bits = match self.ending {
            _ if since_s < 5.8 => held,
            Ending::PressesStop => held & !STOPS,
            Ending::LetsGo => held & !RUN,
            Ending::Leaves => held & !(RUN | SwitchBits::PRESENT),
            Ending::StopsTractor => held,
        };
        (SwitchBits(bits), if brakes { 0.0 } else { USUAL_M_S })
    }

    /// Times and hay from a stop on.
    fn measure(&mut self, since_s: f64) {
        let world = &self.machine.world;
        let open = self.machine.outputs.enable && self.machine.outputs.view.phase != Phase::Testing;
        let now_s = self.machine.time_s();
        if open {
            self.rate_kg_s += (rate_kg_s(world) - self.rate_kg_s) * RATE_SHARE;
        }
        if self.was_open && !open {
            self.zero = Some((now_s, world.odometer_m()));
            self.still = world.roller_turns_s().abs() < STILL_TURNS_S;
            let clump = world.clumps().last().is_some_and(|(at_s, _)| world.time_s() - at_s < 1.0);
            self.stop = Stop { rate_kg_s: self.rate_kg_s, clump, ..Stop::default() };
            self.held_kg = world.left_kg() + world.in_air_kg();
            if since_s < 2.5 && self.finding.zero_s.is_none() {
                self.finding.zero_s = Some(since_s);
            }
        }
        self.was_open = open;
        let Some((zero_s, zero_m)) = self.zero.filter(|_| !open) else { return };
        if !self.still && world.roller_turns_s().abs() < STILL_TURNS_S {
            self.still = true;
            self.finding.still_s = self.finding.still_s.max(now_s - zero_s);
            let landed_kg = (self.held_kg - world.left_kg() - world.in_air_kg()).max(0.0);
            self.stop.still_kg = world.in_air_kg();
            self.stop.zero_kg = landed_kg + world.in_air_kg();
            self.finding.stops.push(self.stop);
        }
        if world.in_air_kg() > 0.0 {
            self.finding.after_m = self.finding.after_m.max(world.odometer_m() - zero_m);
        }
    }
}
