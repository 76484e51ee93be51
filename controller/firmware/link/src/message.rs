//! What the laptop orders and the board answers.

use crate::run::Tally;
use heapless::Vec;
use serde::{Deserialize, Serialize};
use strewn_controller::drivers::store::MOST;
use strewn_controller::settings::Config;
use strewn_controller::wires::Outputs;

/// From the laptop to the board. Every order is answered, [`Order::Live`] in every tick from then on.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[allow(
    clippy::large_enum_variant,
    reason = "one at a time, and a board has no heap for the large one"
)]
pub enum Order<'a> {
    /// Say who you are: [`Answer::Greeting`].
    Greet,
    /// Be set like this, as after power-on: [`Answer::Ready`] or [`Answer::Refused`].
    Set(Config),
    /// One tick with these wires, a frame of the log against the tick before: [`Answer::Ticked`].
    Tick(&'a [u8]),
    /// Steps of made-up wires under the present settings, from power-on: [`Answer::Ran`].
    Fuzz {
        /// Which stories.
        seed: u32,
        /// How many.
        steps: u32,
    },
    /// Frames of a log that lie in the board's store, so many bytes of them, from power-on:
    /// [`Answer::Ran`].
    Replay {
        /// How many bytes.
        bytes: u32,
    },
    /// Run on the board's own timer with the watchdog on, until it resets: [`Answer::Lived`] in every
    /// tick.
    Live(Wires),
    /// Break down in this way; only an image built for trying that obeys, others answer
    /// [`Answer::Refused`].
    Break(Break),
    /// Say which settings you keep: [`Answer::Holds`] or [`Answer::Busy`].
    Ask,
    /// Keep these from now on: [`Answer::Kept`], [`Answer::Busy`] or [`Answer::Refused`].
    Keep {
        /// The version of the settings, [`crate::keep::VERSION`].
        version: u32,
        /// The settings in postcard's encoding.
        bytes: &'a [u8],
    },
}

/// How a program can break down.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub enum Break {
    /// By a panic.
    Panic,
    /// By a fault of the processor.
    Fault,
    /// By going on for ever.
    Hang,
}

/// Where the wires of the board's own ticks come from.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub enum Wires {
    /// From [`Order::Tick`], the newest; none for [`Wires::PATIENCE`] ticks is a cut cable.
    Serial,
    /// A rehearsal: a machine that is armed, feeds, and is reset at a random instruction, round after
    /// round, while the hands stay where they are.
    Rehearsal {
        /// What the moments of the resets are drawn from.
        seed: u32,
    },
}

impl Wires {
    /// Ticks without wires after which the cable counts as cut.
    pub const PATIENCE: u32 = 5;
}

/// From the board to the laptop.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[allow(
    clippy::large_enum_variant,
    reason = "one at a time, and a board has no heap for the large one"
)]
pub enum Answer {
    /// In answer to [`Order::Greet`] and, unasked, after every start.
    Greeting(Greeting),
    /// The board is set; the digest of its state.
    Ready(u32),
    /// The order cannot be obeyed: settings out of range, ticks before settings, a frame that is not
    /// whole.
    Refused,
    /// What one tick gave.
    Ticked {
        /// The outputs.
        outputs: Outputs,
        /// Digest of the state after it.
        state: u32,
        /// What it cost, instructions.
        cost: u32,
    },
    /// What many gave.
    Ran(Tally),
    /// A tick of the board's own.
    Lived(Lived),
    /// The settings that are kept.
    Holds(Kept),
    /// The settings that are kept now, read back.
    Kept(Kept),
    /// Not now: something may turn, or a fault has stopped the machine.
    Busy,
}

/// Settings as a board keeps them.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Kept {
    /// The version of settings that the board's program knows, [`crate::keep::VERSION`].
    pub version: u32,
    /// The settings in postcard's encoding; none if there are none that are sound.
    pub bytes: Vec<u8, MOST>,
}

/// Who the board is and how it comes to be there.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Greeting {
    /// Starts since power-on, this one included.
    pub starts: u32,
    /// What the run before ended with.
    pub ended: Ended,
    /// What the output pins said before this start wrote to them.
    pub found: u32,
}

/// What a run ended with.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub enum Ended {
    /// The power came on, or a reset came that nobody on the board asked for.
    #[default]
    Power,
    /// A panic, at this line of its source.
    Panic(u32),
    /// A fault of the processor, at this instruction.
    Fault(u32),
    /// The watchdog was not fed.
    Watchdog,
    /// A reset that a rehearsal asked for, in the middle of a step or not.
    Rehearsal {
        /// Whether a step was being made.
        in_step: bool,
    },
}

/// One tick of the board's own timer.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Lived {
    /// Ticks since the start.
    pub tick: u32,
    /// Time from the start of the program to the outputs of this tick, us.
    pub since_start_us: u32,
    /// The outputs.
    pub outputs: Outputs,
    /// What the output pins say.
    pub pins: u32,
}

/// The pin that lets the valve have its supply.
pub const PIN_ENABLE: u32 = 1;
/// The pin that is up while the valve is commanded at all.
pub const PIN_VALVE: u32 = 2;
