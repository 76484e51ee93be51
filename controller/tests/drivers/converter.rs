//! The converter on a scripted bus, and means of scans.

use embedded_hal::spi::{ErrorKind, ErrorType, Operation, SpiDevice};
use embedded_hal_mock::eh1::spi::{Mock as Spi, Transaction};
use strewn_controller::drivers::converter::{Converter, Inputs, broken, mean};
use strewn_controller::settings::SignalConfig;
use strewn_controller::wires::AnalogWires;

const INPUTS: Inputs =
    Inputs { pressure: 0, gauge: 1, reference: 7, coil_current: 4, valve_supply: 5 };

/// One conversion: what is sent for an input and what comes back; the first seven bits of the answer
/// are whatever the line held.
fn conversion(sent: [u8; 2], counts: u16) -> [Transaction<u8>; 3] {
    let [high, low] = counts.to_be_bytes();
    [
        Transaction::transaction_start(),
        Transaction::transfer_in_place(vec![sent[0], sent[1], 0], vec![0xFF, 0xE0 | high, low]),
        Transaction::transaction_end(),
    ]
}

#[test]
fn a_scan_converts_every_channel_once() {
    let script = [
        conversion([0x06, 0x00], 410),
        conversion([0x06, 0x40], 4_095),
        conversion([0x07, 0xC0], 2_048),
        conversion([0x07, 0x00], 0),
        conversion([0x07, 0x40], 1_234),
    ];
    let mut spi = Spi::new(&script.concat());
    let scan = Converter::new(spi.clone(), INPUTS).scan();
    let expected = AnalogWires {
        pressure: 410,
        gauge: 4_095,
        reference: 2_048,
        coil_current: 0,
        valve_supply: 1_234,
    };
    assert_eq!(scan, Ok(expected));
    spi.done();
}

/// A bus on which nothing answers.
struct Dead;

impl ErrorType for Dead {
    type Error = ErrorKind;
}

impl SpiDevice for Dead {
    fn transaction(&mut self, _: &mut [Operation<'_, u8>]) -> Result<(), ErrorKind> {
        Err(ErrorKind::Other)
    }
}

#[test]
fn a_bus_that_fails_ends_the_scan() {
    assert_eq!(Converter::new(Dead, INPUTS).scan(), Err(ErrorKind::Other));
}

#[test]
fn what_is_broken_lies_outside_every_live_zone() {
    let AnalogWires { pressure, gauge, reference, .. } = broken();
    let config = SignalConfig::TYPICAL;
    assert!(i32::from(pressure) < config.pressure.expect("fitted").lowest_counts);
    assert!(i32::from(gauge) < config.gauge.expect("fitted").lowest_counts);
    assert!(i32::from(reference) < config.reference_lowest_counts);
}

#[test]
fn means_of_scans() {
    let scans = [[0, 10, 2_047, 4_095, 65_535], [4, 11, 2_049, 4_095, 65_535]];
    let AnalogWires { pressure, gauge, reference, coil_current, valve_supply } = mean(&scans);
    assert_eq!((pressure, gauge, reference), (2, 10, 2_048));
    assert_eq!((coil_current, valve_supply), (4_095, 4_095));
    assert_eq!(mean(&[]), broken());
}
