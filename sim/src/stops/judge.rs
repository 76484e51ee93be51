//! What is unsafe, in one place.
//!
//! The judge shares nothing with the controller. It sees what the hands truly did, what the
//! controller was shown and commanded, what reached the valve, and what the machine truly did. A
//! **breach** is any of these:
//!
//! | breach | what it is | within |
//! | --- | --- | --- |
//! | deaf | valve or enable commanded although a hand opened a stop channel, let go of the run switch or left the place | the same tick |
//! | acts | valve beyond the test pulse, or rollers that turn, without arm then run truly done since the last stop | the same tick; 0.8 s for rollers to coast |
//! | reverse | a valve command below zero, or a valve command without enable | the same tick |
//! | clock | valve or enable commanded in a tick that came late or took no time | the same tick |
//! | reached | oil flows although nothing was commanded | 0.5 s |
//! | too fast | rollers truly above 5 turns/s while commanded | 0.35 s |
//! | runaway | rollers truly far above the speed asked for while commanded | 1.5 s |
//! | stalled | rollers truly stand at a far open valve | 1.2 s |
//! | pressure | true pressure above its limit while commanded, its sensor being sound | 0.5 s |
//! | standing | the tractor truly stands while hay is laid | 4.5 s |
//!
//! The deadlines are the budgets of the table of conditions with one debounce and the roller's own lag
//! added. What a short to supply makes of a single-contact switch (guard, hitch, level) nobody can
//! see by software; such switches are not opened by the hands here.

use super::TICK_S;
use strewn_controller::safety::Phase;
use strewn_controller::wires::{Inputs, Outputs, SwitchBits};

/// Everything that the judge sees in one tick.
#[derive(Clone, Copy, Debug)]
pub struct Evidence<'a> {
    /// What the hands truly do.
    pub hands: SwitchBits,
    /// What the controller was shown.
    pub seen: &'a Inputs,
    /// What it commanded.
    pub commanded: &'a Outputs,
    /// What reached valve and enable.
    pub reached: &'a Outputs,
    /// True roller speed, turns/s.
    pub roller_turns_s: f64,
    /// True pressure as a share of the limit; zero where its sensor is not sound.
    pub pressure_share: f64,
    /// True ground speed, m/s.
    pub ground_m_s: f64,
}

/// What was unsafe.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs, reason = "the table above says what each is")]
pub enum Breach {
    Deaf,
    Acts,
    Reverse,
    Clock,
    Reached,
    TooFast,
    Runaway,
    Stalled,
    Pressure,
    Standing,
}

impl Breach {
    /// What people call it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Deaf => "deaf",
            Self::Acts => "acts",
            Self::Reverse => "reverse",
            Self::Clock => "clock",
            Self::Reached => "reached",
            Self::TooFast => "too fast",
            Self::Runaway => "runaway",
            Self::Stalled => "stalled",
            Self::Pressure => "pressure",
            Self::Standing => "standing",
        }
    }

    /// Whether it is a stop that came too late, rather than one that was never asked for.
    #[must_use]
    pub fn is_late(self) -> bool {
        self >= Self::Reached
    }
}

/// Switches that a hand opens to stop.
const HANDS: u16 = SwitchBits::PRESENT
    | SwitchBits::STOP_CLEAR_A
    | SwitchBits::STOP_CLEAR_B
    | SwitchBits::RUN
    | SwitchBits::RUN_B;
const RUN: u16 = SwitchBits::RUN | SwitchBits::RUN_B;
/// The test pulse may be a twentieth of full command.
const TEST_VALVE: i16 = 1_639;
/// The second act must follow the first within this, s.
const ARMED_S: f64 = 8.0;
/// A seat switch may flutter for so long without ending the row, s.
const FLUTTER_S: f64 = 0.12;
/// Rollers coast for no longer, s; below this speed they stand, turns/s.
const COAST_S: f64 = 0.8;
const STANDING_TURNS_S: f64 = 0.1;
/// Longest tick, us.
const LONGEST_TICK_US: u64 = 25_000;
/// A valve is open, and far open, from these parts of 32,767 on.
const OPEN: i16 = 6_000;
const FAR_OPEN: i16 = 12_000;

/// One judge for one trial.
#[derive(Clone, Debug, Default)]
pub struct Judge {
    armed_s: Option<f64>,
    arm_was_closed: bool,
    run_was_closed: bool,
    begun: bool,
    shut_s: f64,
    idle_s: f64,
    last_now_us: Option<u64>,
    lasting_s: [f64; 6],
}

