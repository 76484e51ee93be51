//! The supervisor's whole state space: every phase by every event, as a table that a person reads.
//!
//! The table stands in `states.txt`. A change of it is a change of what the machine does, and
//! is made by hand: this test never writes it.

use strewn_controller::safety::{
    Acts, Condition, Observed, Phase, Response, Supervisor, TABLE, Tested, When,
};
use strewn_controller::settings::{SafetyConfig, SafetySettings};
use strewn_controller::units::{Instant, Span};

const TICK_US: u32 = 10_000;
const PHASES: [Phase; 7] = [
    Phase::Resting,
    Phase::Testing,
    Phase::Armed,
    Phase::Laying,
    Phase::Paused,
    Phase::Latched,
    Phase::Isolated,
];

fn settings(pause_ms: i32) -> SafetySettings {
    SafetyConfig { supply_fitted: 1, pause_ms, ..SafetyConfig::TYPICAL }.build().expect("allowed")
}

/// A supervisor and its clock.
#[derive(Clone, Copy)]
struct Bench {
    settings: SafetySettings,
    supervisor: Supervisor,
    now: u64,
}

impl Bench {
    fn tick(&mut self, acts: Acts, conditions: &[Condition], tested: Tested) {
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
    fn ticks(&mut self, count: u32, acts: Acts, conditions: &[Condition]) {
        for _ in 0..count {
            self.tick(acts, conditions, Tested::Release);
        }
    }

    /// A supervisor in a phase, reached by the shortest way.
    fn in_phase(phase: Phase) -> Self {
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

fn letter(phase: Phase) -> &'static str {
    match phase {
        Phase::Resting => "resting",
        Phase::Testing => "testing",
        Phase::Armed => "armed",
        Phase::Laying => "laying",
        Phase::Paused => "paused",
        Phase::Latched => "latched",
        Phase::Isolated => "isolated",
    }
}

/// What happens to a supervisor in the phase: its next phase.
type Event = Box<dyn Fn(&mut Bench)>;

fn events() -> Vec<(String, Event)> {
    let held = |bench: &Bench| Acts {
        run: matches!(bench.supervisor.phase(), Phase::Laying | Phase::Paused),
        arm: false,
    };
    let mut events: Vec<(String, Event)> = vec![
        ("nothing, one tick".into(), Box::new(move |b| b.ticks(1, held(b), &[]))),
        ("nothing, ten seconds".into(), Box::new(move |b| b.ticks(1_000, held(b), &[]))),
        (
            "arm".into(),
            Box::new(move |b| {
                let run = held(b).run;
                b.tick(Acts { arm: true, run }, &[], Tested::Release);
            }),
        ),
        (
            "arm and run together".into(),
            Box::new(|b| b.tick(Acts { arm: true, run: true }, &[], Tested::Release)),
        ),
        (
            "run newly closed".into(),
            Box::new(|b| {
                if !matches!(b.supervisor.phase(), Phase::Laying | Phase::Paused) {
                    b.tick(Acts { run: true, arm: false }, &[], Tested::Release);
                }
            }),
        ),
        ("run let go".into(), Box::new(|b| b.tick(Acts::default(), &[], Tested::Release))),
        (
            "run let go, then grabbed".into(),
            Box::new(|b| {
                b.tick(Acts::default(), &[], Tested::Release);
                b.tick(Acts { run: true, arm: false }, &[], Tested::Release);
            }),
        ),
        ("valve path proved".into(), Box::new(move |b| b.tick(held(b), &[], Tested::Passed))),
    ];
    for row in &TABLE {
        let condition = row.condition;
        if condition == Condition::RunReleased {
            continue;
        }
        events.push((
            format!("{condition:?}, lasting"),
            Box::new(move |b| b.ticks(600, held(b), &[condition])),
        ));
    }
    events
}

fn table() -> String {
    let mut text = format!("{:32}", "event");
    for phase in PHASES {
        text += &format!("{:9}", letter(phase));
    }
    text = text.trim_end().to_owned() + "\n";
    for (name, event) in events() {
        let mut line = format!("{name:32}");
        for phase in PHASES {
            let mut bench = Bench::in_phase(phase);
            event(&mut bench);
            line += &format!("{:9}", letter(bench.supervisor.phase()));
        }
        text += line.trim_end();
        text.push('\n');
    }
    text
}

#[test]
fn every_phase_by_every_event_is_as_the_table_says() {
    let told = include_str!("states.txt");
    let now = table();
    for (told, now) in told.lines().zip(now.lines()) {
        assert_eq!(told, now);
    }
    assert_eq!(told, now, "\n{now}");
}

/// Every single step - any acts, any set of up to two conditions, any outcome of the test - from every
/// phase: to lay needs to be armed or paused, to be armed needs the test, to be tested needs the first
/// act, and isolated stays.
#[test]
fn no_single_step_leads_to_motion_but_the_second_act() {
    let outcomes = [Tested::Pulse, Tested::Release, Tested::Passed, Tested::Failed];
    let mut steps = 0;
    for phase in PHASES {
        for acts in [(false, false), (false, true), (true, false), (true, true)] {
            let acts = Acts { arm: acts.0, run: acts.1 };
            for tested in outcomes {
                for first in &TABLE {
                    for second in &TABLE {
                        let mut bench = Bench::in_phase(phase);
                        let conditions = [first.condition, second.condition];
                        bench.tick(acts, &conditions, tested);
                        judge(phase, acts, tested, bench.supervisor.phase());
                        steps += 1;
                    }
                }
                let mut bench = Bench::in_phase(phase);
                bench.tick(acts, &[], tested);
                judge(phase, acts, tested, bench.supervisor.phase());
            }
        }
    }
    assert_eq!(steps, 7 * 4 * 4 * TABLE.len() * TABLE.len());
}

fn judge(from: Phase, acts: Acts, tested: Tested, to: Phase) {
    let told = format!("{from:?} {acts:?} {tested:?} {to:?}");
    if to == Phase::Laying && from != Phase::Laying {
        assert!(matches!(from, Phase::Armed | Phase::Paused) && acts.run, "{told}");
    }
    if to == Phase::Armed && from != Phase::Armed {
        assert!(from == Phase::Testing && tested == Tested::Passed && !acts.run, "{told}");
    }
    if to == Phase::Testing && from != Phase::Testing {
        assert!(matches!(from, Phase::Resting | Phase::Latched) && acts.arm && !acts.run, "{told}");
    }
    if from == Phase::Isolated {
        assert_eq!(to, Phase::Isolated, "{told}");
    }
}

#[test]
fn what_stops_at_once_stops_within_one_tick_from_everywhere() {
    let settings = settings(2_000);
    let at_once = |row: &&strewn_controller::safety::Row| {
        row.response > Response::CarryOn
            && row.when == When::Always
            && (row.patience)(&settings) == Span::ZERO
    };
    for row in TABLE.iter().filter(at_once) {
        for phase in PHASES {
            let mut bench = Bench::in_phase(phase);
            let run = matches!(phase, Phase::Laying | Phase::Paused);
            bench.tick(Acts { run, arm: false }, &[row.condition], Tested::Pulse);
            let after = bench.supervisor.phase();
            let stopped = matches!(after, Phase::Resting | Phase::Latched | Phase::Isolated);
            assert!(stopped, "{:?} in {phase:?}: {after:?}", row.condition);
        }
    }
}

#[test]
fn a_condition_seen_twice_in_a_tick_is_there() {
    for row in &TABLE {
        let seen = Observed::default().with(row.condition, true);
        let again = seen.with(row.condition, true).with(row.condition, false);
        assert_eq!(again, seen);
        assert!(
            TABLE
                .iter()
                .all(|other| seen.has(other.condition) == (other.condition == row.condition))
        );
        assert_eq!(seen.rows().map(|found| found.condition).collect::<Vec<_>>(), [row.condition]);
    }
}

#[test]
fn without_leave_a_standing_tractor_latches_instead_of_pausing() {
    let mut bench = Bench::in_phase(Phase::Laying);
    bench.settings = settings(0);
    for _ in 0..25 {
        bench.ticks(1, Acts { run: true, arm: false }, &[Condition::GroundStopped]);
        assert_ne!(bench.supervisor.phase(), Phase::Paused);
    }
    assert_eq!(bench.supervisor.phase(), Phase::Latched);
}

#[test]
fn a_condition_that_comes_and_goes_is_only_half_forgiven() {
    let mut bench = Bench::in_phase(Phase::Laying);
    let run = Acts { run: true, arm: false };
    let mut flaps = 0;
    while bench.supervisor.phase() == Phase::Laying {
        bench.ticks(2, run, &[Condition::PressureHigh]);
        bench.ticks(3, run, &[]);
        flaps += 1;
        assert!(flaps < 100, "present two ticks of five for {flaps} times");
    }
    assert_eq!(bench.supervisor.cause(), Some(Condition::PressureHigh));
}

#[test]
fn speed_sources_that_lag_when_the_tractor_moves_off_do_not_forbid_the_start() {
    let mut bench = Bench::in_phase(Phase::Armed);
    bench.ticks(1, Acts { run: true, arm: false }, &[Condition::SpeedsDisagree]);
    assert_eq!(bench.supervisor.phase(), Phase::Laying);
    let mut bench = Bench::in_phase(Phase::Armed);
    bench.ticks(1, Acts { run: true, arm: false }, &[Condition::GroundSpeedLost]);
    assert_eq!(bench.supervisor.phase(), Phase::Latched);
}

/// Every value that the saved phase can take but its own is noticed, whatever the copy says.
#[test]
fn a_phase_that_its_copy_contradicts_is_isolated() {
    for phase in PHASES {
        let bench = Bench::in_phase(phase);
        let mut buffer = [0; 600];
        let saved = postcard::to_slice(&bench.supervisor, &mut buffer).expect("room").to_vec();
        for other in 0..7 {
            let mut harmed = saved.clone();
            // The phase stands first.
            harmed[0] = other;
            let harmed: Supervisor = postcard::from_bytes(&harmed).expect("a phase");
            let expected = if harmed == bench.supervisor { phase } else { Phase::Isolated };
            assert_eq!(harmed.phase(), expected);
        }
    }
}
