//! What comes by itself: edges of the pulse sensors, bytes of the satellite receiver and of the laptop.

use core::cell::{Cell, RefCell};
use cortex_m::interrupt::{Mutex, free};
use heapless::Deque;
use stm32f4xx_hal::pac::{self, interrupt, usart1};
use strewn_controller::drivers::capture::Capture;
use strewn_controller::wires::PulseWire;

/// Pulse sensors: two rollers, then the ground wheel.
pub const PULSES: usize = 3;

/// Bytes between two rounds at 38,400 baud, a hundred times over; between two ticks at 115,200, four times.
const BYTES: usize = 512;

static CAPTURES: [Mutex<Cell<Capture>>; PULSES] =
    [const { Mutex::new(Cell::new(Capture::new())) }; PULSES];

/// Bytes of the satellite receiver.
pub static RECEIVER: Received = Received::new();
/// Bytes of the laptop.
pub static LAPTOP: Received = Received::new();

/// Bytes of a serial port, or word of one that was spoilt or lost.
pub struct Received(Mutex<RefCell<Deque<Option<u8>, BYTES>>>);

impl Received {
    const fn new() -> Self {
        Self(Mutex::new(RefCell::new(Deque::new())))
    }

    /// The next byte, or `Some(None)` if one was lost.
    pub fn take(&self) -> Option<Option<u8>> {
        free(|section| self.0.borrow(section).try_borrow_mut().ok()?.pop_front())
    }

    /// Keeps what the port has received. From its interrupt only.
    fn put(&self, port: &usart1::RegisterBlock) {
        let state = port.sr().read();
        let spoilt = state.ore().bit() || state.fe().bit() || state.nf().bit();
        // Reading takes the flags.
        let [byte, ..] = port.dr().read().dr().bits().to_le_bytes();
        let byte = (!spoilt).then_some(byte);
        free(|section| {
            // Never borrowed while interrupts are on.
            let Ok(mut received) = self.0.borrow(section).try_borrow_mut() else { return };
            if received.push_back(byte).is_err() {
                // Full: what was there is older than anything that would still be believed.
                received.clear();
            }
        });
    }
}

/// The pulse sensors as they stand.
pub fn pulses() -> [PulseWire; PULSES] {
    free(|section| {
        [0, 1, 2].map(|place: usize| {
            let capture = CAPTURES.get(place).map(|capture| capture.borrow(section).get());
            capture.unwrap_or_default().wire()
        })
    })
}

/// An edge on one of the channels of timer 2.
#[interrupt]
fn TIM2() {
    // SAFETY: captures are read and their flags cleared here and nowhere else.
    let timer = unsafe { &*pac::TIM2::ptr() };
    let state = timer.sr().read();
    // Reading a capture clears its flag, so that one without an edge must not be read.
    let caught = [
        state.cc1if().bit().then(|| timer.ccr1().read().bits()),
        state.cc2if().bit().then(|| timer.ccr2().read().bits()),
        state.cc3if().bit().then(|| timer.ccr3().read().bits()),
    ];
    // Read after the captures, so that none is younger than now.
    let now_us = timer.cnt().read().bits();
    let state = timer.sr().read();
    let overrun = [state.cc1of().bit(), state.cc2of().bit(), state.cc3of().bit()];
    let [first, second, third] = overrun.map(|seen| !seen);
    // A flag is cleared by a zero and left alone by a one: only what was seen here is cleared.
    timer.sr().write(|flags| {
        // SAFETY: ones leave every flag alone.
        let flags = unsafe { flags.bits(u32::MAX) };
        flags.cc1of().bit(first).cc2of().bit(second).cc3of().bit(third)
    });
    free(|section| {
        for (cell, (at_us, overrun)) in CAPTURES.iter().zip(caught.into_iter().zip(overrun)) {
            let mut capture = cell.borrow(section).get();
            if let Some(at_us) = at_us {
                capture.on_edge(low(at_us), low(now_us), now_us);
            }
            if overrun {
                capture.on_overrun();
            }
            cell.borrow(section).set(capture);
        }
    });
}

/// The low half of a count.
fn low(count: u32) -> u16 {
    let [low, high, ..] = count.to_le_bytes();
    u16::from_le_bytes([low, high])
}

/// A byte of the satellite receiver.
#[interrupt]
fn USART1() {
    // SAFETY: state and data are read here and nowhere else.
    RECEIVER.put(unsafe { &*pac::USART1::ptr() });
}

/// A byte of the laptop.
#[interrupt]
fn USART2() {
    // SAFETY: state and data are read here and, before this interrupt is asked for, by whoever asks.
    LAPTOP.put(unsafe { &*pac::USART2::ptr() });
}
