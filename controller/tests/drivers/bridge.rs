//! The bridge amplifier on scripted lines.

use embedded_hal_mock::eh1::MockError;
use embedded_hal_mock::eh1::delay::NoopDelay;
use embedded_hal_mock::eh1::digital::{Mock as Pin, State, Transaction as Level};
use std::io::ErrorKind;
use strewn_controller::drivers::bridge::{Bridge, BridgeError, Gain};
use strewn_controller::wires::WeighWire;

/// The clock's script: put to rest, then so many pulses.
fn clock(pulses: usize) -> Vec<Level> {
    let rest = std::iter::once(Level::set(State::Low));
    let pulses = (0..pulses).flat_map(|_| [Level::set(State::High), Level::set(State::Low)]);
    rest.chain(pulses).collect()
}

/// The data line's script for one conversion: ready, 24 bits, then high for the pulses of the gain.
fn data(counts: i32, gain_pulses: usize) -> Vec<Level> {
    let ready = std::iter::once(State::Low);
    let bits =
        (0..24).rev().map(|bit| if counts >> bit & 1 == 1 { State::High } else { State::Low });
    let gain = std::iter::repeat_n(State::High, gain_pulses);
    ready.chain(bits).chain(gain).map(Level::get).collect()
}

#[track_caller]
fn assert_reads(counts: i32, gain: Gain, gain_pulses: usize) {
    let mut lines = (Pin::new(&clock(24 + gain_pulses)), Pin::new(&data(counts, gain_pulses)));
    let mut bridge = Bridge::new(lines.0.clone(), lines.1.clone(), NoopDelay::new(), gain).unwrap();
    assert_eq!(bridge.poll(), Ok(WeighWire { counts, sequence: 1 }));
    lines.0.done();
    lines.1.done();
}

#[test]
fn counts_carry_their_sign() {
    for counts in [0, 1, -1, 0x12_3456, -0x12_3456, 0x7F_FFFF, -0x80_0000] {
        assert_reads(counts, Gain::High, 1);
    }
    assert_reads(77, Gain::Second, 2);
    assert_reads(77, Gain::Half, 3);
}

#[test]
fn nothing_is_clocked_before_a_conversion_is_ready() {
    let mut lines = (Pin::new(&clock(0)), Pin::new(&vec![Level::get(State::High); 2]));
    let mut bridge =
        Bridge::new(lines.0.clone(), lines.1.clone(), NoopDelay::new(), Gain::High).unwrap();
    for _ in 0..2 {
        assert_eq!(bridge.poll(), Ok(WeighWire::default()));
    }
    lines.0.done();
    lines.1.done();
}

#[test]
fn a_failing_line_loses_the_conversion_and_rests_the_clock() {
    let broken = MockError::Io(ErrorKind::NotConnected);
    let high = [Level::set(State::High), Level::set(State::Low)];
    let mut clock = Pin::new(&[&[Level::set(State::Low)][..], &high].concat());
    let mut data = Pin::new(&[
        Level::get(State::Low),
        Level::get(State::Low).with_error(broken.clone()),
        Level::get(State::High),
    ]);
    let mut bridge =
        Bridge::new(clock.clone(), data.clone(), NoopDelay::new(), Gain::High).unwrap();
    assert_eq!(bridge.poll(), Err(BridgeError::Data(broken)));
    assert_eq!(bridge.poll(), Ok(WeighWire::default()), "no step of the sequence");
    clock.done();
    data.done();
}
