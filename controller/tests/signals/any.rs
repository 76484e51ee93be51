//! Any bytes, any frames, any inputs: nothing but typed results.

use crate::Bench;
use proptest::collection::vec;
use proptest::prelude::*;
use strewn_controller::settings::{SettingError, SignalConfig};
use strewn_controller::signals::Quality;
use strewn_controller::signals::isobus::{Direction, Flag, Identifier, Message, Motion};
use strewn_controller::signals::nmea::{SentenceError, speed_over_ground};
use strewn_controller::units::{Instant, Speed};
use strewn_controller::wires::*;

fn motion() -> impl Strategy<Value = Motion> {
    let ways = [Direction::Reverse, Direction::Forward, Direction::Error, Direction::NotAvailable];
    (any::<u16>(), any::<u32>(), prop::sample::select(ways.to_vec())).prop_map(
        |(speed_mm_s, distance_mm, direction)| Motion { speed_mm_s, distance_mm, direction },
    )
}

fn flag() -> impl Strategy<Value = Flag> {
    prop_oneof![Just(Flag::Off), Just(Flag::On), Just(Flag::Error), Just(Flag::NotAvailable)]
}

fn message() -> impl Strategy<Value = Message> {
    let wheel = (motion(), any::<u8>(), flag(), flag(), flag());
    let selected = (motion(), 0..64u8, 0..8u8, 0..8u8);
    prop_oneof![
        wheel.prop_map(|(motion, power_time_min, key, operations, reversed)| Message::Wheel {
            motion,
            power_time_min,
            key,
            operations,
            reversed
        }),
        motion().prop_map(|motion| Message::Ground { motion }),
        selected.prop_map(|(motion, exit_code, source, limit)| Message::Selected {
            motion,
            exit_code,
            source,
            limit
        }),
        (flag(), any::<u8>())
            .prop_map(|(permitted, transitions)| Message::Stop { permitted, transitions }),
    ]
}

/// A sentence with a right checksum around this text.
fn framed(body: &[u8]) -> Vec<u8> {
    let sum = body.iter().fold(0, |sum, byte| sum ^ byte);
    [b"$", body, format!("*{sum:02X}").as_bytes()].concat()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn a_message_survives_the_bus(message in message(), source: u8) {
        let frame = message.encode(source);
        prop_assert_eq!(Message::decode(&frame), Some(message));
        let id = Identifier::decode(frame.id);
        prop_assert_eq!((id.priority, id.source), (3, source));
    }

    #[test]
    fn an_identifier_survives_the_bus(id in 0..1u32 << 29) {
        prop_assert_eq!(Identifier::decode(id).encode(), id);
    }

    #[test]
    fn a_frame_of_another_group_is_nothing(id: u32, data: [u8; 8]) {
        let known = [65_096, 65_097, 61_474, 64_770].contains(&(id >> 8 & 0x3_FFFF));
        prop_assert_eq!(Message::decode(&Frame { id, data }).is_some(), known);
    }

    #[test]
    fn any_bytes_are_no_sentence(bytes in vec(any::<u8>(), 0..120)) {
        // Chance makes the frame of a sentence with a right checksum and kind in no human time.
        prop_assert!(speed_over_ground(&bytes).is_err());
    }

    /// A sentence is read four bytes at a time: where in its word a byte stands must not matter.
    #[test]
    fn every_place_in_a_sentence_is_read_alike(
        first in "[0-9.]{0,9}", third in "[0-9.]{0,9}", speed in "[0-9]{1,3}[.][0-9]{0,4}",
        last in "[ -~]{0,9}", place: usize, strange in prop_oneof![0..32u8, 127..=255u8],
    ) {
        let body = format!("GPVTG,{first},T,{third},M,{speed},N,,K,A,{last}");
        let plain = format!("GPVTG,,T,,M,{speed},N,,K,A");
        let told = speed_over_ground(&framed(body.as_bytes()));
        prop_assert!(matches!(told, Ok(Some(_))), "{body}");
        prop_assert_eq!(told, speed_over_ground(&framed(plain.as_bytes())));
        let mut spoilt = body.into_bytes();
        let place = place % spoilt.len();
        spoilt[place] = strange;
        prop_assert_eq!(speed_over_ground(&framed(&spoilt)), Err(SentenceError::Framing));
    }

    #[test]
    fn any_fields_give_no_speed_outside_what_can_be_written(
        fields in vec("[0-9.A-Z-]{0,6}", 0..14), vtg: bool,
    ) {
        let kind = if vtg { "GNVTG" } else { "GPRMC" };
        let body = format!("{kind},{}", fields.join(","));
        match speed_over_ground(&framed(body.as_bytes())) {
            // 9,999.9999 knots.
            Ok(Some(speed)) => prop_assert!((0..=5_144_445).contains(&speed.to_milli())),
            Ok(None) | Err(SentenceError::Field | SentenceError::Framing) => {}
            Err(error) => prop_assert!(false, "{error:?} of {body}"),
        }
    }

    #[test]
    fn a_written_speed_is_read_to_the_last_place(ten_thousandths in 0..=99_999_999i32) {
        let text = format!("{}.{:04}", ten_thousandths / 10_000, ten_thousandths % 10_000);
        for (body, metres_a_second) in [
            (format!("GPVTG,,T,,M,{text},N,,K,A"), 1852.0 / 3600.0),
            (format!("GPVTG,,T,,M,,N,{text},K,A"), 1.0 / 3.6),
            (format!("GPRMC,,A,,,,,{text},,,,,A"), 1852.0 / 3600.0),
        ] {
            let speed = speed_over_ground(&framed(body.as_bytes())).expect("sound").expect("a speed");
            let truth = f64::from(ten_thousandths) * 1e-4 * metres_a_second;
            let found = f64::from(speed.to_bits()) / f64::from(Speed::ONE.to_bits());
            // Half a place of 2^-16, and the factor's 3e-10 of 5,144 m/s.
            prop_assert!((found - truth).abs() <= 0.5 / 65_536.0 + 2e-6);
        }
    }

    #[test]
    fn one_changed_byte_never_gives_another_speed(at in 0..40usize, byte: u8) {
        let sound = b"$GPVTG,090.0,T,,M,002.61,N,004.83,K,A*0E";
        let mut harmed = *sound;
        harmed[at] = byte;
        let right = speed_over_ground(sound);
        prop_assert!(matches!(right, Ok(Some(_))));
        let answer = speed_over_ground(&harmed);
        prop_assert!(answer == right || answer.is_err());
    }

    #[test]
    fn any_inputs_give_readings_and_a_speed_is_good_only_within_belief(
        ticks in vec((any::<u64>(), any::<[u32; 6]>(), any::<[u16; 4]>(), any::<(i32, u8)>(),
            vec((message(), any::<u8>()), 0..=FRAMES), vec(any::<u8>(), 0..=SENTENCE_BYTES)), 1..20),
    ) {
        let mut bench = Bench::new();
        for (now, pulses, words, (counts, sequence), frames, bytes) in ticks {
            let wire = |at: usize| PulseWire { count: pulses[at], last_edge_us: pulses[at + 1] };
            bench.inputs = Inputs {
                now: Instant::from_micros(now),
                rollers: [wire(0), wire(2)],
                ground: wire(4),
                weigh: WeighWire { counts, sequence },
                analog: AnalogWires { pressure: words[0], gauge: words[1], reference: words[2], ..AnalogWires::default() },
                switches: SwitchBits(words[3]),
                ticket: sequence,
                frames: frames.iter().map(|(message, source)| message.encode(*source)).collect(),
                sentences: [bytes.into_iter().collect::<Sentence>()].into_iter().collect(),
            };
            let readings = bench.signals.update(&bench.settings, &bench.inputs);
            for speed in [readings.speeds.selected, readings.speeds.ground, readings.speeds.wheel] {
                prop_assert!(speed.good().is_none_or(|good| good.magnitude() <= bench.settings.fastest));
                prop_assert!(speed.quality != Quality::Good || speed.age <= bench.settings.bus_stale);
            }
        }
    }
}

