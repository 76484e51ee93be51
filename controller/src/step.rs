//! One tick in reading order: wires in, wires out.

use crate::estimate::{Estimates, Estimator};
use crate::metering::{Meter, Proposal};
use crate::safety::{Acts, Gate, Passed, Phase, Scene, Supervisor, is_standing, observe};
use crate::settings::Settings;
use crate::signals::Signals;
use crate::units::Span;
use crate::view::View;
use crate::wires::{Inputs, LampBits, Outputs};
use serde::{Deserialize, Serialize};

/// Control integrates over no longer a tick than this; a longer one stops the rollers anyway.
const LONGEST: Span = Span::from_millis(100);

/// Everything the controller remembers from tick to tick: plain data that can be copied, compared
/// and saved.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct State {
    signals: Signals,
    estimator: Estimator,
    meter: Meter,
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
            supervisor: Supervisor::default(),
            gate: Gate::default(),
            proposal: Proposal::default(),
            passed: Passed::default(),
        }
    }
}

/// One tick. Meant to be called 100 times a second; [`Inputs::now`] says how long it really was.
///
/// Any inputs give outputs: there is no input on which it panics, blocks or works longer than a
/// bound. With nothing known (broken, stale or missing wires) the valve is shut and the enable off.
#[must_use]
pub fn step(settings: &Settings, state: &mut State, inputs: &Inputs) -> Outputs {
    step_by(settings, state, inputs, |proposal, _| proposal)
}

/// One tick in which another law than the controller's own may choose what is proposed, given the
/// controller's proposal and whether hay may be laid. It stands under the same supervisor and gate,
/// which judge it by what it asked for itself: that makes laws comparable.
#[must_use]
pub fn step_by(
    settings: &Settings,
    state: &mut State,
    inputs: &Inputs,
    choose: impl FnOnce(Proposal, bool) -> Proposal,
) -> Outputs {
    let readings = state.signals.update(&settings.signals, inputs);
    let elapsed = readings.tick.min(LONGEST);
    let estimates = state.estimator.update(&settings.estimate, &readings, elapsed);

    let scene = Scene {
        readings: &readings,
        estimates: &estimates,
        proposal: &state.proposal,
        passed: state.passed,
        too_fast: state.gate.saw_too_fast(),
    };
    let observed = observe(&settings.safety, &scene);
    let acts = Acts { arm: readings.switches.arm_pressed, run: readings.switches.run };
    state.supervisor.update(&settings.safety, observed, acts, readings.now, elapsed);
    let permitted = state.supervisor.phase() == Phase::Laying;

    let ticket = state.estimator.ticket(&settings.estimate);
    let own = state.meter.propose(&settings.metering, ticket, &estimates, permitted, elapsed);
    state.proposal = choose(own, permitted);
    state.passed = state.gate.pass(
        &settings.safety,
        settings.estimate.turns_per_edge,
        permitted,
        state.proposal.duty,
        inputs,
        elapsed,
    );
    outputs(settings, state, &estimates)
}

fn outputs(settings: &Settings, state: &State, estimates: &Estimates) -> Outputs {
    let phase = state.supervisor.phase();
    let turning = !is_standing(&settings.safety, estimates.roller.rate);
    let lamps = LampBits::default()
        .with(LampBits::ARMED, phase == Phase::Armed)
        .with(LampBits::LAYING, phase == Phase::Laying)
        .with(LampBits::STOPPED, phase == Phase::Latched)
        .with(LampBits::STILL_TURNING, state.passed.valve == 0 && turning)
        .with(LampBits::HORN, phase == Phase::Latched);
    Outputs {
        valve: state.passed.valve,
        enable: state.passed.enable,
        lamps,
        view: view(settings, state, estimates),
    }
}

fn view(settings: &Settings, state: &State, estimates: &Estimates) -> View {
    let (left, left_deviation) = estimates.left;
    let (bite, bite_deviation) = estimates.bite;
    View {
        phase: state.supervisor.phase(),
        cause: state.supervisor.cause(),
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
