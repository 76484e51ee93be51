//! Faults on wires: between instruments and controller, and between controller and valve.
//!
//! A fault is a kind on a wire from a moment on. Its size and its timing are drawn from a stream of
//! its own, so that it changes nothing else. What each kind does to each sort of wire:
//!
//! | kind | number | switch | pulses | messages | clock |
//! | --- | --- | --- | --- | --- | --- |
//! | off | zero | open | no edges | none come | stands at 0 |
//! | stuck | highest value | closed | hum, an edge a tick | speed reads 0 | stands far ahead |
//! | frozen | as at the onset | as at the onset | edges counted, their times held | as at the onset | stands |
//! | offset | a constant more or less | inverted | a constant rate more | speed off by a constant | jumps once |
//! | scale | times a factor | inverted every other tick | times a factor | speed times a factor | too fast or slow |
//! | drift | further and further off | open more and more often | rate grows or falls | speed drifts | rate drifts |
//! | noise | random | random | random edges | speed random | jitters |
//! | spike | now and then the far end | now and then inverted | now and then a burst | now and then fastest | now and then late |
//! | delay | late | late | late | late | behind |
//! | intermittent | drops out again and again, as off |||| stands again and again |
//! | swapped | the neighbour's value, or bytes changed about |||||
//! | bit-flipped | a random bit, in ticks drawn ||| a random bit of a message | as a number |

mod bend;
mod injector;
mod wires;

pub use injector::Injector;

use std::fmt::{Display, Formatter};
use std::str::FromStr;

macro_rules! words {
    ($(#[$meta:meta])* $name:ident, $what:literal { $($(#[doc = $doc:literal])+ $variant:ident $word:literal,)+ }) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[doc = $doc])+ $variant,)+ }

        impl $name {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// What people call it.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }
        }

        impl Display for $name {
            fn fmt(&self, formatter: &mut Formatter<'_>) -> std::fmt::Result {
                formatter.pad(self.word())
            }
        }

        impl FromStr for $name {
            type Err = String;

            fn from_str(text: &str) -> Result<Self, String> {
                let found = Self::ALL.iter().copied().find(|one| one.word() == text);
                found.ok_or_else(|| {
                    let all: Vec<_> = Self::ALL.iter().map(|one| one.word()).collect();
                    format!(concat!("no ", $what, " is called \"{}\"; there are {}"), text, all.join(", "))
                })
            }
        }
    };
}

words! {
    /// A wire that a fault can sit on: every input of the controller, and what goes out to the valve.
    Wire, "wire" {
        /// The controller's clock.
        Clock "clock",
        /// Edges of the first roller.
        RollerA "roller-a",
        /// Edges of the second roller.
        RollerB "roller-b",
        /// Edges of the ground wheel or radar.
        Ground "ground",
        /// Weigh cells.
        Weigh "weigh",
        /// Pressure across the motors.
        Pressure "pressure",
        /// Bale gauge.
        Gauge "gauge",
        /// Reference of the converter.
        Reference "reference",
        /// Current of the valve's coil.
        Coil "coil",
        /// Supply of the valve behind the enable.
        Supply "supply",
        /// Operator's place.
        Present "present",
        /// Stop switch, first channel.
        StopA "stop-a",
        /// Stop switch, second channel.
        StopB "stop-b",
        /// Arming button.
        Arm "arm",
        /// Run switch, first contact.
        RunA "run-a",
        /// Run switch, second contact.
        RunB "run-b",
        /// New-bale button.
        NewBale "new-bale",
        /// Guard switch.
        Guard "guard",
        /// Hitch switch.
        Hitch "hitch",
        /// Level switch.
        Level "level",
        /// Ticket selector.
        Ticket "ticket",
        /// The tractor's bus.
        Bus "bus",
        /// The satellite receiver.
        Receiver "receiver",
        /// Command from the controller to the valve's driver.
        Valve "valve",
        /// The enable in series with the valve's supply.
        Enable "enable",
    }
}

words! {
    /// What a fault does.
    Kind, "kind of fault" {
        /// Cut: nothing.
        Off "off",
        /// Shorted: the highest value.
        Stuck "stuck",
        /// Keeps the value of the onset.
        Frozen "frozen",
        /// A constant is added.
        Offset "offset",
        /// Multiplied by a constant.
        Scale "scale",
        /// Goes further and further off.
        Drift "drift",
        /// Random on top.
        Noise "noise",
        /// The far end, for a tick, now and then.
        Spike "spike",
        /// Comes late.
        Delay "delay",
        /// Comes and goes.
        Intermittent "intermittent",
        /// Takes its neighbour's value.
        Swapped "swapped",
        /// A random bit is wrong.
        BitFlipped "bit-flipped",
    }
}

/// A fault to come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fault {
    /// Where.
    pub wire: Wire,
    /// What.
    pub kind: Kind,
    /// From when on, s since the start.
    pub onset_s: f64,
}

impl FromStr for Fault {
    type Err = String;

    /// `WIRE:KIND@SECONDS`, as `bus:off@30`.
    fn from_str(text: &str) -> Result<Self, String> {
        let shape =
            || format!("\"{text}\" is no fault; wanted is WIRE:KIND@SECONDS, as bus:off@30");
        let (wire, rest) = text.split_once(':').ok_or_else(shape)?;
        let (kind, onset) = rest.split_once('@').ok_or_else(shape)?;
        let onset_s: f64 = onset.parse().map_err(|_| shape())?;
        if !(0.0..=86_400.0).contains(&onset_s) {
            return Err(format!("the fault's time is {onset} s; allowed is 0 to 86,400"));
        }
        Ok(Self { wire: wire.parse()?, kind: kind.parse()?, onset_s })
    }
}
