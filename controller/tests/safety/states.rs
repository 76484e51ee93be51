//! The supervisor's whole state space: every phase by every event, as a table that a person reads.
//!
//! The table stands in `states.txt`. A change of it is a change of what the machine does, and
//! is made by hand: this test never writes it.

use crate::bench::{Bench, PHASES, settings};
use strewn_controller::safety::{Acts, Condition, Phase, Response, Row, TABLE, Tested, When};
use strewn_controller::units::Span;

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
    let at_once = |row: &&Row| {
        row.response > Response::CarryOn
            && row.when == When::Always
            && row.patience(&settings) == Span::ZERO
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
