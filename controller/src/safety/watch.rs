//! What is seen in one tick, and the little that must be remembered to see it.

use super::conditions::Condition;
use super::gate::{Passed, is_standing};
use super::hay::{CoreWatch, Leaving};
use super::observed::Observed;
use super::supervisor::Phase;
use super::valve_path::{PulseTest, Tested, ValvePath};
use crate::estimate::Estimates;
use crate::metering::Proposal;
use crate::settings::SafetySettings;
use crate::signals::{Quality, Readings, Speeds, StopSwitch, Turn};
use crate::units::{Ratio, Span, Speed, TurnRate, Turns};
use crate::wires::{Inputs, SwitchBits};
use serde::{Deserialize, Serialize};

/// Asked for less than this, the rollers may as well stand.
const ASKED: TurnRate = TurnRate::from_bits(6_554); // 0.1 turns/s
/// Standing rollers are missed once they should have turned by so much: near the dead band a slow
/// roller sticks for a moment, and does no harm.
const MISSED: Turns = Turns::from_bits(131_072); // 0.25
/// Rollers are above the command beyond this share of it and this much more.
const ABOVE_SHARE: Ratio = Ratio::from_bits(98_304); // 1.5
const ABOVE: TurnRate = TurnRate::from_bits(32_768); // 0.5 turns/s
/// Rollers are behind the command below this share of it.
const BEHIND_SHARE: Ratio = Ratio::from_bits(39_322); // 0.6
/// Two ground speeds differ beyond this share of the faster and this much more: sources slip, lag
/// and are calibrated roughly.
const APART_SHARE: Ratio = Ratio::from_bits(26_214); // 0.4
const APART: Speed = Speed::from_bits(26_214); // 0.4 m/s
/// Speeds that were apart count as apart for so long: a source that spikes must not pass as sound.
const APART_HELD: Span = Span::from_millis(500);
/// Backwards faster than this is reversing.
const BACKWARDS: Speed = Speed::from_bits(-6_554); // 0.1 m/s
/// Laying that the gate has interrupted for so long has ended: it must not go on by itself when a
/// contact that flickers has closed again.
const INTERRUPTED: Span = Span::from_millis(100);
/// So long before the first act is recognised no tick may have come late or taken no time: longer than a press
/// is watched for.
const IN_TIME: Span = Span::from_millis(200);
/// What a slow tick counts, what a good one takes off, and how much is too much: 3 in 100.
const SLOW: u8 = 35;
const TOO_SLOW: u8 = 100;
/// A tick that takes less is early. Time that passes twice as fast as told would make every patience twice
/// as long.
const EARLY: Span = Span::from_millis(6);
/// What the lower floors know in this tick, and what was commanded in the last one.
#[derive(Clone, Copy, Debug)]
pub struct Scene<'a> {
    /// The wires themselves.
    pub inputs: &'a Inputs,
    /// What floor 1 reads.
    pub readings: &'a Readings,
    /// What floor 2 knows.
    pub estimates: &'a Estimates,
    /// What floor 3 asked for in the last tick.
    pub proposal: &'a Proposal,
    /// What the gate let through in the last tick.
    pub passed: Passed,
    /// Whether the gate saw the rollers run too fast.
    pub too_fast: bool,
    /// Whether the gate's memory is whole.
    pub intact: bool,
    /// What the machine is doing.
    pub phase: Phase,
}

/// What must be remembered to see what lasts.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Watch {
    /// The run switch is held.
    held: bool,
    pressure: u16,
    slow: u8,
    early: u8,
    /// Time since a tick was last late or took no time.
    in_time_for: Span,
    /// Time since the valve was last commanded open.
    shut_for: Span,
    /// The rollers have stood since then.
    stood: bool,
    /// Turns asked for since they last turned.
    missed: Turns,
    /// For so long the ground speeds still count as apart.
    apart_for: Span,
    /// Time since the enable was last switched.
    switched_for: Span,
    enabled: bool,
    leaving: Leaving,
    core: CoreWatch,
    test: PulseTest,
    /// What was seen of ground and hay in the last turns for them: it is taken to be so until the next.
    of_ground: Observed,
    of_hay: Observed,
}

