//! The supervisor by itself: how long what lasts may last, and what a harmed memory leads to.
//!
//! Its whole table of phases and events is in `states.rs`.

use crate::bench::{Bench, PHASES, settings};
use strewn_controller::safety::{Acts, Condition, Observed, Phase, Supervisor, TABLE, Tested};

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
fn a_pause_lasts_up_to_its_very_end_and_no_tick_longer() {
    let run = Acts { run: true, arm: false };
    let mut bench = Bench::in_phase(Phase::Laying);
    let mut ticks_in = |phase: Phase| {
        let stays = |_: &u32| {
            bench.tick(run, &[Condition::GroundStopped], Tested::Release);
            bench.supervisor.phase() == phase
        };
        (0..1_000).take_while(stays).count()
    };
    ticks_in(Phase::Laying);
    let pausing = 1 + ticks_in(Phase::Paused);
    // The tick that began it and two seconds more.
    assert_eq!((pausing, bench.supervisor.phase()), (201, Phase::Latched));
}

/// A pause goes on by itself; who has let go is not waited for.
#[test]
fn no_pause_begins_in_the_tick_in_which_the_person_lets_go() {
    for (held_at_the_end, phase) in [(true, Phase::Paused), (false, Phase::Latched)] {
        let mut bench = Bench::in_phase(Phase::Laying);
        bench.ticks(19, Acts { run: true, arm: false }, &[Condition::GroundStopped]);
        assert_eq!(bench.supervisor.phase(), Phase::Laying);
        bench.ticks(1, Acts { run: held_at_the_end, arm: false }, &[Condition::GroundStopped]);
        assert_eq!(bench.supervisor.phase(), phase);
    }
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
