//! A recorded drive: what each form of file gives, what is refused and with which words.

use proptest::prelude::*;
use strewn::bench::ground_speed::{Moment, Problem, Recording, RecordingError};
use strewn::world::spec::Motion;
use strewn_controller::wires::Frame;

fn sentence(body: &str) -> String {
    format!("${body}*{:02X}", body.bytes().fold(0, |sum, byte| sum ^ byte))
}

fn rmc(time: &str, knots: &str) -> String {
    sentence(&format!("GNRMC,{time},A,4807.038,N,01131.000,E,{knots},084.4,230394,,"))
}

fn vtg(knots: &str) -> String {
    sentence(&format!("GNVTG,084.4,T,,M,{knots},N,,K"))
}

fn read(lines: &[String]) -> Result<Recording, RecordingError> {
    Recording::parse(lines.join("\r\n").as_bytes())
}

fn problem(text: &str) -> RecordingError {
    Recording::parse(text.as_bytes()).unwrap_err()
}

fn at(line: usize, problem: Problem) -> RecordingError {
    RecordingError { line: Some(line), problem }
}

fn backwards(line: usize, from: &str, to: &str) -> RecordingError {
    at(line, Problem::Backwards { from: from.to_owned(), to: to.to_owned() })
}

fn times(recording: &Recording) -> Vec<f64> {
    recording.moments.iter().map(|moment| moment.time_s).collect()
}

/// The two sentences stand in the tests of many public parsers; 22.4 kn and 5.5 kn by the definition
/// of the knot, 1852 m an hour.
#[test]
fn sentences_give_motion_and_stay_whole() {
    let void = sentence("GPRMC,123521,V,,,,,,,230394,,");
    let lines = [
        "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A",
        "$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48",
        &void,
        "$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48",
    ];
    let recording = Recording::parse(lines.join("\n").as_bytes()).unwrap();
    let speeds: Vec<_> = recording.moments.iter().map(|moment| moment.speed_m_s).collect();
    assert_eq!(
        times(&recording),
        [0.0, 2.0],
        "the void fix leaves the speed to the other sentence"
    );
    assert!((speeds[0] - 22.4 * 1852.0 / 3600.0).abs() < 2e-5);
    assert!((speeds[1] - 5.5 * 1852.0 / 3600.0).abs() < 2e-5);
    let arrivals: Vec<_> = recording.sentences.iter().map(|(time_s, _)| *time_s).collect();
    assert_eq!(arrivals, [0.0, 0.0, 2.0, 2.0]);
    for ((_, raw), line) in recording.sentences.iter().zip(lines) {
        assert_eq!(raw.as_slice(), line.as_bytes());
    }
}

#[test]
fn other_sentences_are_skipped_even_long_ones() {
    let long = sentence(&format!("PXYZ,{}", "0,".repeat(60)));
    let lines = [rmc("120000.00", "2.0"), long, rmc("120000.20", "2.1"), rmc("120000.40", "2.2")];
    let recording = read(&lines).unwrap();
    assert_eq!(times(&recording), [0.0, 0.2, 0.4]);
    assert_eq!(recording.sentences.len(), 3);
}

#[test]
fn midnight_is_not_backwards() {
    let lines = [rmc("235959.50", "2.0"), rmc("000000.00", "2.1"), rmc("000000.50", "2.2")];
    assert_eq!(times(&read(&lines).unwrap()), [0.0, 0.5, 1.0]);
}

#[test]
fn sentences_without_times_come_a_second_apart() {
    let lines = [vtg("1.0"), vtg("1.1"), vtg("1.2")];
    assert_eq!(times(&read(&lines).unwrap()), [0.0, 1.0, 2.0]);
    let then_timed = [vtg("1.0"), vtg("1.1"), rmc("120000", "1.2"), rmc("120001", "1.3")];
    assert_eq!(times(&read(&then_timed).unwrap()), [0.0, 1.0, 2.0, 3.0]);
}

