//! Settings: handed over by the laptop after a start, kept in flash.
//!
//! Erasing a piece of flash halts the processor for more than a second. Therefore nothing is kept once
//! the loop has begun, and the loop's watchdog starts after this.

use crate::devices::MicrosecondClock;
use crate::wiring::Line;
use stm32f4xx_hal::flash::{FlashExt, LockedFlash};
use stm32f4xx_hal::prelude::*;
use strewn_controller::drivers::store::Store;
use strewn_controller::settings::Config;
use strewn_link::frame::{LONGEST_FRAME, encode};
use strewn_link::keep::Keeper;
use strewn_link::message::Answer;

/// The two slots: the last two pieces of flash of 128 KiB each, behind the program.
const SLOTS: u32 = 0x4_0000;
const SLOT_BYTES: u32 = 0x2_0000;
/// How long the laptop is listened for after the start and after each of its orders.
const LISTEN_US: u32 = 500_000;

/// The settings to run with: those kept, once the laptop has nothing to say. Waits for it as long as there
/// are none. `None` if the flash does not obey.
pub fn settings(line: &mut Line, mut flash: LockedFlash, clock: MicrosecondClock) -> Option<Config> {
    let mut keeper = Keeper::new(Store::open(flash.unlocked(), SLOTS, SLOT_BYTES).ok()?);
    let mut heard_us = clock.now_us();
    loop {
        if clock.now_us().wrapping_sub(heard_us) > LISTEN_US {
            if let Some(config) = keeper.config().ok()? {
                return Some(config);
            }
            heard_us = clock.now_us();
        }
        let Ok(byte) = line.read() else { continue };
        if let Some(reply) = keeper.hear(byte).ok()? {
            answer(line, &reply);
            heard_us = clock.now_us();
        }
    }
}

/// Answers, and waits until the last byte is on its way.
pub fn answer(line: &mut Line, answer: &Answer) {
    let mut out = [0; LONGEST_FRAME];
    let bytes = encode(answer, &mut out).and_then(|length| out.get(..length));
    for byte in bytes.unwrap_or_default() {
        // The port sends whether or not anybody listens.
        let _ = nb::block!(line.write(*byte));
    }
}
