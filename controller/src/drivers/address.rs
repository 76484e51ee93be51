//! A place among the tractor's units: claims an address on the bus and defends it.
//!
//! Only a controller that speaks on the bus needs it, as one that commands a valve of the tractor.
//! Groups, order of claims and times: SAE J1939-81 and ISO 11783-5 as publicly described (canboat,
//! PGN list, groups 59904 and 60928; times from memory). No conformity is claimed.

use crate::signals::isobus::Identifier;
use crate::units::{Instant, Span};
use crate::wires::Frame;

/// Asks for a group.
pub const REQUEST: u32 = 0xEA00;
/// An address is claimed, or cannot be.
pub const CLAIMED: u32 = 0xEE00;
/// Everyone.
pub const GLOBAL: u8 = 255;
/// Nobody: who has no address speaks from here.
pub const NOBODY: u8 = 254;
/// First and last of the addresses that a unit may choose by itself.
const CHOICE: (u8, u8) = (128, 247);
/// From a claim until the address may be used.
const WAIT: Span = Span::from_millis(250);

/// The 64-bit name by which units on a bus are told apart; the lower one keeps the address.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Name(pub u64);

/// The parts of a [`Name`]; bits that do not fit are dropped. Manufacturer codes and functions are
/// given out by the bodies that keep the standards: a builder asks there, and invents none.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct NameParts {
    /// Serial number, 21 bits.
    pub identity: u32,
    /// Maker, 11 bits.
    pub manufacturer: u16,
    /// Which of several equal units, 3 bits.
    pub unit_instance: u8,
    /// Which of several equal functions, 5 bits.
    pub function_instance: u8,
    /// What it does, 8 bits.
    pub function: u8,
    /// Kind of machine, 7 bits.
    pub class: u8,
    /// Which of several equal machines, 4 bits.
    pub class_instance: u8,
    /// Trade, 3 bits; 2 is agriculture.
    pub industry: u8,
    /// Whether it may choose another address when it loses one.
    pub chooses: bool,
}

impl Name {
    /// Puts the parts together.
    #[must_use]
    pub fn new(parts: NameParts) -> Self {
        let NameParts { identity, manufacturer, .. } = parts;
        let low = (identity & 0x1F_FFFF) | u32::from(manufacturer).wrapping_shl(21);
        let instances = (parts.unit_instance & 7) | parts.function_instance.wrapping_shl(3);
        let choice = u8::from(parts.chooses).wrapping_shl(7);
        let top = (parts.class_instance & 15) | (parts.industry & 7).wrapping_shl(4) | choice;
        let [a, b, c, d] = low.to_le_bytes();
        let class = parts.class.wrapping_shl(1);
        Self(u64::from_le_bytes([a, b, c, d, instances, parts.function, class, top]))
    }

    /// Whether it may choose another address.
    #[must_use]
    pub const fn chooses(self) -> bool {
        self.0 & (1 << 63) != 0
    }
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Stage {
    /// The claim must be sent.
    Send,
    /// The claim was sent; nobody has objected so far.
    Wait(Instant),
    /// The address is ours.
    Claimed,
    /// Every address is taken; that must be said at this time.
    Lost(Instant),
    /// It was said.
    Silent,
}

/// The claim of one address.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct AddressClaim {
    name: Name,
    address: u8,
    stage: Stage,
    /// Addresses that others were heard to claim, a bit each.
    taken: [u32; 8],
}

impl AddressClaim {
    /// Will claim `preferred`, 0 to 253; above, the first that may be chosen.
    #[must_use]
    pub const fn new(name: Name, preferred: u8) -> Self {
        let address = if preferred < NOBODY { preferred } else { CHOICE.0 };
        Self { name, address, stage: Stage::Send, taken: [0; 8] }
    }

    /// The address, once it may be used.
    #[must_use]
    pub fn address(&self) -> Option<u8> {
        (self.stage == Stage::Claimed).then_some(self.address)
    }

    /// Takes a frame from the bus; others than claims and requests for them say nothing here.
    pub fn take(&mut self, frame: &Frame, now: Instant) {
        let Identifier { group, source, .. } = Identifier::decode(frame.id);
        let receiver = group.to_le_bytes()[0];
        match group & 0x3_FF00 {
            CLAIMED => self.on_claim(source, Name(u64::from_le_bytes(frame.data)), now),
            REQUEST if receiver == GLOBAL || receiver == self.address => {
                let [a, b, c, ..] = frame.data;
                if u32::from_le_bytes([a, b, c, 0]) == CLAIMED {
                    self.on_request(now);
                }
            }
            _ => {}
        }
    }

    fn on_claim(&mut self, source: u8, other: Name, now: Instant) {
        if source >= NOBODY {
            return;
        }
        self.mark(source);
        let ours = !matches!(self.stage, Stage::Lost(_) | Stage::Silent);
        if !ours || source != self.address {
            return;
        }
        if self.name < other {
            self.stage = Stage::Send;
            return;
        }
        match self.free().filter(|_| self.name.chooses()) {
            Some(address) => {
                self.address = address;
                self.stage = Stage::Send;
            }
            None => self.stage = Stage::Lost(now.later_by(self.pause())),
        }
    }

    fn on_request(&mut self, now: Instant) {
        self.stage = match self.stage {
            Stage::Lost(_) | Stage::Silent => Stage::Lost(now.later_by(self.pause())),
            Stage::Send | Stage::Wait(_) | Stage::Claimed => Stage::Send,
        };
    }

    /// Whoever has no address says so after 0 to 153 ms, each unit after another time.
    fn pause(&self) -> Span {
        let bytes = self.name.0.to_le_bytes();
        let sum = bytes.iter().fold(0u8, |sum, byte| sum.wrapping_add(*byte));
        Span::from_micros(u32::from(sum).saturating_mul(600))
    }

    fn mark(&mut self, address: u8) {
        let place = usize::from(address.wrapping_shr(5));
        if let Some(word) = self.taken.get_mut(place) {
            *word |= 1u32.wrapping_shl(u32::from(address & 31));
        }
    }

    /// The first address to choose that nobody was heard to claim.
    fn free(&self) -> Option<u8> {
        (CHOICE.0..=CHOICE.1).find(|address| {
            let word = self.taken.get(usize::from(address.wrapping_shr(5)));
            word.is_some_and(|word| word & 1u32.wrapping_shl(u32::from(address & 31)) == 0)
        })
    }

    /// The frame that must be sent now, if any; it counts as sent. To be called every tick.
    pub fn poll(&mut self, now: Instant) -> Option<Frame> {
        let source = match self.stage {
            Stage::Send => {
                self.stage = Stage::Wait(now.later_by(WAIT));
                self.address
            }
            Stage::Lost(at) if now >= at => {
                self.stage = Stage::Silent;
                NOBODY
            }
            Stage::Wait(until) => {
                if now >= until {
                    self.stage = Stage::Claimed;
                }
                return None;
            }
            Stage::Lost(_) | Stage::Silent | Stage::Claimed => return None,
        };
        let group = CLAIMED | u32::from(GLOBAL);
        let id = Identifier { priority: 6, group, source }.encode();
        Some(Frame { id, data: self.name.0.to_le_bytes() })
    }
}
