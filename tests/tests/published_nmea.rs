//! Speed over ground from published NMEA 0183 sentences.
//!
//! Outside: sentences from the tests of GPSParser (Electric Imp, 2018), which have been repeated in
//! many public parsers since; every checksum is computed anew here. The knot and the km/h are exact.

use strewn_controller::signals::nmea::{SentenceError, speed_over_ground};
use strewn_controller::units::Speed;

const RMC: &str = "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A";
const VTG: &str = "$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48";

fn read(sentence: &str) -> Result<Option<Speed>, SentenceError> {
    speed_over_ground(sentence.as_bytes())
}

/// The exclusive or of all bytes between `$` and `*`.
fn checksum(sentence: &str) -> String {
    let text = sentence.trim_start_matches('$').split('*').next().expect("some text");
    format!("{:02X}", text.bytes().fold(0, |sum, byte| sum ^ byte))
}

#[track_caller]
fn assert_speed(sentence: &str, metres_a_second: f64) {
    let (_, stated) = sentence.split_once('*').expect("a checksum");
    assert_eq!(checksum(sentence), stated);
    let speed = read(sentence).expect("a sound sentence").expect("a speed");
    let found = f64::from(speed.to_bits()) / f64::from(Speed::ONE.to_bits());
    assert!((found - metres_a_second).abs() < 0.000_5, "{found} m/s");
}

#[test]
fn recommended_minimum_sentence() {
    assert_speed(RMC, 11.524);
}

#[test]
fn recommended_minimum_sentence_with_mode_and_blank_course() {
    let sentence = "$GNRMC,181859.00,A,3723.71721,N,12206.14085,W,0.140,,090518,,,A*78";
    assert_speed(sentence, 0.072);
}

#[test]
fn track_and_speed_takes_the_knots() {
    // 5.5 knots are 2.829 m/s; the 10.2 km/h beside them, rounded more, would be 2.833.
    assert_speed(VTG, 2.829);
}

#[test]
fn track_and_speed_with_blank_course() {
    assert_speed("$GNVTG,,T,,M,0.140,N,0.260,K,A*3C", 0.072);
}

#[test]
fn kilometres_an_hour_serve_where_the_knots_are_blank() {
    // Made here from the sentence above; 0.260 km/h exact.
    assert_speed("$GNVTG,,T,,M,,N,0.260,K,A*17", 0.260 / 3.6);
}

#[test]
fn feeding_at_three_miles_an_hour() {
    // Made here: 2.61 knots = 3.00 mph.
    assert_speed("$GPVTG,090.0,T,,M,002.61,N,004.83,K,A*0E", 2.61 * 1852.0 / 3600.0);
}

#[test]
fn a_void_fix_is_no_speed() {
    assert_eq!(read("$GPRMC,,V,,,,,,,,,,N*53"), Ok(None));
    // Made here: status V beside a speed, as receivers send it that coast on their last fix.
    let void = "$GPRMC,123519,V,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*7D";
    assert_eq!(checksum(void), "7D");
    assert_eq!(read(void), Ok(None));
}

#[test]
fn sentences_whose_text_does_not_sum_to_their_checksum_are_refused() {
    // Found in the wild: the first sentence with another position typed over the old one.
    let altered = "$GPRMC,123519,A,1435.9700,N,12059.0520,E,022.4,084.4,230394,003.1,W*6A";
    assert_eq!(read(altered), Err(SentenceError::Checksum));
    assert_eq!(checksum(altered), "6D");
    assert_speed(&altered.replace("*6A", "*6D"), 11.524);
    // From the same tests: the second sentence with a checksum made up.
    let made_up = "$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*23";
    assert_eq!(read(made_up), Err(SentenceError::Checksum));
}

#[test]
fn sentences_without_checksum_or_of_another_kind_are_refused() {
    // From the same tests.
    let bare = "$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K";
    assert_eq!(read(bare), Err(SentenceError::Framing));
    let cross_track = "$GPXTE,A,A,0.67,L,N*6F";
    assert_eq!(checksum(cross_track), "6F");
    assert_eq!(read(cross_track), Err(SentenceError::Kind));
}
