//! Frames of the implement bus against published bytes, and what they mean on the ground.
//!
//! Outside: ISO 11783-7 as coded in the unit tests of AgIsoStack++ (The Open-Agriculture Developers,
//! 2026), whose frames are repeated here byte for byte. No conformity to the standard is claimed.

use strewn::units::{M_PER_FT, M_S_PER_KNOT, M_S_PER_MPH};
use strewn_controller::signals::isobus::{Direction, Flag, Identifier, Message, Motion};
use strewn_controller::units::{Length, Seconds, Speed};
use strewn_controller::wires::Frame;

/// The sender's address in all of those frames.
const SOURCE: u8 = 0x45;

#[track_caller]
fn assert_both_ways(id: u32, data: [u8; 8], message: Message) {
    let frame = Frame { id, data };
    assert_eq!(Message::decode(&frame), Some(message));
    assert_eq!(message.encode(SOURCE), frame);
    let Identifier { priority, source, .. } = Identifier::decode(id);
    assert_eq!((priority, source), (3, SOURCE));
}

fn metres(length: Length) -> f64 {
    f64::from(length.to_bits()) / f64::from(Length::ONE.to_bits())
}

fn metres_a_second(speed: Speed) -> f64 {
    f64::from(speed.to_bits()) / f64::from(Speed::ONE.to_bits())
}

#[test]
fn the_published_wheel_frame() {
    let motion = Motion { speed_mm_s: 9_876, distance_mm: 5_000, direction: Direction::Reverse };
    let message = Message::Wheel {
        motion,
        power_time_min: 3,
        key: Flag::On,
        operations: Flag::On,
        reversed: Flag::Off,
    };
    assert_both_ways(0x0CFE_4845, [0x94, 0x26, 0x88, 0x13, 0x00, 0x00, 0x03, 0x14], message);
    assert_eq!(motion.speed().map(Speed::to_milli), Some(-9_876));
}

#[test]
fn the_published_ground_frame() {
    let motion = Motion { speed_mm_s: 9_999, distance_mm: 80_000, direction: Direction::Forward };
    let message = Message::Ground { motion };
    assert_both_ways(0x0CFE_4945, [0x0F, 0x27, 0x80, 0x38, 0x01, 0x00, 0xFF, 0xFD], message);
    assert_eq!(motion.speed().map(Speed::to_milli), Some(9_999));
}

#[test]
fn the_published_selected_frame() {
    let motion = Motion { speed_mm_s: 1_000, distance_mm: 123_456, direction: Direction::Forward };
    let message = Message::Selected { motion, exit_code: 15, source: 2, limit: 3 };
    assert_both_ways(0x0CF0_2245, [0xE8, 0x03, 0x40, 0xE2, 0x01, 0x00, 0xCF, 0x69], message);
    assert_eq!(motion.speed().map(Speed::to_milli), Some(1_000));
}

#[test]
fn the_limit_keeps_all_three_bits() {
    // Layout as above; the values 4 to 7 of the limit are in no published frame.
    let motion = Motion { speed_mm_s: 0, distance_mm: 0, direction: Direction::Forward };
    for limit in 0..8 {
        let message = Message::Selected { motion, exit_code: 0, source: 0, limit };
        let frame = message.encode(SOURCE);
        assert_eq!(frame.data[7], limit << 5 | 1);
        assert_eq!(Message::decode(&frame), Some(message));
    }
}

#[test]
fn the_stop_button_frame() {
    // From the same library's source, not from a published frame: six bytes kept free, the count of
    // transitions, then two bits of state, 0 for stop and 1 for permitted.
    let stop = Message::Stop { permitted: Flag::Off, transitions: 7 };
    let ones = [0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF];
    let [a, b, c, d, e, f] = ones;
    assert_both_ways(0x0CFD_0245, [a, b, c, d, e, f, 7, 0xFC], stop);
    let permitted = Message::Stop { permitted: Flag::On, transitions: 7 };
    assert_both_ways(0x0CFD_0245, [a, b, c, d, e, f, 7, 0xFD], permitted);
}

#[test]
fn what_lies_above_the_valid_range_is_no_speed_and_no_distance() {
    let at =
        |speed_mm_s, distance_mm| Motion { speed_mm_s, distance_mm, direction: Direction::Forward };
    let highest = at(64_255, 4_211_081_215);
    assert_eq!(highest.speed().map(Speed::to_milli), Some(64_255));
    assert_eq!(highest.distance_mm(), Some(4_211_081_215));
    for speed_mm_s in [64_256, 65_024, 65_534, 65_535] {
        assert_eq!(at(speed_mm_s, 0).speed(), None);
    }
    for distance_mm in [4_211_081_216, u32::MAX] {
        assert_eq!(at(0, distance_mm).distance_mm(), None);
    }
    assert_eq!(at(0, 0).speed(), Some(Speed::ZERO));
}

#[test]
fn three_miles_an_hour_on_the_bus() {
    // Exact: 3 mph = 1.34112 m/s, which the bus rounds to 1,341 mm/s = 0x053D.
    let frame = Frame { id: 0x0CFE_4945, data: [0x3D, 0x05, 0, 0, 0, 0, 0xFF, 0xFD] };
    let Some(Message::Ground { motion }) = Message::decode(&frame) else {
        panic!("a ground frame");
    };
    let speed = metres_a_second(motion.speed().expect("a speed"));
    assert!((speed - 1.341).abs() < 1.0 / 65_536.0);
    assert!((speed / M_S_PER_MPH - 2.999_7).abs() < 1e-4);
}

#[test]
fn speeds_are_what_they_are_by_definition() {
    // Thompson and Taylor, Guide for the Use of the International System of Units, NIST Special
    // Publication 811, 2008, appendix B: mile an hour and knot, both exact.
    let minute_s = 60.0;
    assert!((M_S_PER_MPH - 0.447_04).abs() < 1e-15);
    assert!((M_S_PER_MPH * minute_s / M_PER_FT - 88.0).abs() < 1e-12);
    assert!((3.0 * M_S_PER_MPH - 1.341_12).abs() < 1e-15);
    assert!((3.0 * M_S_PER_MPH * minute_s / M_PER_FT - 264.0).abs() < 1e-12);
    assert!((M_S_PER_KNOT - 0.514_444).abs() < 5e-7);
    assert!((M_S_PER_KNOT * 3.6 - 1.852).abs() < 1e-15);
}

#[test]
fn a_lag_is_a_distance() {
    // Arithmetic: 3 mph are 4.4 ft/s, times the lag.
    let speed = Speed::from_milli(1_341);
    for (lag_ms, feet) in [(450, 2.0), (3_000, 13.2), (5_000, 22.0), (7_400, 32.6)] {
        let run = metres(speed.over(Seconds::from_milli(lag_ms))) / M_PER_FT;
        assert!((run - feet).abs() < 0.05, "{lag_ms} ms: {run} ft");
    }
}
