//! Floor 1: raw wires into readings with age and quality.
//!
//! Each channel is a small state of its own in its own file; [`Signals`] joins them. Nothing here
//! weighs one channel against another: that is the work of the estimate.

mod analog;
mod bus_stop;
pub mod isobus;
pub mod nmea;
mod pulses;
mod reading;
mod speed;
mod switches;
mod weigh;

pub use analog::{Analog, AnalogChannels};
pub use bus_stop::BusStopChannel;
pub use pulses::{PulseChannel, Pulses};
pub use reading::{Quality, Reading};
pub use speed::{SpeedChannels, Speeds};
pub use switches::{StopSwitch, SwitchChannels, Switches};
pub use weigh::{Weigh, WeighChannel};

use crate::settings::SignalSettings;
use crate::units::{Instant, Span};
use crate::wires::Inputs;
use isobus::Message;
use serde::{Deserialize, Serialize};

/// Everything that one tick says, with age and quality.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Readings {
    /// The controller's clock.
    pub now: Instant,
    /// Time since the last tick. [`Span::ZERO`] in the first tick, and if the clock does not advance:
    /// then no age can be trusted.
    pub tick: Span,
    /// The two rollers.
    pub rollers: [Pulses; 2],
    /// Ground speed from every source.
    pub speeds: Speeds,
    /// Weigh cells.
    pub weigh: Weigh,
    /// Pressure, gauge and reference.
    pub analog: Analog,
    /// Switches and buttons.
    pub switches: Switches,
    /// The stop button for all implements on the bus: `true` while it asks for a stop. Absent where
    /// there is none. Whatever the quality, a `true` was never taken back.
    pub bus_stop: Reading<bool>,
    /// Which ticket the operator has selected, counted from 0.
    pub ticket: u8,
}

/// Memory of all channels.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Signals {
    now: Option<Instant>,
    rollers: [PulseChannel; 2],
    ground: PulseChannel,
    speeds: SpeedChannels,
    weigh: WeighChannel,
    analog: AnalogChannels,
    switches: SwitchChannels,
    bus_stop: BusStopChannel,
}

impl Signals {
    /// Takes one tick. Any inputs give readings; what cannot be believed says so in its quality.
    pub fn update(&mut self, settings: &SignalSettings, inputs: &Inputs) -> Readings {
        let now = inputs.now;
        let tick = self.now.map_or(Span::ZERO, |last| now.since(last));
        self.now = Some(now);
        let [left, right] = &mut self.rollers;
        let [left_wire, right_wire] = inputs.rollers;
        let ground = settings.ground.map_or_else(Pulses::default, |ground| {
            self.ground.update(ground.shortest, now, inputs.ground)
        });
        let mut stop = None;
        for message in inputs.frames.iter().filter_map(Message::decode) {
            match message {
                Message::Stop { permitted, .. } => {
                    stop = Some(BusStopChannel::joined(stop, permitted))
                }
                _ => self.speeds.hear(settings.fastest, now, message),
            }
        }
        Readings {
            now,
            tick,
            rollers: [
                left.update(settings.roller_shortest, now, left_wire),
                right.update(settings.roller_shortest, now, right_wire),
            ],
            speeds: self.speeds.update(settings, now, &inputs.sentences, ground),
            weigh: settings
                .weigh
                .map_or_else(Weigh::default, |weigh| self.weigh.update(&weigh, now, inputs.weigh)),
            analog: self.analog.update(settings, now, &inputs.analog),
            switches: self.switches.update(settings, (now, tick), inputs.switches),
            bus_stop: self.bus_stop.update(settings.bus_stop_stale, now, stop),
            ticket: inputs.ticket,
        }
    }
}
