//! Ground speed from every source, and the stop button of the bus.

use crate::Bench;
use strewn_controller::signals::isobus::{Direction, Flag, Message, Motion};
use strewn_controller::signals::{Quality, Reading};
use strewn_controller::units::{Span, Speed};

fn motion(speed_mm_s: u16, direction: Direction) -> Motion {
    Motion { speed_mm_s, distance_mm: 0, direction }
}

fn wheel(motion: Motion) -> Message {
    let (key, operations, reversed) = (Flag::On, Flag::On, Flag::Off);
    Message::Wheel { motion, power_time_min: 0, key, operations, reversed }
}

fn selected(motion: Motion) -> Message {
    Message::Selected { motion, exit_code: 0, source: 0, limit: 0 }
}

impl Bench {
    /// A frame comes with the next tick.
    fn hear(&mut self, message: Message) {
        self.inputs.frames.push(message.encode(0x26)).expect("few frames");
    }

    /// A sentence comes with the next tick.
    fn read(&mut self, text: &str) {
        self.inputs.sentences.push(text.bytes().collect()).expect("few sentences");
    }

    /// Edges of the ground wheel come, the last 1 ms before the next tick.
    fn roll(&mut self, edges: u32) {
        let next = self.inputs.now.later_by(Span::from_millis(9));
        self.inputs.ground.count += edges;
        self.inputs.ground.last_edge_us = u32::try_from(next.to_micros()).expect("a short story");
    }
}

#[track_caller]
fn assert_good(reading: Reading<Speed>, mm_s: i32) {
    assert_eq!(reading.good().map(Speed::to_milli), Some(mm_s));
}

#[test]
fn every_source_has_its_own_reading() {
    let mut bench = Bench::new();
    bench.hear(selected(motion(1_341, Direction::Forward)));
    bench.hear(Message::Ground { motion: motion(1_350, Direction::NotAvailable) });
    bench.hear(wheel(motion(1_500, Direction::Forward)));
    let speeds = bench.tick().speeds;
    assert_good(speeds.selected, 1_341);
    assert_good(speeds.ground, 1_350);
    assert_good(speeds.wheel, 1_500);
    assert_eq!(speeds.satellite.quality, Quality::Absent);
}

#[test]
fn a_silent_bus_is_stale_after_300_ms_and_keeps_the_last_value() {
    let mut bench = Bench::new();
    bench.hear(wheel(motion(1_341, Direction::Forward)));
    bench.tick();
    assert_good(bench.pass(300).speeds.wheel, 1_341);
    let late = bench.tick().speeds.wheel;
    assert_eq!((late.quality, late.value.to_milli()), (Quality::Stale, 1_341));
    bench.hear(wheel(motion(1_300, Direction::Forward)));
    assert_good(bench.tick().speeds.wheel, 1_300);
}

#[test]
fn no_speed_on_the_bus_is_invalid_at_once_and_never_zero() {
    for none in [0xFB00, 0xFE00, 65_534, 0xFFFF] {
        let mut bench = Bench::new();
        bench.hear(wheel(motion(1_341, Direction::Forward)));
        bench.tick();
        bench.hear(wheel(motion(none, Direction::Forward)));
        let speed = bench.tick().speeds.wheel;
        assert_eq!((speed.quality, speed.value.to_milli()), (Quality::Invalid, 1_341));
    }
    let mut bench = Bench::new();
    bench.hear(wheel(motion(0, Direction::Forward)));
    assert_good(bench.tick().speeds.wheel, 0);
}

#[test]
fn reverse_shows_and_an_unknown_way_is_no_speed() {
    let mut bench = Bench::new();
    bench.hear(selected(motion(800, Direction::Reverse)));
    assert_good(bench.tick().speeds.selected, -800);
    bench.hear(selected(motion(800, Direction::Error)));
    assert_eq!(bench.tick().speeds.selected.quality, Quality::Invalid);
}

#[test]
fn a_speed_beyond_belief_is_invalid() {
    let mut bench = Bench::new();
    bench.hear(wheel(motion(15_001, Direction::Reverse)));
    assert_eq!(bench.tick().speeds.wheel.quality, Quality::Invalid);
    bench.hear(wheel(motion(15_000, Direction::Reverse)));
    assert_good(bench.tick().speeds.wheel, -15_000);
}

#[test]
fn a_corrupt_sentence_is_nothing_and_the_last_speed_runs_out() {
    // Made here: 3 mph is 2.61 knots; one digit changed afterwards.
    let mut bench = Bench::new();
    bench.read("$GPVTG,090.0,T,,M,002.61,N,004.83,K,A*0E");
    assert_good(bench.tick().speeds.satellite, 1_343);
    bench.pass(740);
    bench.read("$GPVTG,090.0,T,,M,102.61,N,004.83,K,A*0E");
    assert_good(bench.tick().speeds.satellite, 1_343);
    assert_good(bench.pass(750).speeds.satellite, 1_343);
    assert_eq!(bench.tick().speeds.satellite.quality, Quality::Stale);
}

#[test]
fn a_receiver_that_loses_its_fix_is_invalid_at_once() {
    let mut bench = Bench::new();
    bench.read("$GPVTG,090.0,T,,M,002.61,N,004.83,K,A*0E");
    bench.tick();
    bench.read("$GPVTG,090.0,T,,M,002.61,N,004.83,K,N*01");
    assert_eq!(bench.tick().speeds.satellite.quality, Quality::Invalid);
    bench.read("$GPVTG,090.0,T,,M,002.61,N,004.83,K,A*0E");
    assert_good(bench.tick().speeds.satellite, 1_343);
}

#[test]
fn an_own_ground_wheel_measures_and_fades_to_standing() {
    // 10 mm a pulse, 100 pulses a second: 1 m/s.
    let mut bench = Bench::new();
    for _ in 0..10 {
        bench.roll(1);
        bench.tick();
    }
    bench.roll(1);
    assert_good(bench.tick().speeds.pulses, 1_000);
    // 49 ms after the last edge it cannot be faster than 10 mm in 51 ms.
    assert_good(bench.pass(50).speeds.pulses, 196);
    let almost = bench.pass(440).speeds.pulses;
    assert!(almost.good().is_some_and(|speed| speed > Speed::ZERO));
    assert_good(bench.pass(20).speeds.pulses, 0);
}

#[test]
fn a_stop_on_the_bus_is_heard_and_not_overwritten_in_its_tick() {
    let stop = Message::Stop { permitted: Flag::Off, transitions: 1 };
    let permit = Message::Stop { permitted: Flag::On, transitions: 1 };
    let mut bench = Bench::new();
    assert_eq!(bench.tick().bus_stop.quality, Quality::Absent);
    bench.hear(permit);
    assert_eq!(bench.tick().bus_stop.good(), Some(false));
    bench.hear(stop);
    bench.hear(permit);
    assert_eq!(bench.tick().bus_stop.good(), Some(true));
    // A button that breaks or falls silent takes nothing back.
    bench.hear(Message::Stop { permitted: Flag::NotAvailable, transitions: 1 });
    assert_eq!(bench.tick().bus_stop.good(), Some(true));
    bench.hear(Message::Stop { permitted: Flag::Error, transitions: 1 });
    let broken = bench.tick().bus_stop;
    assert_eq!((broken.quality, broken.value), (Quality::Invalid, true));
    bench.hear(permit);
    assert_eq!(bench.tick().bus_stop.good(), Some(false));
    bench.pass(3_000);
    let silent = bench.tick().bus_stop;
    assert_eq!((silent.quality, silent.value), (Quality::Stale, false));
}
