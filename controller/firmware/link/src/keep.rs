//! Settings handed over to a board that keeps them: the board's side. The laptop's is `strewn hand-over`.
//!
//! ```text
//! laptop                      board
//! Ask                    ->
//!                        <-   Holds: the version of its settings, and those that it keeps
//! Keep: version, settings ->
//!                        <-   Kept: what its flash holds now
//! ```
//! A board listens for a moment after each start and hands what comes to its [`Keeper`]. Flash is written
//! then and only then: erasing it halts a processor for longer than anything that turns may be left
//! alone. Once the loop runs a [`Porter`] hears the same orders: a machine at rest starts anew, so that
//! the keeper hears the order when the laptop repeats it; any other is [`Answer::Busy`].
//!
//! An order that was spoilt on the way is not answered. The laptop says it again, and a line that breaks
//! off before the last byte of an order has changed nothing.

use crate::frame::{Receiver, decode, whole};
use crate::message::{Answer, Kept, Order};
use embedded_storage::nor_flash::NorFlash;
use heapless::Vec;
use postcard::{from_bytes, take_from_bytes};
use strewn_controller::drivers::store::{Store, StoreError};
use strewn_controller::safety::Phase;
use strewn_controller::settings::Config;
use strewn_controller::wires::{LampBits, Outputs};

/// The version of the settings: another one for each change of what their bytes mean.
pub const VERSION: u32 = 1;

/// Keeps settings, before anything can turn.
#[derive(Debug)]
pub struct Keeper<F> {
    store: Store<F>,
    receiver: Receiver,
}

impl<F: NorFlash> Keeper<F> {
    /// Of what the store keeps.
    pub const fn new(store: Store<F>) -> Self {
        Self { store, receiver: Receiver::new() }
    }

    /// The settings that are kept, if they are sound: another program may have kept others.
    ///
    /// # Errors
    /// [`StoreError::Flash`].
    pub fn config(&mut self) -> Result<Option<Config>, StoreError<F::Error>> {
        Ok(self.store.load()?.and_then(sound))
    }

    /// Takes a byte of the line; the answer to the order that ends with it, if one does.
    ///
    /// # Errors
    /// [`StoreError::Flash`]; what was kept before is kept still.
    pub fn hear(&mut self, byte: u8) -> Result<Option<Answer>, StoreError<F::Error>> {
        let Self { store, receiver } = self;
        let Some(plain) = receiver.push(byte).and_then(whole) else { return Ok(None) };
        Ok(Some(match from_bytes(plain) {
            Ok(Order::Ask) => Answer::Holds(kept(store)?),
            Ok(Order::Keep { version: VERSION, bytes }) if sound(bytes).is_some() => {
                match store.save(bytes) {
                    Err(StoreError::TooLong) => Answer::Refused,
                    saved => saved.and_then(|()| kept(store)).map(Answer::Kept)?,
                }
            }
            _ => Answer::Refused,
        }))
    }
}

fn kept<F: NorFlash>(store: &mut Store<F>) -> Result<Kept, StoreError<F::Error>> {
    let sound = store.load()?.filter(|bytes| sound(bytes).is_some());
    let bytes = sound.and_then(|bytes| Vec::from_slice(bytes).ok());
    Ok(Kept { version: VERSION, bytes: bytes.unwrap_or_default() })
}

/// Settings from their bytes, if they are whole and allowed.
#[must_use]
pub fn sound(bytes: &[u8]) -> Option<Config> {
    let (config, rest): (Config, _) = take_from_bytes(bytes).ok()?;
    (rest.is_empty() && config.build().is_ok()).then_some(config)
}

/// What a board whose loop runs does when it is called.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Call {
    /// Answer [`Answer::Busy`] and go on.
    Busy,
    /// Start anew, outputs off first.
    Restart,
}

/// Hears whether the laptop calls, while the loop runs.
#[derive(Clone, Debug, Default)]
pub struct Porter {
    receiver: Receiver,
}

impl Porter {
    /// Takes a byte of the line, beside the newest outputs; what to do if an order for the keeper ends
    /// with it.
    pub fn hear(&mut self, byte: u8, outputs: &Outputs) -> Option<Call> {
        match self.receiver.push(byte).and_then(decode)? {
            Order::Ask | Order::Keep { .. } if at_rest(outputs) => Some(Call::Restart),
            Order::Ask | Order::Keep { .. } => Some(Call::Busy),
            _ => None,
        }
    }
}

/// Whether a start anew changes nothing that anybody relies on. A machine that was stopped by a fault is
/// not at rest: it would forget the fault.
fn at_rest(outputs: &Outputs) -> bool {
    let stands = !outputs.enable && !outputs.lamps.has(LampBits::STILL_TURNING);
    outputs.view.phase == Phase::Resting && stands
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::{LONGEST_FRAME, encode};
    use crate::fuzz::config;
    use crc::{CRC_32_ISO_HDLC, Crc};
    use std::format;
    use std::string::String;
    use strewn_controller::settings::SignalConfig;
    use strewn_controller::view::View;

    /// Settings have no version of their own: what they are called stands in for what their bytes mean. Other
    /// names for the same bytes need another digest only.
    #[test]
    fn settings_that_change_need_another_version() {
        let every = Config { signals: SignalConfig::TYPICAL, ..config(0) };
        let words = format!("{every:?}");
        let names: String =
            words.chars().filter(|sign| sign.is_alphabetic() || *sign == '_').collect();
        let digest = Crc::<u32>::new(&CRC_32_ISO_HDLC).checksum(names.as_bytes());
        assert_eq!(
            (VERSION, digest),
            (1, 0x22F8_3594),
            "raise the version, so that no board takes settings for what they are not; then note this digest"
        );
    }

    fn call(order: &Order<'_>, outputs: &Outputs) -> Option<Call> {
        let mut frame = [0; LONGEST_FRAME];
        let length = encode(order, &mut frame).expect("room");
        let mut porter = Porter::default();
        frame[..length].iter().find_map(|byte| porter.hear(*byte, outputs))
    }

    #[test]
    fn only_a_machine_at_rest_starts_anew() {
        let resting = Outputs::default();
        let in_phase = |phase| Outputs { view: View { phase, ..View::default() }, ..resting };
        let keep = Order::Keep { version: VERSION, bytes: &[] };
        for order in [&Order::Ask, &keep] {
            assert_eq!(call(order, &resting), Some(Call::Restart));
            for phase in [
                Phase::Testing,
                Phase::Armed,
                Phase::Laying,
                Phase::Paused,
                Phase::Latched,
                Phase::Isolated,
            ] {
                assert_eq!(call(order, &in_phase(phase)), Some(Call::Busy), "{phase:?}");
            }
            let turning = LampBits(LampBits::STILL_TURNING);
            assert_eq!(call(order, &Outputs { lamps: turning, ..resting }), Some(Call::Busy));
            assert_eq!(call(order, &Outputs { enable: true, ..resting }), Some(Call::Busy));
        }
        assert_eq!(call(&Order::Greet, &resting), None);
    }
}
