//! Sentences out of bytes, read by the crate `nmea` as well.

use proptest::prelude::*;
use strewn_controller::drivers::serial::Framer;
use strewn_controller::signals::nmea::speed_over_ground;
use strewn_controller::units::Speed;
use strewn_controller::wires::SENTENCE_BYTES;

/// From the tests of GPSParser (Electric Imp, 2018), repeated in many public parsers since.
const RMC: &str = "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A";

fn sentences(bytes: &[u8]) -> Vec<Vec<u8>> {
    let mut framer = Framer::new();
    bytes.iter().filter_map(|byte| framer.take(*byte)).map(|sentence| sentence.to_vec()).collect()
}

/// An RMC sentence with its checksum.
fn rmc(knots_tenths: u32, course: u32, valid: bool) -> String {
    let state = if valid { 'A' } else { 'V' };
    let (whole, tenth) = (knots_tenths / 10, knots_tenths % 10);
    let text = format!(
        "GPRMC,123519,{state},4807.038,N,01131.000,E,{whole:03}.{tenth},{course:03}.0,230394,,"
    );
    let sum = text.bytes().fold(0u8, |sum, byte| sum ^ byte);
    format!("${text}*{sum:02X}")
}

#[test]
fn noise_halves_and_overlong_sentences_are_dropped() {
    let long = format!("${}\r\n", "A".repeat(SENTENCE_BYTES));
    let longest = format!("${}", "B".repeat(SENTENCE_BYTES - 1));
    let stream = format!("1.0,W*00\r\n{RMC}\r\n\r\n$GPRMC,1235{RMC}\n{long}{longest}\r\n{RMC}");
    let found = sentences(stream.as_bytes());
    assert_eq!(found, [RMC, RMC, longest.as_str()].map(|text| text.as_bytes().to_vec()));
}

#[test]
fn lost_bytes_drop_what_was_begun() {
    let mut framer = Framer::new();
    assert!(RMC.bytes().all(|byte| framer.take(byte).is_none()));
    framer.on_error();
    assert_eq!(framer.take(b'\r'), None);
    assert_eq!(framer.dropped(), 1);
    framer.on_error();
    assert_eq!(framer.dropped(), 1, "nothing was begun");
}

proptest! {
    /// Whatever lies between sentences, each comes out whole, and says the same speed as to `nmea`.
    #[test]
    fn sentences_say_the_same_to_another_parser(
        said in proptest::collection::vec((0u32..1_000, 0u32..360, any::<bool>()), 1..6),
        noise in proptest::collection::vec(any::<u8>().prop_filter("no start", |b| *b != b'$'), 0..40),
    ) {
        let sent: Vec<String> = said.iter().map(|(k, c, v)| rmc(*k, *c, *v)).collect();
        let mut stream = Vec::new();
        for sentence in &sent {
            stream.extend(&noise);
            stream.extend(sentence.bytes().chain(*b"\r\n"));
        }
        let found = sentences(&stream);
        prop_assert_eq!(found.len(), sent.len());
        for (found, (knots_tenths, _, valid)) in found.iter().zip(said) {
            let text = core::str::from_utf8(found).unwrap();
            let theirs = match nmea::parse_str(text).unwrap() {
                nmea::ParseResult::RMC(data) => data,
                other => return Err(TestCaseError::fail(format!("{other:?}"))),
            };
            let is_valid = theirs.status_of_fix != nmea::sentences::rmc::RmcStatusOfFix::Invalid;
            prop_assert_eq!(is_valid, valid);
            let ours = speed_over_ground(found).unwrap();
            prop_assert_eq!(ours.is_some(), valid);
            let knots = f64::from(knots_tenths) / 10.0;
            prop_assert!((f64::from(theirs.speed_over_ground.unwrap()) - knots).abs() < 1e-4);
            if let Some(speed) = ours {
                let found = f64::from(speed.to_bits()) / f64::from(Speed::ONE.to_bits());
                prop_assert!((found - knots * 1_852.0 / 3_600.0).abs() < 5e-4);
            }
        }
    }
}