#[test]
fn what_is_wrong_with_sentences_is_told() {
    let good = rmc("120001", "2.0");
    let not_nmea = read(&[good.clone(), "hay".to_owned()]).unwrap_err();
    assert_eq!(not_nmea, at(2, Problem::NotNmea));
    // A checksum kept after the position was altered, as found on the web; the true one is 6D.
    let altered = "$GPRMC,123519,A,1435.9700,N,12059.0520,E,022.4,084.4,230394,003.1,W*6A";
    let (given, computed) = ("6A".to_owned(), "6D".to_owned());
    assert_eq!(problem(altered), at(1, Problem::Checksum { given, computed }));
    let earlier = read(&[good.clone(), rmc("120000", "2.0")]).unwrap_err();
    assert_eq!(earlier, backwards(2, "43201", "43200"));
    let text = read(&[good.clone(), rmc("120002", "fast")]).unwrap_err();
    assert!(matches!(text, RecordingError { line: Some(2), problem: Problem::NotANumber { .. } }));
    let fast = read(&[good.clone(), rmc("120002", "60.0")]).unwrap_err();
    assert!(matches!(fast, RecordingError { line: Some(2), problem: Problem::NotAllowed { .. } }));
    let void = read(&[good, sentence("GNRMC,120002,V,,,,,,,230394,,")]).unwrap_err();
    assert_eq!(
        void,
        RecordingError { line: None, problem: Problem::NoSpeeds },
        "one speed is no drive"
    );
}

#[test]
fn a_table_gives_the_best_speed_and_the_engine() {
    let text = "t_s,note,wheel_speed_m_s,engine_rpm,gnss_speed_m_s\n\
                5.0,a,9,1500,1.25\n5.5,b,9,,\n\n6,c,9,1800,1.5\n";
    let recording = Recording::parse(text.as_bytes()).unwrap();
    let moment =
        |time_s, speed_m_s, rpm| Moment { time_s, speed_m_s, engine_turns_s: Some(rpm / 60.0) };
    assert_eq!(recording.moments, [moment(0.0, 1.25, 1500.0), moment(1.0, 1.5, 1800.0)]);
    assert!(recording.sentences.is_empty() && recording.frames.is_empty());
    assert_eq!(recording.motion(7.0)[1].1.engine_turns_s, 30.0);
}

#[test]
fn the_engine_is_the_scenarios_where_none_was_recorded() {
    let recording = Recording::parse(b"t_s,speed_m_s\n0,1\n1,2\n").unwrap();
    assert_eq!(recording.motion(31.5)[0], (0.0, Motion { speed_m_s: 1.0, engine_turns_s: 31.5 }));
}

#[test]
fn what_is_wrong_with_a_table_is_told() {
    let line = |text: &str| problem(text).line;
    assert_eq!(line("t_s,speed_m_s\n0,1\n1,fast\n"), Some(3));
    assert!(problem("t_s,speed_m_s\n0,1\n1,fast\n").to_string().contains("column 2 (`speed_m_s`)"));
    assert_eq!(line("t_s,speed_m_s\n0,1\n1,nan\n"), Some(3));
    assert_eq!(line("t_s,speed_m_s\n0,1\n1,-1\n"), Some(3));
    assert_eq!(line("t_s,speed_m_s\n0,1\n1,25.1\n"), Some(3));
    assert_eq!(problem("t_s,speed_m_s\n1,1\n1,1\n"), backwards(3, "1", "1"));
    assert_eq!(line("t_s,speed_m_s\n0,1\n1\n"), Some(3));
    assert_eq!(line("t_s,speed_m_s,engine_rpm\n0,1,90000\n"), Some(2));
    assert_eq!(line("t_s,speed_m_s\n0,1\n14401,1\n"), Some(3));
    assert_eq!(problem("t_s,speed\n0,1\n").problem, Problem::NoColumn("speed_m_s"));
    assert_eq!(problem("t_s,speed_m_s\n0,1\n").problem, Problem::NoSpeeds);
    assert_eq!(problem("\n \n").problem, Problem::Empty);
    assert_eq!(problem("hay, hay\n").problem, Problem::UnknownForm);
}

