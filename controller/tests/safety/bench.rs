//! A supervisor by itself, with its clock and settings, and the shortest way into each phase.

use strewn_controller::safety::{Acts, Condition, Observed, Phase, Supervisor, Tested};
use strewn_controller::settings::{SafetyConfig, SafetySettings};
use strewn_controller::units::{Instant, Span};

const TICK_US: u32 = 10_000;
pub(crate) const PHASES: [Phase; 7] = [
    Phase::Resting,
    Phase::Testing,
    Phase::Armed,
    Phase::Laying,
    Phase::Paused,
    Phase::Latched,
    Phase::Isolated,
];

pub(crate) fn settings(pause_ms: i32) -> SafetySettings {
    SafetyConfig { supply_fitted: 1, pause_ms, ..SafetyConfig::TYPICAL }.build().expect("allowed")
}

/// A supervisor and its clock.
#[derive(Clone, Copy)]
pub(crate) struct Bench {
    pub(crate) settings: SafetySettings,
    pub(crate) supervisor: Supervisor,
    now: u64,
}

impl Bench {
    pub(crate) fn tick(&mut self, acts: Acts, conditions: &[Condition], tested: Tested) {
        let released = !acts.run;
        let observed = conditions
            .iter()
            .fold(Observed::default(), |all, one| all.with(*one, true))
            .with(Condition::RunReleased, released);
        self.now += u64::from(TICK_US);
        let (now, tick) = (Instant::from_micros(self.now), Span::from_micros(TICK_US));
        self.supervisor.update(&self.settings, (observed, tested), acts, now, tick);
    }

    /// Until what lasts counts.
    pub(crate) fn ticks(&mut self, count: u32, acts: Acts, conditions: &[Condition]) {
        for _ in 0..count {
            self.tick(acts, conditions, Tested::Release);
        }
    }

    /// A supervisor in a phase, reached by the shortest way.
    pub(crate) fn in_phase(phase: Phase) -> Self {
        let supervisor = Supervisor::default();
        let mut bench = Self { settings: settings(2_000), supervisor, now: 1_000_000 };
        let (none, run) = (Acts::default(), Acts { run: true, arm: false });
        if matches!(phase, Phase::Testing | Phase::Armed | Phase::Laying | Phase::Paused) {
            bench.tick(Acts { arm: true, run: false }, &[], Tested::Release);
        }
        if matches!(phase, Phase::Armed | Phase::Laying | Phase::Paused) {
            bench.tick(none, &[], Tested::Passed);
        }
        match phase {
            Phase::Laying => bench.tick(run, &[], Tested::Release),
            Phase::Paused => {
                bench.tick(run, &[], Tested::Release);
                bench.ticks(25, run, &[Condition::GroundStopped]);
            }
            Phase::Latched => {
                bench = Self::in_phase(Phase::Armed);
                bench.tick(none, &[Condition::StopSwitch], Tested::Release);
            }
            Phase::Isolated => bench.tick(none, &[Condition::MemoryBroken], Tested::Release),
            _ => {}
        }
        assert_eq!(bench.supervisor.phase(), phase);
        bench
    }
}
