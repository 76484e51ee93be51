//! Enable, watchdog and lamps on scripted pins.

use embedded_hal_mock::eh1::MockError;
use embedded_hal_mock::eh1::digital::{Mock as Pin, State, Transaction as Level};
use std::io::ErrorKind;
use strewn_controller::drivers::outputs::{LAMPS, Pins};
use strewn_controller::wires::{LampBits, Outputs};

use State::{High, Low};

fn pin(levels: &[State]) -> Pin {
    Pin::new(&levels.iter().map(|level| Level::set(*level)).collect::<Vec<_>>())
}

fn done(pins: impl IntoIterator<Item = Pin>) {
    for mut pin in pins {
        pin.done();
    }
}

#[test]
fn the_watchdog_changes_its_level_only_when_it_is_fed() {
    let (enable, watchdog) = (pin(&[Low, High, High, Low]), pin(&[Low, High, Low]));
    let dark = || pin(&[Low; 3]);
    let lamps = [dark(), pin(&[High, High, Low]), dark(), dark(), dark()];
    let mut pins = Pins::new(enable.clone(), watchdog.clone(), lamps.clone()).unwrap();
    let lit = LampBits::default().with(LampBits::LAYING, true);
    let good = Outputs { enable: true, feed_watchdog: true, lamps: lit, ..Outputs::default() };
    for outputs in [good, good, Outputs::default()] {
        pins.obey(&outputs).unwrap();
    }
    done(lamps.into_iter().chain([enable, watchdog]));
}

#[test]
fn a_pin_that_fails_starves_the_watchdog() {
    let broken = MockError::Io(ErrorKind::NotConnected);
    let lamp = Pin::new(&[Level::set(Low).with_error(broken.clone())]);
    let (enable, watchdog) = (pin(&[Low, High]), pin(&[Low]));
    let lamps = [lamp, pin(&[]), pin(&[]), pin(&[]), pin(&[])];
    let mut pins = Pins::new(enable.clone(), watchdog.clone(), lamps.clone()).unwrap();
    let good = Outputs { enable: true, feed_watchdog: true, ..Outputs::default() };
    assert_eq!(pins.obey(&good), Err(broken));
    done(lamps.into_iter().chain([enable, watchdog]));
}

#[test]
fn failing_safe_tries_every_pin() {
    let broken = MockError::Io(ErrorKind::NotConnected);
    let enable = Pin::new(&[Level::set(Low), Level::set(Low).with_error(broken.clone())]);
    let watchdog = pin(&[Low]);
    let lamps: [Pin; LAMPS] = [Low, Low, High, Low, High].map(|level| pin(&[level]));
    let mut pins = Pins::new(enable.clone(), watchdog.clone(), lamps.clone()).unwrap();
    assert_eq!(pins.fail_safe(), Err(broken));
    done(lamps.into_iter().chain([enable, watchdog]));
}
