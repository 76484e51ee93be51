//! The tractor's bus: takes what the controller reads, sends what it must.

use super::address::AddressClaim;
use crate::signals::isobus::{
    Flag, GROUND_SPEED, Identifier, Message, SELECTED_SPEED, STOP_BUTTON, WHEEL_SPEED,
};
use crate::units::Instant;
use crate::wires::{FRAMES, Frame};
use embedded_can::{ExtendedId, Frame as _, Id};
use heapless::Vec;

/// Most frames taken off the bus in one tick: three times what 250 kbit/s bring in 10 ms.
const MOST: usize = 64;

/// Frames that may wait to be sent.
const QUEUE: usize = 4;

/// Frames for one tick of the controller.
pub type Frames = Vec<Frame, FRAMES>;

/// The bus.
#[derive(Debug)]
pub struct Bus<C> {
    can: C,
    claim: Option<AddressClaim>,
    /// Frames that the bus had no room for yet.
    waiting: Vec<Frame, QUEUE>,
    dropped: u32,
}

impl<C: embedded_can::nb::Can> Bus<C> {
    /// Listens only, unless an address is to be claimed.
    pub const fn new(can: C, claim: Option<AddressClaim>) -> Self {
        Self { can, claim, waiting: Vec::new(), dropped: 0 }
    }

    /// The address claimed, once it may be used.
    #[must_use]
    pub fn address(&self) -> Option<u8> {
        self.claim.as_ref().and_then(AddressClaim::address)
    }

    /// Frames that could not be sent because the bus took none for too long; saturates.
    #[must_use]
    pub const fn dropped(&self) -> u32 {
        self.dropped
    }

    /// Takes everything that has come, keeps what the controller reads, and sends what is due.
    ///
    /// # Errors
    /// The first error of the bus, behind the frames that had come by then. Silence is for floor 1 to
    /// judge.
    pub fn poll(&mut self, now: Instant) -> (Frames, Result<(), C::Error>) {
        let mut kept = Frames::new();
        for _ in 0..MOST {
            let frame = match self.can.receive() {
                Ok(frame) => frame,
                Err(nb::Error::WouldBlock) => break,
                Err(nb::Error::Other(error)) => return (kept, Err(error)),
            };
            let Some(frame) = taken(&frame) else { continue };
            if let Some(claim) = &mut self.claim {
                claim.take(&frame, now);
            }
            keep(&mut kept, frame);
        }
        if let Some(frame) = self.claim.as_mut().and_then(|claim| claim.poll(now)) {
            self.send(frame);
        }
        (kept, self.flush())
    }

    /// Puts a frame in the queue; [`Bus::poll`] sends it. The oldest is dropped if there is no room:
    /// on a bus that takes nothing, only the latest command means anything.
    pub fn send(&mut self, frame: Frame) {
        if self.waiting.is_full() {
            self.waiting.remove(0);
            self.dropped = self.dropped.saturating_add(1);
        }
        // There is room now.
        let _ = self.waiting.push(frame);
    }

    /// Sends what waits, at most as much as fits in the queue.
    fn flush(&mut self) -> Result<(), C::Error> {
        for _ in 0..QUEUE {
            let Some(frame) = self.waiting.first() else { break };
            let id = ExtendedId::new(frame.id & 0x1FFF_FFFF).unwrap_or(ExtendedId::MAX);
            let displaced = match C::Frame::new(id, &frame.data) {
                Some(outgoing) => match self.can.transmit(&outgoing) {
                    Ok(displaced) => displaced,
                    Err(nb::Error::WouldBlock) => break,
                    Err(nb::Error::Other(error)) => return Err(error),
                },
                None => None,
            };
            self.waiting.remove(0);
            // A more urgent frame took the place of one that waited in the hardware.
            if let Some(displaced) = displaced.as_ref().and_then(taken) {
                self.send(displaced);
            }
        }
        Ok(())
    }

    /// Gives the bus back.
    pub fn release(self) -> C {
        self.can
    }
}

/// A frame with a long identifier and data; shorter ones are filled with "not available", as a request
/// has three bytes. `None` for any other kind.
fn taken(frame: &impl embedded_can::Frame) -> Option<Frame> {
    let Id::Extended(id) = frame.id() else { return None };
    if frame.is_remote_frame() {
        return None;
    }
    let mut data = [0xFF; 8];
    for (byte, given) in data.iter_mut().zip(frame.data()) {
        *byte = *given;
    }
    Some(Frame { id: id.as_raw(), data })
}

/// Keeps a frame that the controller reads: the latest of each speed, and stops before all else.
fn keep(kept: &mut Frames, frame: Frame) {
    match Identifier::decode(frame.id).group {
        STOP_BUTTON => {
            if kept.is_full() {
                let Some(place) = kept.iter().position(|other| !is_stop(other)) else { return };
                kept.remove(place);
            }
        }
        WHEEL_SPEED | GROUND_SPEED | SELECTED_SPEED => {
            if let Some(earlier) = kept.iter_mut().find(|other| other.id == frame.id) {
                *earlier = frame;
                return;
            }
        }
        _ => return,
    }
    // A speed that finds no room comes again in 100 ms.
    let _ = kept.push(frame);
}

/// Whether a frame asks all implements to stop.
fn is_stop(frame: &Frame) -> bool {
    matches!(Message::decode(frame), Some(Message::Stop { permitted: Flag::Off, .. }))
}