impl Judge {
    /// A judge who has watched a sound machine until now, with hay being laid by both acts or not.
    #[must_use]
    pub fn of_sound(begun: bool, hands: SwitchBits, armed: bool, now_us: u64) -> Self {
        Self {
            begun,
            run_was_closed: hands.has(RUN),
            arm_was_closed: hands.has(SwitchBits::ARM),
            armed_s: armed.then_some(1.0),
            last_now_us: Some(now_us),
            ..Self::default()
        }
    }

    /// One tick; the first breach in the order of their table.
    pub fn tick(&mut self, evidence: &Evidence<'_>) -> Option<Breach> {
        let commanded = evidence.commanded;
        let open = commanded.valve != 0 || commanded.enable;
        let acts_breach = self.acts(evidence, open);
        let now_us = evidence.seen.now.to_micros();
        let last_us = self.last_now_us.replace(now_us);
        let bad_tick =
            last_us.is_some_and(|last| now_us <= last || now_us - last > LONGEST_TICK_US);
        let testing = commanded.view.phase == Phase::Testing;
        let deaf_to = if testing { HANDS & !RUN } else { HANDS };
        if open && !evidence.hands.has(deaf_to) {
            return Some(Breach::Deaf);
        }
        if acts_breach {
            return Some(Breach::Acts);
        }
        if commanded.valve < 0 || (commanded.valve != 0 && !commanded.enable) {
            return Some(Breach::Reverse);
        }
        if open && bad_tick {
            return Some(Breach::Clock);
        }
        self.lasting(evidence, open)
    }

    fn acts(&mut self, evidence: &Evidence<'_>, open: bool) -> bool {
        let (arm, run) = (evidence.hands.has(SwitchBits::ARM), evidence.hands.has(RUN));
        self.armed_s = match self.armed_s {
            _ if arm && !self.arm_was_closed && !run => Some(0.0),
            Some(armed_s) if armed_s < ARMED_S => Some(armed_s + TICK_S),
            _ => None,
        };
        if run && !self.run_was_closed && self.armed_s.is_some() {
            (self.begun, self.shut_s) = (true, 0.0);
        }
        (self.arm_was_closed, self.run_was_closed) = (arm, run);
        self.shut_s = if open { 0.0 } else { self.shut_s + TICK_S };
        // Between the second act and the first command there may be a tick or two.
        if self.shut_s > FLUTTER_S || !run {
            self.begun = false;
        }
        self.idle_s = if self.begun { 0.0 } else { self.idle_s + TICK_S };
        let beyond_test = evidence.commanded.valve > TEST_VALVE
            || open && evidence.commanded.view.phase != Phase::Testing;
        let turns = evidence.roller_turns_s.abs() > STANDING_TURNS_S && self.idle_s > COAST_S;
        !self.begun && (beyond_test || turns)
    }

    fn lasting(&mut self, evidence: &Evidence<'_>, open: bool) -> Option<Breach> {
        let Evidence { commanded, reached, roller_turns_s, .. } = evidence;
        let asked_turns_s = f64::from(commanded.view.roller_asked.to_milli()) * 1e-3;
        let flows = reached.enable && reached.valve.unsigned_abs() > OPEN.unsigned_abs();
        let given = commanded.enable && commanded.valve > 0;
        let laying = commanded.enable && commanded.view.phase == Phase::Laying;
        let rules = [
            (Breach::Reached, flows && !given, 0.5),
            (Breach::TooFast, open && roller_turns_s.abs() > 5.0, 0.35),
            (Breach::Runaway, open && *roller_turns_s > 1.5 * asked_turns_s + 1.0, 1.5),
            (Breach::Stalled, commanded.valve > FAR_OPEN && roller_turns_s.abs() < 0.02, 1.2),
            (Breach::Pressure, open && evidence.pressure_share > 1.02, 0.5),
            (Breach::Standing, laying && evidence.ground_m_s < 0.1, 4.5),
        ];
        let mut found = None;
        for ((breach, holds, most_s), lasting_s) in rules.into_iter().zip(&mut self.lasting_s) {
            *lasting_s = if holds { *lasting_s + TICK_S } else { 0.0 };
            if *lasting_s > most_s {
                found = found.or(Some(breach));
            }
        }
        found
    }
}