/// The wheel-based frame says 9,876 mm/s in reverse, the ground-based one 9,999 mm/s forward: unit
/// tests of AgIsoStack++, The Open-Agriculture Developers, 2026.
#[test]
fn a_bus_log_gives_the_best_source_and_the_frames_of_the_filter() {
    let log = "(1436509052.249713) can0 0CFE4845#9426881300000314\n\
               (1436509052.249900) can0 0CF00400#FFFFFF0000FFFFFF\n\
               (1436509052.250000) can0 123#00\n\
               (1436509052.349713) can0 0CFE4945#0F2780380100FFFD R\n\
               (1436509052.449713) can0 0CFE4945#0F2780380100FFFD\n";
    let recording = Recording::parse(log.as_bytes()).unwrap();
    let times: Vec<_> = recording.frames.iter().map(|(time_s, _)| *time_s).collect();
    assert_eq!(times, [0.0, 0.1, 0.2]);
    let wheel = Frame { id: 0x0CFE_4845, data: [0x94, 0x26, 0x88, 0x13, 0, 0, 3, 0x14] };
    assert_eq!(recording.frames[0].1, wheel);
    let speeds: Vec<_> = recording.moments.iter().map(|moment| moment.speed_m_s).collect();
    assert!(speeds.len() == 2 && speeds.iter().all(|speed| (speed - 9.999).abs() < 2e-5));
    let wheel_only = "(1.0) can0 0CFE4845#9426881300000314\n(1.1) can0 0CFE4845#9426881300000314";
    let recording = Recording::parse(wheel_only.as_bytes()).unwrap();
    assert!((recording.moments[1].speed_m_s - 9.876).abs() < 2e-5, "reverse counts as its size");
}

#[test]
fn what_is_wrong_with_a_bus_log_is_told() {
    let first = "(1.0) can0 0CFE4945#0F2780380100FFFD";
    let after = |line: &str| problem(&format!("{first}\n{line}\n"));
    assert_eq!(after("(0.5) can0 123#00"), backwards(2, "1", "0.5"));
    for line in ["hay", "(x) can0 123#00", "(2) can0 12345#00", "(2) can0 123#0", "(2) can0 123"] {
        assert_eq!(after(line), at(2, Problem::NotCandump), "{line}");
    }
    assert_eq!(after("(2) can0 0CFE4945#FFFFFFFFFFFFFFFF").problem, Problem::NoSpeeds);
    let terminal = "can0  0CFE4845   [8]  94 26 88 13 00 00 03 14";
    assert_eq!(problem(terminal), at(1, Problem::NoTimes));
}

fn sound(recording: &Recording) -> bool {
    let rising = recording.moments.windows(2).all(|pair| pair[0].time_s < pair[1].time_s);
    let in_range = recording.moments.iter().all(|moment| (0.0..=25.0).contains(&moment.speed_m_s));
    let sentences = recording.sentences.windows(2).all(|pair| pair[0].0 <= pair[1].0);
    let frames = recording.frames.windows(2).all(|pair| pair[0].0 <= pair[1].0);
    recording.moments.len() >= 2 && rising && in_range && sentences && frames
}

proptest! {
    #[test]
    fn any_text_is_sound_or_refused(
        first in "(\\$|\\(|t_s,speed_m_s\n)?",
        rest in "([ -~\u{e9}]{0,20}[0-9$*#(),.\n]{0,9}){0,12}",
    ) {
        if let Ok(recording) = Recording::parse(format!("{first}{rest}").as_bytes()) {
            prop_assert!(sound(&recording));
        }
    }

    #[test]
    fn a_changed_byte_of_a_sentence_is_refused(at in 0usize..1_000, change in 1u8..=255) {
        let line = rmc("120001", "2.0");
        let mut bytes = line.clone().into_bytes();
        let at = at % bytes.len();
        bytes[at] ^= change;
        // A hexadecimal digit may be small or large.
        prop_assume!(!bytes.eq_ignore_ascii_case(line.as_bytes()) || at < line.len() - 2);
        let before = format!("{}\n", rmc("120000", "2.0"));
        prop_assert!(Recording::parse(&[before.as_bytes(), &bytes].concat()).is_err());
    }

    #[test]
    fn a_table_is_read_as_written(
        rows in proptest::collection::vec((1u32..5_000, 0u32..25_000), 2..50),
    ) {
        let (mut text, mut now_ms, mut expected) = ("t_s,speed_m_s\n".to_owned(), 0, Vec::new());
        for (step_ms, speed_mm_s) in rows {
            now_ms += step_ms;
            let (now_s, speed_m_s) = (f64::from(now_ms) / 1e3, f64::from(speed_mm_s) / 1e3);
            text += &format!("{now_s},{speed_m_s}\n");
            expected.push((now_s, speed_m_s));
        }
        let recording = Recording::parse(text.as_bytes()).unwrap();
        prop_assert!(sound(&recording));
        prop_assert_eq!(recording.moments.len(), expected.len());
        for (moment, (now_s, speed_m_s)) in recording.moments.iter().zip(&expected) {
            prop_assert_eq!(moment.time_s, now_s - expected[0].0);
            prop_assert_eq!(moment.speed_m_s, *speed_m_s);
        }
    }
}
