//! Settings: taken from the line in the first half second, kept in flash.
//!
//! Erasing a piece of flash halts the processor for more than a second. Therefore nothing is kept once
//! the loop has begun, and the loop's watchdog starts after this.

use crate::devices::MicrosecondClock;
use crate::wiring::Line;
use postcard::{from_bytes, to_slice};
use stm32f4xx_hal::flash::{FlashExt, LockedFlash};
use stm32f4xx_hal::prelude::*;
use strewn_controller::drivers::store::{MOST, Store};
use strewn_controller::record::digest;
use strewn_controller::settings::Config;
use strewn_controller::step::State;
use strewn_link::frame::{LONGEST_FRAME, Receiver, decode, encode};
use strewn_link::message::{Answer, Order};

/// The two slots: the last two pieces of flash of 128 KiB each, behind the program.
const SLOTS: u32 = 0x4_0000;
const SLOT_BYTES: u32 = 0x2_0000;
/// How long settings are waited for when there are some already.
const LISTEN_US: u32 = 500_000;

/// The settings to run with: those that the line brings now, or those kept. Waits for the line as long
/// as there are none. `None` if the flash does not obey.
pub fn settings(mut line: Line, mut flash: LockedFlash, clock: MicrosecondClock) -> Option<Config> {
    let unlocked = flash.unlocked();
    let mut store = Store::open(unlocked, SLOTS, SLOT_BYTES).ok()?;
    let kept = store.load().ok()?.and_then(read);
    let begin_us = clock.now_us();
    let mut receiver = Receiver::new();
    loop {
        if let Some(kept) = &kept
            && clock.now_us().wrapping_sub(begin_us) > LISTEN_US
        {
            return Some(kept.clone());
        }
        let Ok(byte) = line.read() else { continue };
        let Some(content) = receiver.push(byte) else { continue };
        let sound = match decode(content) {
            Some(Order::Set(config)) => config.build().ok().map(|settings| (config, settings)),
            _ => None,
        };
        let Some((config, settings)) = sound else {
            answer(&mut line, &Answer::Refused);
            continue;
        };
        let mut bytes = [0; MOST];
        let bytes = to_slice(&config, &mut bytes).ok()?;
        store.save(bytes).ok()?;
        answer(&mut line, &Answer::Ready(digest(0, &State::new(&settings))));
        return Some(config);
    }
}

/// Settings as they were kept, if they are sound still: another program may have kept others.
fn read(bytes: &[u8]) -> Option<Config> {
    let config: Config = from_bytes(bytes).ok()?;
    config.build().is_ok().then_some(config)
}

fn answer(line: &mut Line, answer: &Answer) {
    let mut out = [0; LONGEST_FRAME];
    let bytes = encode(answer, &mut out).and_then(|length| out.get(..length));
    for byte in bytes.unwrap_or_default() {
        // The port sends whether or not anybody listens.
        let _ = nb::block!(line.write(*byte));
    }
}
