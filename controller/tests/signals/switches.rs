//! Switches and buttons.

use crate::Bench;
use proptest::prelude::*;
use strewn_controller::signals::StopSwitch;
use strewn_controller::wires::SwitchBits;

const CLEAR: u16 = SwitchBits::STOP_CLEAR_A | SwitchBits::STOP_CLEAR_B;

impl Bench {
    fn close(&mut self, mask: u16) {
        self.inputs.switches.0 |= mask;
    }

    fn open(&mut self, mask: u16) {
        self.inputs.switches.0 &= !mask;
    }
}

#[test]
fn either_channel_stops_in_its_tick() {
    for channel in [SwitchBits::STOP_CLEAR_A, SwitchBits::STOP_CLEAR_B, CLEAR] {
        let mut bench = Bench::new();
        bench.close(CLEAR);
        assert_eq!(bench.tick().switches.stop, StopSwitch::Clear);
        bench.open(channel);
        assert_eq!(bench.tick().switches.stop, StopSwitch::Stop);
    }
}

#[test]
fn channels_that_differ_for_more_than_50_ms_contradict_each_other() {
    let mut bench = Bench::new();
    bench.close(CLEAR);
    bench.tick();
    bench.open(SwitchBits::STOP_CLEAR_A);
    bench.tick();
    assert_eq!(bench.pass(50).switches.stop, StopSwitch::Stop);
    assert_eq!(bench.tick().switches.stop, StopSwitch::Contradiction);
    // A channel that comes back by itself proves nothing.
    bench.close(CLEAR);
    assert_eq!(bench.pass(1_000).switches.stop, StopSwitch::Contradiction);
    // Both seen open together do.
    bench.open(CLEAR);
    assert_eq!(bench.tick().switches.stop, StopSwitch::Stop);
    bench.close(CLEAR);
    assert_eq!(bench.tick().switches.stop, StopSwitch::Clear);
}

#[test]
fn channels_that_differ_for_short_whiles_do_not_add_up() {
    let mut bench = Bench::new();
    for _ in 0..10 {
        bench.close(CLEAR);
        bench.tick();
        bench.open(SwitchBits::STOP_CLEAR_B);
        assert_eq!(bench.pass(40).switches.stop, StopSwitch::Stop);
    }
}

#[test]
fn a_person_is_there_at_once_and_gone_after_100_ms() {
    let mut bench = Bench::new();
    bench.close(SwitchBits::PRESENT);
    assert!(bench.tick().switches.present);
    bench.open(SwitchBits::PRESENT);
    assert!(bench.pass(90).switches.present, "a jolt is forgiven");
    assert!(!bench.tick().switches.present);
    bench.close(SwitchBits::PRESENT);
    assert!(bench.tick().switches.present);
    bench.open(SwitchBits::PRESENT);
    assert!(bench.pass(90).switches.present, "forgiven anew");
}

#[test]
fn the_run_switch_is_let_go_after_50_ms() {
    let mut bench = Bench::new();
    bench.close(SwitchBits::RUN);
    bench.tick();
    bench.open(SwitchBits::RUN);
    assert!(bench.pass(40).switches.run);
    assert!(!bench.tick().switches.run);
}

#[test]
fn fluttering_cannot_put_off_the_loss_of_a_person() {
    // Open for 60 ms, closed for 40 ms, again and again: no stretch reaches 100 ms.
    let mut bench = Bench::new();
    bench.close(SwitchBits::PRESENT);
    bench.tick();
    let mut lost = false;
    for _ in 0..10 {
        bench.open(SwitchBits::PRESENT);
        lost |= !bench.pass(60).switches.present;
        bench.close(SwitchBits::PRESENT);
        bench.pass(40);
    }
    assert!(lost);
}

/// Which buttons are told to be pressed in the next tick.
fn told(bench: &mut Bench) -> (bool, bool) {
    let switches = bench.tick().switches;
    (switches.arm_pressed, switches.new_bale_pressed)
}

#[test]
fn a_press_is_told_once_and_again_only_after_a_release() {
    let mut bench = Bench::new();
    for button in [SwitchBits::ARM, SwitchBits::NEW_BALE] {
        let once = (button == SwitchBits::ARM, button == SwitchBits::NEW_BALE);
        bench.pass(200);
        for _ in 0..2 {
            bench.close(button);
            for _ in 0..10 {
                assert_eq!(told(&mut bench), (false, false), "too soon");
            }
            assert_eq!(told(&mut bench), once);
            for _ in 0..100 {
                assert_eq!(told(&mut bench), (false, false));
            }
            bench.open(button);
            // A bounce while letting go is not another press.
            bench.pass(20);
            bench.close(button);
            for _ in 0..20 {
                assert_eq!(told(&mut bench), (false, false));
            }
            bench.open(button);
            bench.pass(200);
        }
    }
}

#[test]
fn a_button_held_down_at_the_start_says_nothing_until_seen_released() {
    let mut bench = Bench::new();
    bench.signals = Default::default();
    bench.close(SwitchBits::ARM);
    for _ in 0..500 {
        assert!(!bench.tick().switches.arm_pressed);
    }
    bench.open(SwitchBits::ARM);
    bench.pass(200);
    bench.close(SwitchBits::ARM);
    bench.pass(100);
    assert!(bench.tick().switches.arm_pressed);
}

#[test]
fn beside_a_closed_run_switch_arming_is_told_at_once() {
    let mut bench = Bench::new();
    bench.pass(200);
    bench.close(SwitchBits::RUN | SwitchBits::ARM);
    assert!(bench.tick().switches.arm_pressed);
    bench.open(SwitchBits::RUN | SwitchBits::ARM);
    bench.pass(200);
    bench.close(SwitchBits::ARM);
    assert!(!bench.pass(50).switches.arm_pressed);
    bench.close(SwitchBits::RUN);
    assert!(bench.tick().switches.arm_pressed, "it was not over");
    assert!(!bench.pass(300).switches.arm_pressed, "and is told once");
}

proptest! {
    #[test]
    fn contacts_that_flicker_press_nothing(
        lasts in prop::collection::vec(prop_oneof![1usize..4, 1usize..30], 1..60)
    ) {
        let mut bench = Bench::new();
        let mut seen = vec![false];
        for (place, ticks) in lasts.into_iter().enumerate() {
            for _ in 0..ticks {
                let closed = place % 2 == 1;
                bench.inputs.switches = SwitchBits(if closed { SwitchBits::ARM } else { 0 });
                seen.push(closed);
                if bench.tick().switches.arm_pressed {
                    let (before, press) = seen.split_at(seen.len() - 11);
                    prop_assert!(before[before.len() - 20..].iter().all(|closed| !closed));
                    prop_assert!(press.iter().filter(|closed| **closed).count() >= 7);
                }
            }
        }
    }
}

proptest! {
    #[test]
    fn whatever_came_before_an_open_contact_is_lost_in_time(story in prop::collection::vec(any::<u16>(), 1..60)) {
        let mut bench = Bench::new();
        for bits in story {
            bench.inputs.switches = SwitchBits(bits);
            let stop = bench.tick().switches.stop;
            prop_assert!(bits & CLEAR == CLEAR || stop != StopSwitch::Clear);
        }
        bench.open(SwitchBits::PRESENT | SwitchBits::RUN);
        prop_assert!(!bench.pass(50).switches.run);
        prop_assert!(!bench.pass(50).switches.present);
    }
}
