//! One fault let loose on a machine, and what comes of it.

use super::TICKS_S;
use super::hay::Stop;
use super::judge::{Breach, Evidence, Judge};
use super::machine::{Machine, RUN, SEATED, STOPS, USUAL_M_S};
use super::moment::Moment;
use crate::faults::{Fault, Injector, Kind, Wire};
use crate::random::Stream;
use crate::world::World;
use strewn_controller::safety::{Condition, Phase};
use strewn_controller::wires::{Inputs, SwitchBits};

/// Rollers below this stand, turns/s.
const STILL_TURNS_S: f64 = 0.02;
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

impl Machine<'_> {
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
        self,
        moment: Moment,
        faults: &[(Wire, Kind)],
        random: Stream,
    ) -> Vec<Inputs> {
        let mut machine = self.kept_until(moment);
        machine.see_through(moment, faults, random);
        machine.shown.unwrap_or_default()
    }

    fn see_through(&mut self, moment: Moment, faults: &[(Wire, Kind)], random: Stream) -> Finding {
        let wait = (random.named("onset").uniform(0) * moment.lasts_s() * TICKS_S) as u64;
        for _ in 0..wait {
            self.go_on();
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
