//! The log: read as written, and every damage found and named.

use proptest::prelude::*;
use strewn::bench::log::{Header, Log, LogError, LogWriter};

fn header() -> Header {
    Header { scenario: "invented farm".to_owned(), seed: 7, configuration: vec![1, 2, 3] }
}

fn log_of(header: &Header, ticks: &[Vec<u8>]) -> Vec<u8> {
    let mut writer = LogWriter::new(Vec::new(), header).unwrap();
    ticks.iter().for_each(|tick| writer.tick(tick).unwrap());
    writer.finish().unwrap()
}

fn three_ticks() -> Vec<u8> {
    log_of(&header(), &[vec![9; 20], vec![8; 1], vec![7; 30]])
}

#[test]
fn every_changed_byte_is_an_error() {
    let whole = three_ticks();
    for at in 0..whole.len() {
        for change in 1..=255 {
            let mut changed = whole.clone();
            changed[at] ^= change;
            assert!(Log::read(&changed).is_err(), "byte {at} changed by {change}");
        }
    }
}

#[test]
fn every_cut_names_the_tick() {
    let whole = three_ticks();
    let mut last = 0;
    for length in 0..whole.len() {
        match Log::read(&whole[..length]).unwrap_err() {
            LogError::NotALog | LogError::HeaderDamaged => assert_eq!(last, 0),
            LogError::Truncated(tick) => {
                assert!(tick == last || tick == last + 1);
                last = tick;
            }
            other => panic!("cut to {length} bytes: {other}"),
        }
    }
    assert_eq!(last, 4, "the end counts as one");
}

#[test]
fn each_damage_has_its_name() {
    let whole = three_ticks();
    let changed = |at: usize| {
        let mut changed = whole.clone();
        changed[at] ^= 1;
        Log::read(&changed).map(drop).unwrap_err()
    };
    assert_eq!(Log::read(b"hay").unwrap_err(), LogError::NotALog);
    assert_eq!(changed(0), LogError::NotALog);
    assert_eq!(changed(8), LogError::OtherVersion(3));
    assert_eq!(changed(14), LogError::HeaderDamaged);
    // The first tick follows magic, version, length, body and sum.
    let first = 8 + 2 + 4 + (8 + 4 + 13 + 4 + 3) + 4;
    assert_eq!(changed(first + 2), LogError::Damaged(1));
    assert_eq!(changed(first + 24 + 2), LogError::Damaged(2));
    assert_eq!(changed(whole.len() - 1), LogError::Damaged(4));
    let longer = [whole.as_slice(), b"more"].concat();
    assert_eq!(Log::read(&longer).unwrap_err(), LogError::Trailing(4));
}

#[test]
fn ticks_in_another_order_are_found() {
    let whole = log_of(&header(), &[vec![1; 10], vec![2; 10]]);
    let ticks = whole.len() - 10 - 28;
    let mut swapped = whole.clone();
    swapped[ticks..ticks + 28].rotate_left(14);
    assert_eq!(Log::read(&swapped).unwrap_err(), LogError::Damaged(1));
}

#[test]
fn a_tick_that_no_reader_would_take_is_not_written() {
    let mut writer = LogWriter::new(Vec::new(), &header()).unwrap();
    assert!(writer.tick(&[]).is_err());
    assert!(writer.tick(&[0; 4_097]).is_err());
    assert!(writer.tick(&[0; 4_096]).is_ok());
}

proptest! {
    #[test]
    fn what_was_written_is_read(
        scenario in ".{0,60}",
        seed: u64,
        configuration in proptest::collection::vec(any::<u8>(), 0..200),
        ticks in proptest::collection::vec(proptest::collection::vec(any::<u8>(), 1..60), 0..40),
    ) {
        let header = Header { scenario, seed, configuration };
        let bytes = log_of(&header, &ticks);
        let log = Log::read(&bytes).unwrap();
        prop_assert_eq!(log.header, header);
        prop_assert_eq!(log.ticks, ticks);
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        let after_magic = [b"strewn\r\n\x01\0".as_slice(), &bytes].concat();
        prop_assert!(Log::read(&bytes).is_err());
        prop_assert!(Log::read(&after_magic).is_err());
    }
}
