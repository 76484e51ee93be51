//! Every way in which the program can end: outputs off first, then a record, then a reset.
//!
//! Nothing is logged here: an end may come in the middle of a log message. The next start tells.

use core::sync::atomic::{AtomicU32, Ordering};
use cortex_m::peripheral::SCB;
use cortex_m_rt::{ExceptionFrame, exception};
use stm32f4xx_hal::pac;

/// Says that the record was written; what the power-on leaves in memory does not read like this.
const MARK: u32 = 0x5EED_0F0B;

/// How the last run ended: mark, kind, and line, address or number.
// The attribute is unsafe because a section's content may not be what the type demands; any bits are an
// `AtomicU32`.
#[unsafe(link_section = ".uninit.ended")]
static ENDED: [AtomicU32; 3] = [const { AtomicU32::new(0) }; 3];

/// What ended a run.
#[derive(Clone, Copy, PartialEq, Eq, defmt::Format)]
pub enum Ended {
    /// Power, the watchdog, or the button: nothing was written.
    Otherwise,
    /// The wiring or the flash refused at the start.
    Refused,
    /// A panic in this line.
    Panic(u32),
    /// A fault at this address.
    Fault(u32),
    /// An interrupt that nobody asked for.
    Interrupt(u32),
    /// The laptop called, and the machine was at rest.
    Called,
}

/// Enable and watchdog pin low, both coils' pins taken from their timer and pulled to nothing.
fn make_safe() {
    // SAFETY: whoever had the ports never runs again: every caller ends in a reset.
    let (outputs, coils) = unsafe { (&*pac::GPIOB::ptr(), &*pac::GPIOA::ptr()) };
    outputs.bsrr().write(|pins| pins.br0().set_bit().br1().set_bit());
    coils.bsrr().write(|pins| pins.br6().set_bit().br7().set_bit());
    coils.moder().modify(|_, pins| pins.moder6().output().moder7().output());
}

/// Ends the run.
pub fn end(ended: Ended) -> ! {
    make_safe();
    let (kind, detail) = match ended {
        Ended::Otherwise => (0, 0),
        Ended::Refused => (1, 0),
        Ended::Panic(line) => (2, line),
        Ended::Fault(address) => (3, address),
        Ended::Interrupt(number) => (4, number),
        Ended::Called => (5, 0),
    };
    for (word, value) in ENDED.iter().zip([MARK, kind, detail]) {
        word.store(value, Ordering::Relaxed);
    }
    SCB::sys_reset()
}

/// How the last run ended. Forgets it.
pub fn last() -> Ended {
    let [mark, kind, detail] = &ENDED;
    let marked = mark.swap(0, Ordering::Relaxed) == MARK;
    let detail = detail.load(Ordering::Relaxed);
    match kind.load(Ordering::Relaxed) {
        1 if marked => Ended::Refused,
        2 if marked => Ended::Panic(detail),
        3 if marked => Ended::Fault(detail),
        4 if marked => Ended::Interrupt(detail),
        5 if marked => Ended::Called,
        _ => Ended::Otherwise,
    }
}

#[panic_handler]
fn on_panic(information: &core::panic::PanicInfo<'_>) -> ! {
    end(Ended::Panic(information.location().map_or(0, |place| place.line())))
}

#[exception]
unsafe fn HardFault(frame: &ExceptionFrame) -> ! {
    end(Ended::Fault(frame.pc()))
}

#[exception]
unsafe fn DefaultHandler(number: i16) {
    end(Ended::Interrupt(number.unsigned_abs().into()))
}