impl Watch {
    /// Names the conditions present and says how the test at arming stands. Written so that what is
    /// not known falls on the safe side.
    pub fn observe(&mut self, settings: &SafetySettings, scene: &Scene<'_>) -> (Observed, Tested) {
        let Scene { inputs, readings, passed, phase, .. } = scene;
        // It closes with both contacts, and opens with the slower one: that one is debounced, and
        // contacts that differ for longer are a condition of their own.
        self.held = readings.switches.run && (self.held || inputs.switches.has(settings.run));
        self.time(*passed, readings.tick);
        let path = ValvePath::look(settings, inputs.analog, *passed);
        let (decayed, settled) =
            (self.shut_for >= settings.coil_decay, self.switched_for >= settings.supply_patience);
        let tested = self.test.update(*phase, path, readings.tick);
        let interrupted = !self.enabled && self.switched_for >= INTERRUPTED;
        let released = !self.held || (interrupted && *phase == Phase::Laying);
        let observed = operator(settings, scene, released)
            .with(Condition::CoilOpen, path.coil_open)
            .with(Condition::CoilShorted, path.coil_shorted)
            .with(Condition::CoilUnasked, path.coil_driven && decayed)
            .with(Condition::SupplyMissing, path.supply_missing && settled)
            .with(Condition::SupplyUnasked, path.supply_unasked && settled)
            .with(Condition::ValveTestFailed, tested == Tested::Failed);
        match readings.turn {
            Turn::Ground => self.of_ground = self.ground(settings, scene),
            Turn::Row => self.of_hay = self.hay(scene),
            Turn::Hay | Turn::Sentence => {}
        }
        let observed = observed.or(self.of_ground).or(self.of_hay);
        let observed = self.rollers(settings, scene, observed);
        (self.controller(settings, scene, observed), tested)
    }

    /// Whether the run switch is held.
    #[must_use]
    pub fn run_is_held(&self) -> bool {
        self.held
    }

    /// Whether a press of the arming button counts: one that began before a tick came late does not.
    #[must_use]
    pub fn press_counts(&self) -> bool {
        self.in_time_for >= IN_TIME
    }

    /// How long valve and enable have been as they are. A command that comes and goes does not add
    /// up: it is ours.
    fn time(&mut self, passed: Passed, tick: Span) {
        let shut = passed.valve == 0;
        self.shut_for = if shut { self.shut_for.saturating_add(tick) } else { Span::ZERO };
        let same = passed.enable == self.enabled;
        self.switched_for = if same { self.switched_for.saturating_add(tick) } else { Span::ZERO };
        self.enabled = passed.enable;
    }

    /// Ground speed and its sources.
    fn ground(&mut self, settings: &SafetySettings, scene: &Scene<'_>) -> Observed {
        let Scene { readings, estimates, .. } = scene;
        let known = estimates.ground.quality == Quality::Good;
        let moves = estimates.ground.speed >= settings.least_speed;
        let Speeds { selected, ground, satellite, pulses, wheel } = readings.speeds;
        let sources = [selected, ground, satellite, pulses, wheel];
        let (mut fastest, mut slowest) = (Speed::ZERO, Speed::MAX);
        let (mut lost, mut reversing) = (false, false);
        for source in sources {
            lost |= is_lost(source.quality);
            if let Some(speed) = source.good() {
                fastest = fastest.max(speed.magnitude());
                slowest = slowest.min(speed.magnitude());
                reversing |= speed < BACKWARDS;
            }
        }
        let most_apart = fastest.scaled(APART_SHARE).saturating_add(APART);
        // One says that the machine stands, another that it moves.
        let at_odds = slowest < settings.least_speed.halved(1) && fastest >= settings.least_speed;
        let apart = at_odds || fastest.saturating_sub(slowest) > most_apart;
        self.apart_for =
            if apart { APART_HELD } else { self.apart_for.saturating_sub(readings.round) };
        Observed::default()
            .with(Condition::GroundStopped, known && !moves)
            .with(Condition::GroundSpeedLost, !known)
            .with(Condition::SpeedSourceLost, known && lost)
            .with(Condition::SpeedsDisagree, self.apart_for > Span::ZERO)
            .with(Condition::Reversing, reversing)
    }

