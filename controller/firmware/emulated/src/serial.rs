//! The line to the laptop: bytes received are kept by an interrupt, bytes sent are waited for.

use crate::ports::UART0;
use core::sync::atomic::{AtomicU8, AtomicUsize, Ordering};
use strewn_link::frame::{self, LONGEST_FRAME, Receiver};
use strewn_link::message::Answer;

const RING: usize = 1_024;
static BYTES: [AtomicU8; RING] = [const { AtomicU8::new(0) }; RING];
/// Bytes put in and taken out since the start; both wrap, and the ring's length divides their range.
static PUT: AtomicUsize = AtomicUsize::new(0);
static TAKEN: AtomicUsize = AtomicUsize::new(0);

/// Turns the port on.
pub fn start() {
    UART0.divider.write(16);
    UART0.control.write(0b1011);
    // A reset may have cut a frame off: this ends it, so that the next one is not lost with it.
    UART0.data.write(0);
}

/// Takes what the port has received. From its interrupt only. A byte that finds no room is lost; the
/// checksum of its frame tells.
pub fn on_interrupt() {
    UART0.interrupt.write(0b10);
    while UART0.state.read() & 0b10 != 0 {
        let [byte, ..] = UART0.data.read().to_le_bytes();
        let put = PUT.load(Ordering::Relaxed);
        if put.wrapping_sub(TAKEN.load(Ordering::Acquire)) >= RING {
            return;
        }
        if let Some(place) = BYTES.get(put % RING) {
            place.store(byte, Ordering::Relaxed);
        }
        PUT.store(put.wrapping_add(1), Ordering::Release);
    }
}

/// The next byte received.
fn take() -> Option<u8> {
    let taken = TAKEN.load(Ordering::Relaxed);
    if taken == PUT.load(Ordering::Acquire) {
        return None;
    }
    let byte = BYTES.get(taken % RING)?.load(Ordering::Relaxed);
    TAKEN.store(taken.wrapping_add(1), Ordering::Release);
    Some(byte)
}

/// Feeds the receiver with what has come; the content of the first whole frame.
pub fn receive(receiver: &mut Receiver) -> Option<&[u8]> {
    // Asked twice, because a borrow that may be returned cannot be given up in a loop.
    loop {
        let byte = take()?;
        if byte == 0 {
            return receiver.push(byte);
        }
        receiver.push(byte);
    }
}

/// Sends an answer and waits until the last byte is on the line.
pub fn send(answer: &Answer) {
    let mut out = [0; LONGEST_FRAME];
    let bytes = frame::encode(answer, &mut out).and_then(|length| out.get(..length));
    for byte in bytes.unwrap_or_default() {
        while UART0.state.read() & 1 != 0 {}
        UART0.data.write(u32::from(*byte));
    }
}
