//! One tick in reading order: wires in, wires out.

use crate::estimate::Estimator;
use crate::learned::Learned;
use crate::metering::{Meter, Proposal};
use crate::safety::{Acts, Gate, Passed, Permit, Phase, Scene, Supervisor, Watch, is_standing};
use crate::settings::Settings;
use crate::signals::Signals;
use crate::units::TurnRate;
use crate::view::View;
use crate::wires::{Inputs, LampBits, Outputs};
use serde::{Deserialize, Serialize};

/// Everything the controller remembers from tick to tick: plain data that can be copied, compared
/// and saved.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct State {
    signals: Signals,
    estimator: Estimator,
    meter: Meter,
    watch: Watch,
    supervisor: Supervisor,
    gate: Gate,
    proposal: Proposal,
    passed: Passed,
}

impl State {
    /// As after power-on: at rest, nothing known, nothing learned.
    #[must_use]
    pub fn new(settings: &Settings) -> Self {
        Self {
            signals: Signals::default(),
            estimator: Estimator::new(&settings.estimate),
            meter: Meter::default(),
            watch: Watch::default(),
            supervisor: Supervisor::default(),
            gate: Gate::default(),
            proposal: Proposal::default(),
            passed: Passed::default(),
        }
    }

    /// As after power-on, with what was learned before power was off. The bale in hand is gone on with;
    /// one that may be over is taken for a new one as soon as somebody arms.
    #[must_use]
    pub fn with_learned(settings: &Settings, learned: &Learned) -> Self {
        Self {
            estimator: Estimator::with_account(&settings.estimate, learned.hay),
            meter: Meter::taught(learned.valve),
            ..Self::new(settings)
        }
    }

    /// What to keep over power-off. It is whole at any moment; after a bale, and whenever a row has
    /// ended, is often enough.
    #[must_use]
    pub fn learned(&self) -> Learned {
        Learned { hay: *self.estimator.account(), valve: self.meter.learned() }
    }

    /// Whoever chooses the valve command in the controller's place, within what its gate allows, says
    /// which one and for which roller speed, so that the next tick judges the rollers by that.
    pub fn commanded(&mut self, valve: i16, asked: TurnRate) {
        self.passed.valve = valve;
        self.proposal.rate = asked;
    }
}

/// One tick. Meant to be called 100 times a second; [`Inputs::now`] says how long it really was.
///
/// Any inputs give outputs: there is no input on which it panics, blocks or works longer than a
/// bound. With nothing known (broken, stale or missing wires) the valve is shut and the enable off.
#[must_use]
pub fn step(settings: &Settings, state: &mut State, inputs: &Inputs) -> Outputs {
    let readings = state.signals.update(&settings.signals, inputs);
    state.estimator.update(&settings.estimate, readings);
    let estimates = state.estimator.estimates();

    let scene = Scene {
        inputs,
        readings,
        estimates,
        proposal: &state.proposal,
        passed: state.passed,
        too_fast: state.gate.saw_too_fast(),
        intact: state.gate.is_intact(),
        phase: state.supervisor.phase(),
    };
    let (observed, tested) = state.watch.observe(&settings.safety, &scene);
    let arm = readings.switches.arm_pressed && state.watch.press_counts();
    let acts = Acts { arm, run: state.watch.run_is_held() };
    let seen = (observed, tested);
    let (phase, permit) =
        state.supervisor.update(&settings.safety, seen, acts, readings.now, readings.elapsed());

    let ticket = state.estimator.ticket(&settings.estimate);
    let laying = (permit == Permit::Lay, state.passed.enable);
    state.proposal = state.meter.propose(
        &settings.metering,
        ticket,
        readings,
        estimates,
        laying,
        state.proposal,
    );
    state.passed = state.gate.pass(
        &settings.safety,
        settings.estimate.turns_per_edge,
        permit,
        state.proposal.duty,
        inputs,
        readings.tick,
    );
    outputs(settings, state, phase)
}

fn outputs(settings: &Settings, state: &State, phase: Phase) -> Outputs {
    let estimates = state.estimator.estimates();
    let stopped = matches!(phase, Phase::Latched | Phase::Isolated);
    let turning = !is_standing(&settings.safety, estimates.roller.rate);
    let lamps = LampBits::default()
        .with(LampBits::ARMED, matches!(phase, Phase::Armed | Phase::Paused))
        .with(LampBits::LAYING, phase == Phase::Laying)
        .with(LampBits::STOPPED, stopped)
        .with(LampBits::STILL_TURNING, state.passed.valve == 0 && turning)
        .with(LampBits::HORN, stopped);
    Outputs {
        valve: state.passed.valve,
        enable: state.passed.enable,
        feed_watchdog: state.passed.feed_watchdog,
        lamps,
        view: view(settings, state, phase),
    }
}

fn view(settings: &Settings, state: &State, phase: Phase) -> View {
    let estimates = state.estimator.estimates();
    let (left, left_deviation) = estimates.hay.left;
    let (bite, bite_deviation) = estimates.hay.bite;
    View {
        phase,
        cause: state.supervisor.cause(),
        carrying_on: state.supervisor.carrying_on(),
        target: settings.metering.target,
        laid: state.proposal.laid,
        ground_speed: estimates.ground.speed,
        advised_speed: state.proposal.advised,
        roller_asked: state.proposal.rate,
        roller_speed: estimates.roller.rate,
        left,
        left_deviation,
        bite,
        bite_deviation,
        core_near: state.proposal.core_near,
        holding: state.proposal.holding,
    }
}