#[test]
fn each_rule_of_a_sentence_is_held() {
    let read = |body: &str| speed_over_ground(&framed(body.as_bytes()));
    let sound = "GPVTG,,T,,M,2.61,N,,K,A";
    assert!(matches!(read(sound), Ok(Some(_))));
    // A receiver that says A for its status but N for its mode has no fix.
    assert_eq!(read("GPRMC,,A,,,,,2.61,,,,,N"), Ok(None));
    for mode in ["N", "M", "S", "X", "AA"] {
        assert_eq!(read(&format!("GPVTG,,T,,M,2.61,N,,K,{mode}")), Ok(None));
    }
    for field in ["12345", "-1.0", ".5", "1.2.3", " 1", "1e3"] {
        let answer = read(&format!("GPVTG,,T,,M,{field},N,,K,A"));
        assert_eq!(answer, Err(SentenceError::Field), "{field}");
    }
    // The letter of the other unit where knots must stand.
    assert_eq!(read("GPVTG,,T,,M,2.61,K,,K,A"), Err(SentenceError::Field));
    assert_eq!(read("GPVTG,,T,,M,,N,2.61,N,A"), Err(SentenceError::Field));
    let longest = format!("{sound},{:x<1$}", "", SENTENCE_BYTES - sound.len() - 5);
    assert!(matches!(read(&longest), Ok(Some(_))));
    assert_eq!(read(&format!("{longest}x")), Err(SentenceError::Framing));
    assert_eq!(read(&format!("{sound},\u{7f}")), Err(SentenceError::Framing));
}

#[test]
fn a_setting_that_is_not_allowed_is_named_with_what_is() {
    let typical = SignalConfig::TYPICAL;
    assert!(typical.build().is_ok());
    let error = SignalConfig { present_release_ms: 400, ..typical }.build().expect_err("too long");
    let SettingError { field, allowed, given } = error;
    assert_eq!((field, allowed, given), ("present_release_ms", (10, 100), 400));
    assert_eq!(error.to_string(), "present_release_ms is 400, but must be from 10 to 100");
    let crossed = SignalConfig {
        reference_lowest_counts: 2_100,
        reference_highest_counts: 2_000,
        ..SignalConfig::TYPICAL
    };
    assert_eq!(crossed.build().expect_err("crossed").field, "reference_highest_counts");
}