    /// Rollers against what they were asked to do.
    fn rollers(
        &mut self,
        settings: &SafetySettings,
        scene: &Scene<'_>,
        observed: Observed,
    ) -> Observed {
        let Scene { inputs, readings, estimates, proposal, passed, too_fast, phase, .. } = scene;
        let rate = estimates.roller.rate;
        let standing = is_standing(settings, rate);
        self.stood = passed.valve == 0 && (self.stood || standing);
        let driven = passed.valve > 0 && proposal.rate > ASKED;
        self.missed = if driven && standing {
            self.missed.saturating_add(proposal.rate.over(readings.tick.seconds()))
        } else {
            Turns::ZERO
        };
        let missed = self.missed > MISSED;
        let pressure = estimates.pressure;
        let stalling = pressure.is_some_and(|pressure| pressure > settings.stall_pressure);
        let same = pressure.is_some() && inputs.analog.pressure == self.pressure && !standing;
        self.pressure = inputs.analog.pressure;
        let most = proposal.rate.scaled(ABOVE_SHARE).saturating_add(ABOVE);
        // After a stop the next start waits until they stand, however soon that is.
        let stopped = matches!(phase, Phase::Resting | Phase::Latched);
        let run_on = self.shut_for >= settings.rest_patience && !standing && !self.stood;
        let [left, right] = readings.rollers;
        let broken = [left, right].iter().any(|pulses| pulses.quality == Quality::Invalid);
        observed
            .with(Condition::RollersBehind, driven && rate < proposal.rate.scaled(BEHIND_SHARE))
            .with(Condition::RollersNotTurning, missed)
            .with(Condition::RollersStalled, driven && standing && stalling)
            .with(Condition::RollersDisagree, !estimates.roller.agree)
            .with(Condition::RollerPulsesBroken, broken)
            .with(Condition::RollersAboveAsked, rate > most)
            .with(Condition::RollersTooFast, *too_fast)
            .with(Condition::RollersTurned, !standing && (self.stood || stopped))
            .with(Condition::RollersRunOn, run_on)
            .with(
                Condition::PressureHigh,
                pressure.is_some_and(|pressure| pressure > settings.pressure_limit),
            )
            .with(Condition::PressureFrozen, same)
    }

    /// The hay, and the sensors of it that the controller can do without.
    fn hay(&mut self, scene: &Scene<'_>) -> Observed {
        let Estimates { hay, feels, .. } = scene.estimates;
        Observed::default()
            .with(Condition::GaugeLost, is_lost(hay.gauge))
            .with(Condition::PressureLost, is_lost(*feels))
            .with(Condition::WeighLost, is_lost(hay.scale))
            .with(Condition::CoreUnwatched, self.core.is_lost(scene))
            .with(Condition::NothingLeaves, self.leaving.see(scene))
    }

    /// The controller itself.
    fn controller(
        &mut self,
        settings: &SafetySettings,
        scene: &Scene<'_>,
        observed: Observed,
    ) -> Observed {
        let Scene { readings, intact, .. } = scene;
        let tick = readings.tick;
        let in_time = tick > Span::ZERO && tick <= settings.tick_limit;
        self.in_time_for = if in_time { self.in_time_for.saturating_add(tick) } else { Span::ZERO };
        self.slow = counted(self.slow, tick > settings.tick_slow);
        self.early = counted(self.early, tick < EARLY);
        observed
            .with(Condition::ReferenceLost, readings.analog.reference == Quality::Invalid)
            .with(Condition::TicksSlow, self.slow >= TOO_SLOW)
            .with(Condition::TickLate, tick > settings.tick_limit)
            .with(Condition::ClockBroken, tick == Span::ZERO || self.early >= TOO_SLOW)
            .with(Condition::MemoryBroken, !intact)
    }
}

/// Counts ticks that are not as they should be, and forgets them slowly.
fn counted(count: u8, is_bad: bool) -> u8 {
    if is_bad { count.saturating_add(SLOW) } else { count.saturating_sub(1) }
}

/// The operator's place, switches and stop buttons.
fn operator(settings: &SafetySettings, scene: &Scene<'_>, released: bool) -> Observed {
    let Scene { inputs, readings, proposal, .. } = scene;
    let switches = readings.switches;
    let open = |bit: u16| settings.fitted & bit != 0 && !inputs.switches.has(bit);
    let bus = readings.bus_stop;
    let contacts_differ =
        inputs.switches.0 & settings.run != 0 && !inputs.switches.has(settings.run);
    Observed::default()
        .with(Condition::RunReleased, released)
        .with(Condition::MarkReached, proposal.at_mark)
        .with(Condition::RunSwitchBroken, contacts_differ)
        .with(Condition::SwitchesContradict, inputs.switches.has(SwitchBits::ARM | SwitchBits::RUN))
        .with(Condition::HitchRaised, open(SwitchBits::HITCH_DOWN))
        .with(Condition::Tilted, open(SwitchBits::LEVEL))
        .with(Condition::GuardOpen, open(SwitchBits::GUARD_SHUT))
        .with(Condition::OperatorAway, !switches.present)
        .with(Condition::BusStopLost, is_lost(bus.quality))
        .with(Condition::BusStop, bus.value)
        .with(Condition::StopSwitchBroken, switches.stop == StopSwitch::Contradiction)
        .with(Condition::StopSwitch, switches.stop == StopSwitch::Stop)
}

/// Fitted, or seen before, but not to be believed now.
pub(super) fn is_lost(quality: Quality) -> bool {
    matches!(quality, Quality::Invalid | Quality::Stale)
}
