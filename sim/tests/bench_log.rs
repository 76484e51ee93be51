//! The log: read as written, and every damage found and named.

use proptest::prelude::*;
use strewn::bench::log::{Header, Log, LogError, LogWriter};
use strewn_controller::record::{decode, frame};
use strewn_controller::units::Instant;
use strewn_controller::wires::{AnalogWires, Inputs, Outputs};

fn header() -> Header {
    Header { scenario: "invented farm".to_owned(), seed: 7, configuration: vec![1, 2, 3] }
}

fn log_of(header: &Header, ticks: &[Inputs]) -> Vec<u8> {
    let mut writer = LogWriter::new(Vec::new(), header).unwrap();
    ticks.iter().for_each(|inputs| writer.tick(inputs, &Outputs::default()).unwrap());
    writer.finish().unwrap()
}

/// Ticks at which clock and pressure stand so.
fn at(ticks: &[(u64, u16)]) -> Vec<Inputs> {
    let inputs = |(now, pressure): &(u64, u16)| Inputs {
        now: Instant::from_micros(*now),
        analog: AnalogWires { pressure: *pressure, ..AnalogWires::default() },
        ..Inputs::default()
    };
    ticks.iter().map(inputs).collect()
}

fn three_ticks() -> Vec<u8> {
    log_of(&header(), &at(&[(10_000, 0), (20_000, 900), (30_000, 901)]))
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
    let second = first + frame(&whole[first..]).unwrap().len();
    assert_eq!(changed(first + 2), LogError::Damaged(1));
    assert_eq!(changed(second + 2), LogError::Damaged(2));
    assert_eq!(changed(whole.len() - 1), LogError::Damaged(4));
    let longer = [whole.as_slice(), b"more"].concat();
    assert_eq!(Log::read(&longer).unwrap_err(), LogError::Trailing(4));
}

#[test]
fn ticks_in_another_order_or_left_out_are_found() {
    // Two ticks that are as long as each other, before an end of ten bytes.
    let whole = log_of(&header(), &at(&[(10_000, 300), (20_000, 700)]));
    let last = frame(&whole[8 + 2 + 4 + 32 + 4..]).unwrap().len();
    let (from, to) = (whole.len() - 10 - 2 * last, whole.len() - 10);
    let mut swapped = whole.clone();
    swapped[from..to].rotate_left(last);
    assert_ne!(swapped, whole);
    assert_eq!(Log::read(&swapped).unwrap_err(), LogError::Damaged(3));
    let shorter = [&whole[..to - last], &whole[to..]].concat();
    assert_eq!(Log::read(&shorter).unwrap_err(), LogError::Damaged(2));
}

proptest! {
    #[test]
    fn what_was_written_is_read(
        scenario in ".{0,60}",
        seed: u64,
        configuration in proptest::collection::vec(any::<u8>(), 0..200),
        ticks in proptest::collection::vec(any::<(u64, u16)>(), 0..40),
    ) {
        let header = Header { scenario, seed, configuration };
        let wires = at(&ticks);
        let bytes = log_of(&header, &wires);
        let log = Log::read(&bytes).unwrap();
        prop_assert_eq!(log.header, header);
        let mut before = Inputs::default();
        let read = log.ticks.iter().map(|tick| {
            before = decode(&before, tick).unwrap().0;
            before.clone()
        });
        prop_assert_eq!(read.collect::<Vec<_>>(), wires);
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        let after_magic = [b"strewn\r\n\x02\0".as_slice(), &bytes].concat();
        prop_assert!(Log::read(&bytes).is_err());
        prop_assert!(Log::read(&after_magic).is_err());
    }
}
