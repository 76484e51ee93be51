//! Every way in which the program can end: safe outputs first, then a record, then a reset.

use crate::ports::PINS;
use crate::{kept, serial};
use core::sync::atomic::{AtomicBool, Ordering};
use cortex_m::peripheral::SCB;
use cortex_m_rt::{ExceptionFrame, exception};
use strewn_link::message::Ended;

/// Interrupt of a byte received from the laptop.
pub const SERIAL: i16 = 0;
/// Interrupt of the timer that a rehearsal sets to a random moment.
pub const TIMER: i16 = 8;

/// Whether a step is being made.
pub static IN_STEP: AtomicBool = AtomicBool::new(false);

/// All outputs off.
pub fn make_safe() {
    PINS.write(0);
}

fn end(ended: Ended) -> ! {
    make_safe();
    kept::note(ended);
    SCB::sys_reset()
}

/// Not in the image at all as long as nothing in it can panic.
#[panic_handler]
fn on_panic(information: &core::panic::PanicInfo<'_>) -> ! {
    end(Ended::Panic(information.location().map_or(0, |place| place.line())))
}

#[exception]
unsafe fn HardFault(frame: &ExceptionFrame) -> ! {
    end(Ended::Fault(frame.pc()))
}

/// The watchdog's warning: it was not fed. Its reset follows by itself if even this hangs.
#[exception]
unsafe fn NonMaskableInt() {
    end(Ended::Watchdog)
}

/// All interrupts of devices.
#[exception]
unsafe fn DefaultHandler(number: i16) {
    match number {
        SERIAL => serial::on_interrupt(),
        TIMER => {
            // The pins stay as they are: what a sudden reset makes of them is what is being tried.
            kept::note(Ended::Rehearsal { in_step: IN_STEP.load(Ordering::Relaxed) });
            SCB::sys_reset()
        }
        other => end(Ended::Fault(other.unsigned_abs().into())),
    }
}
