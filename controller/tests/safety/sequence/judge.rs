//! What no sequence of ticks may bring about, read off the wires alone.
//!
//! The judge knows nothing of the controller's memory. It keeps its own account of the two acts, of the
//! clock and of what has been isolated.

use strewn_controller::safety::Phase;
use strewn_controller::settings::SafetySettings;
use strewn_controller::units::Duty;
use strewn_controller::wires::{Inputs, Outputs, SwitchBits};

/// What the second act may take beyond the time for it: debounce and the test of the valve's path, us.
const SLACK_US: u64 = 500_000;
/// The seat's switch may flutter for 100 ms without ending the row, us.
const FLUTTER_US: u64 = 120_000;

/// One judge for one sequence.
#[derive(Clone, Debug)]
pub(crate) struct Judge {
    settings: SafetySettings,
    /// Time since the arming button was newly closed with run open, us.
    armed_us: Option<u64>,
    arm_was_closed: bool,
    run_was_closed: bool,
    /// Both acts were done, and nothing has ended the row since.
    begun: bool,
    shut_us: u64,
    now_us: u64,
    isolated: bool,
}

impl Judge {
    pub(crate) fn new(settings: &SafetySettings) -> Self {
        Self {
            settings: *settings,
            armed_us: None,
            arm_was_closed: false,
            run_was_closed: false,
            begun: false,
            shut_us: 0,
            now_us: 0,
            isolated: false,
        }
    }

    /// A judge who has watched a sound row until this tick.
    pub(crate) fn of_a_row(settings: &SafetySettings, now_us: u64) -> Self {
        Self { begun: true, run_was_closed: true, now_us, ..Self::new(settings) }
    }

    /// Fails on an output that the wires do not allow.
    pub(crate) fn tick(&mut self, inputs: &Inputs, outputs: &Outputs) -> Result<(), String> {
        let switches = inputs.switches;
        let phase = outputs.view.phase;
        let in_time = self.time(inputs);
        self.acts(switches, in_time);
        let run = switches.has(self.settings.run);
        let open = outputs.valve != 0 || outputs.enable;
        let test_valve = (i64::from(self.settings.test_duty.to_bits()) * 32_767) >> Duty::FRACTION;
        let moving = i64::from(outputs.valve) > test_valve || (open && phase != Phase::Testing);
        if open && !switches.has(self.settings.vital) {
            return Err(format!("open with a vital wire open: {switches:?}"));
        }
        if outputs.valve < 0 || (outputs.valve != 0 && !outputs.enable) {
            return Err(format!("valve {} enable {}", outputs.valve, outputs.enable));
        }
        if in_time.is_none() && (open || outputs.feed_watchdog) {
            return Err("open or fed in a tick that is late or took no time".into());
        }
        if self.isolated && (open || outputs.feed_watchdog || phase != Phase::Isolated) {
            return Err(format!("isolated, and then {phase:?}"));
        }
        if moving && (!run || !self.begun || phase != Phase::Laying) {
            return Err(format!("motion without the two acts in {phase:?}"));
        }
        if open && !moving && self.armed_us.is_none() {
            return Err("a test pulse without the first act".into());
        }
        self.ends(open, phase, in_time.unwrap_or(0));
        Ok(())
    }

    /// Time since the last tick, us; none if that was too long, or no time.
    fn time(&mut self, inputs: &Inputs) -> Option<u64> {
        let now_us = inputs.now.to_micros();
        let tick_us = now_us.checked_sub(self.now_us);
        self.now_us = now_us;
        let longest_us = u64::from(self.settings.tick_limit.to_micros());
        tick_us.filter(|tick_us| (1..=longest_us).contains(tick_us))
    }

    /// Takes note of both acts; `tick_us` is the time since the last tick, none if that was not good.
    fn acts(&mut self, switches: SwitchBits, tick_us: Option<u64>) {
        let (arm, run) = (switches.has(SwitchBits::ARM), switches.has(self.settings.run));
        let most_us = u64::from(self.settings.arming.to_micros()) + SLACK_US;
        let aged = self.armed_us.and_then(|armed_us| Some(armed_us + tick_us?));
        self.armed_us = aged.filter(|armed_us| *armed_us <= most_us);
        if run && !self.run_was_closed && self.armed_us.is_some() {
            (self.begun, self.shut_us) = (true, 0);
        }
        if arm && !self.arm_was_closed && !run {
            self.armed_us = Some(0);
        }
        (self.arm_was_closed, self.run_was_closed) = (arm, run);
    }

    /// What ends the row.
    fn ends(&mut self, open: bool, phase: Phase, tick_us: u64) {
        self.shut_us = if open { 0 } else { self.shut_us + tick_us };
        let pause_us = u64::from(self.settings.pause.to_micros());
        let stopped = matches!(phase, Phase::Resting | Phase::Latched | Phase::Isolated);
        if stopped || self.shut_us > FLUTTER_US + pause_us {
            self.begun = false;
        }
        self.isolated |= phase == Phase::Isolated;
    }
}
