//! Log messages, in defmt's encoding, over the second serial port.

use crate::ports::UART1;
use core::cell::UnsafeCell;
use core::sync::atomic::{AtomicBool, Ordering};
use cortex_m::{interrupt, register::primask};
use defmt::Encoder;

/// Turns the port on.
pub fn start() {
    UART1.divider.write(16);
    UART1.control.write(1);
}

fn put(bytes: &[u8]) {
    for byte in bytes {
        while UART1.state.read() & 1 != 0 {}
        UART1.data.write(u32::from(*byte));
    }
}

struct Shared {
    encoder: UnsafeCell<Encoder>,
    busy: AtomicBool,
    /// Whether interrupts were on before the message.
    interrupts: AtomicBool,
}

// SAFETY: the encoder is touched between `acquire` and `release` only, while interrupts are off; what
// cannot be masked finds `busy` set and leaves it alone.
unsafe impl Sync for Shared {}

static SHARED: Shared = Shared {
    encoder: UnsafeCell::new(Encoder::new()),
    busy: AtomicBool::new(false),
    interrupts: AtomicBool::new(false),
};

#[defmt::global_logger]
struct Logger;

// SAFETY: messages do not mix, see `Shared`. A message in the middle of another one - from a fault
// handler - waits for ever in the trait's own terms; handlers here do not log, they keep a record.
unsafe impl defmt::Logger for Logger {
    fn acquire() {
        let on = primask::read().is_active();
        interrupt::disable();
        SHARED.busy.store(true, Ordering::Relaxed);
        SHARED.interrupts.store(on, Ordering::Relaxed);
        // SAFETY: interrupts are off until `release`.
        unsafe { (*SHARED.encoder.get()).start_frame(put) };
    }

    unsafe fn flush() {}

    unsafe fn release() {
        // SAFETY: called after `acquire`, before interrupts are on again.
        unsafe { (*SHARED.encoder.get()).end_frame(put) };
        SHARED.busy.store(false, Ordering::Relaxed);
        if SHARED.interrupts.load(Ordering::Relaxed) {
            // SAFETY: they were on when the message began.
            unsafe { interrupt::enable() };
        }
    }

    unsafe fn write(bytes: &[u8]) {
        // SAFETY: called between `acquire` and `release`.
        unsafe { (*SHARED.encoder.get()).write(bytes, put) };
    }
}
