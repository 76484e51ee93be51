//! The board's registers: the only place that touches memory by address.
//!
//! Source: Arm, Application Note AN386, Cortex-M4 on the MPS2 board; Arm, Cortex-M System Design Kit
//! Technical Reference Manual (r1p0) for the serial ports, the timer and the watchdog.

use core::ptr;

/// A register of 32 bits.
#[derive(Clone, Copy)]
pub struct Register(usize);

impl Register {
    /// Reads it.
    pub fn read(self) -> u32 {
        // SAFETY: only the constants below exist; each is the address of an aligned register that may
        // be read at any time.
        unsafe { ptr::read_volatile(self.0 as *const u32) }
    }

    /// Writes it.
    pub fn write(self, value: u32) {
        // SAFETY: as above; a write changes a device and no memory that Rust knows of.
        unsafe { ptr::write_volatile(self.0 as *mut u32, value) }
    }
}

/// A serial port.
#[derive(Clone, Copy)]
pub struct Uart {
    /// The byte received or to send.
    pub data: Register,
    /// Bit 0: the sender is full. Bit 1: a byte has been received.
    pub state: Register,
    /// Bits 0 and 1: sender and receiver on. Bit 3: interrupt for a received byte.
    pub control: Register,
    /// Which interrupts wait; written to clear.
    pub interrupt: Register,
    /// Clock divider; 16 at least.
    pub divider: Register,
}

const fn uart(base: usize) -> Uart {
    Uart {
        data: Register(base),
        state: Register(base + 4),
        control: Register(base + 8),
        interrupt: Register(base + 12),
        divider: Register(base + 16),
    }
}

/// To the laptop.
pub const UART0: Uart = uart(0x4000_4000);
/// Log messages.
pub const UART1: Uart = uart(0x4000_5000);

/// Timer 0. Bit 0: on. Bit 3: interrupt when it reaches zero.
pub const TIMER_CONTROL: Register = Register(0x4000_0000);
/// Its count, down to zero at 25 MHz.
pub const TIMER_VALUE: Register = Register(0x4000_0004);
/// What it starts again from.
pub const TIMER_RELOAD: Register = Register(0x4000_0008);

/// Watchdog: what it counts down from at 25 MHz.
pub const WATCHDOG_LOAD: Register = Register(0x4000_8000);
/// Written to feed it: it begins anew, and a warning that waits is taken back.
pub const WATCHDOG_CLEAR: Register = Register(0x4000_800C);
/// Bit 0: on, with the interrupt that cannot be masked at the first zero. Bit 1: reset at the second.
pub const WATCHDOG_CONTROL: Register = Register(0x4000_8008);

/// The two lamps of the board stand in for the output pins. A reset turns them off.
pub const PINS: Register = Register(0x4002_8000);

/// Where recorded ticks lie for [`strewn_link::message::Order::Replay`].
const STORE: *const u8 = 0x2100_0000 as *const u8;
/// Size of that memory.
const STORE_BYTES: usize = 16 << 20;

/// So many bytes of the store; none if it is not so large.
pub fn store(bytes: u32) -> Option<&'static [u8]> {
    let bytes = usize::try_from(bytes).ok().filter(|bytes| *bytes <= STORE_BYTES)?;
    // SAFETY: the board has this memory from the start, all of it initialised; no section of the
    // program lies in it and nobody writes to it.
    Some(unsafe { core::slice::from_raw_parts(STORE, bytes) })
}
