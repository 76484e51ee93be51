//! The display on a scripted bus: every strip carries the lines of the picture, none is sent twice.

use embedded_graphics::pixelcolor::Rgb565;
use embedded_graphics_simulator::SimulatorDisplay;
use embedded_hal_mock::eh1::delay::{CheckedDelay, Transaction as Wait};
use embedded_hal_mock::eh1::digital::{Mock as Pin, State, Transaction as Level};
use embedded_hal_mock::eh1::spi::{Mock as Spi, Transaction};
use strewn_controller::drivers::display::{Display, STRIPS};
use strewn_controller::safety::Phase;
use strewn_controller::screen::{SIZE, draw};
use strewn_controller::view::View;

/// One write on the bus.
fn write(bytes: Vec<u8>) -> [Transaction<u8>; 3] {
    [
        Transaction::transaction_start(),
        Transaction::write_vec(bytes),
        Transaction::transaction_end(),
    ]
}

#[test]
fn the_strips_together_are_the_picture() {
    let view = View { phase: Phase::Laying, ..View::default() };
    let mut whole = SimulatorDisplay::<Rgb565>::new(SIZE);
    draw(&view, &mut whole).unwrap();
    let picture = whole.to_be_bytes();

    let mut writes: Vec<Vec<u8>> = vec![vec![0x11], vec![0x3A], vec![0x55], vec![0x29]];
    let mut levels = vec![State::Low, State::Low, State::High, State::Low];
    for (top, lines) in (0u8..).step_by(8).zip(picture.chunks(320 * 2 * 8)) {
        writes.extend([vec![0x2A], vec![0, 0, 1, 63], vec![0x2B], vec![0, top, 0, top + 7]]);
        writes.extend([vec![0x2C], lines.to_vec()]);
        levels.extend([State::Low, State::High].repeat(3));
    }
    let mut spi = Spi::new(&writes.into_iter().flat_map(write).collect::<Vec<_>>());
    let mut pin = Pin::new(&levels.into_iter().map(Level::set).collect::<Vec<_>>());
    let mut delay = CheckedDelay::new(&[Wait::delay_ms(120)]);

    let mut display = Display::new(spi.clone(), pin.clone(), &mut delay).unwrap();
    for _ in 0..STRIPS {
        display.show_strip(&view).unwrap();
    }
    spi.done();
    pin.done();
    delay.done();
}
