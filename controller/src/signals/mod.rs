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
mod turn;
mod weigh;

pub use analog::Analog;
pub use bus_stop::BusStopChannel;
pub use pulses::{PulseChannel, Pulses};
pub use reading::{Quality, Reading};
pub use speed::{SpeedChannels, Speeds};
pub use switches::{StopSwitch, SwitchChannels, Switches};
pub use turn::{Turn, Turns};
pub use weigh::{Weigh, WeighChannel};

use crate::settings::SignalSettings;
use crate::units::{Instant, Span};
use crate::wires::{Frame, Inputs};
use isobus::{Identifier, STOP_BUTTON};
use nmea::tells_speed;
use serde::{Deserialize, Serialize};

/// Everything that the wires say, with age and quality: what has a [`Turn`] as of its last one, all else as of
/// this tick.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Readings {
    /// The controller's clock.
    pub now: Instant,
    /// Time since the last tick. [`Span::ZERO`] in the first tick, and if the clock does not advance:
    /// then no age can be trusted.
    pub tick: Span,
    /// Whose turn this tick is.
    pub turn: Turn,
    /// The time that this round of turns accounts for.
    pub round: Span,
    /// Whether it is an even one: some things need only every other round.
    pub even: bool,
    /// The two rollers.
    pub rollers: [Pulses; 2],
    /// Ground speed from every source, as of [`Turn::Ground`].
    pub speeds: Speeds,
    /// Weigh cells, as of [`Turn::Hay`].
    pub weigh: Weigh,
    /// Pressure, gauge and reference; the gauge as of [`Turn::Ground`].
    pub analog: Analog,
    /// Switches and buttons.
    pub switches: Switches,
    /// The stop button for all implements on the bus: `true` while it asks for a stop. Absent where
    /// there is none. Whatever the quality, a `true` was never taken back.
    pub bus_stop: Reading<bool>,
    /// Which ticket the operator has selected, counted from 0.
    pub ticket: u8,
}

/// Control integrates over no longer a tick than this; a longer one stops the rollers anyway.
const LONGEST: Span = Span::from_millis(100);

impl Readings {
    /// The time that this tick accounts for.
    #[must_use]
    pub fn elapsed(&self) -> Span {
        self.tick.min(LONGEST)
    }
}

/// Memory of all channels.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Signals {
    now: Option<Instant>,
    turns: Turns,
    rollers: [PulseChannel; 2],
    ground: PulseChannel,
    speeds: SpeedChannels,
    weigh: WeighChannel,
    switches: SwitchChannels,
    bus_stop: BusStopChannel,
    readings: Readings,
}

impl Signals {
    /// Takes one tick. Any inputs give readings; what cannot be believed says so in its quality. Of several
    /// sentences that tell a speed the newest is read, and none in the tick after one was.
    pub fn update(&mut self, settings: &SignalSettings, inputs: &Inputs) -> &Readings {
        let now = inputs.now;
        let tick = self.now.map_or(Span::ZERO, |last| now.since(last));
        self.now = Some(now);
        let mut stop = None;
        for Frame { id, data } in &inputs.frames {
            match Identifier::decode(*id).group {
                STOP_BUTTON => stop = Some(BusStopChannel::joined(stop, isobus::permitted(*data))),
                group => self.speeds.hear(settings.fastest, now, group, *data),
            }
        }
        let sentence = inputs.sentences.iter().rev().find(|sentence| tells_speed(sentence));
        let turn = self.turns.take(tick, sentence.is_some());
        let readings = &mut self.readings;
        let [left, right] = &mut self.rollers;
        let [left_wire, right_wire] = inputs.rollers;
        readings.now = now;
        readings.tick = tick;
        readings.turn = turn;
        readings.round = self.turns.round();
        readings.even = self.turns.even();
        readings.rollers = [
            left.update(settings.roller_shortest, now, left_wire),
            right.update(settings.roller_shortest, now, right_wire),
        ];
        readings.analog.update(settings, &inputs.analog, tick);
        readings.switches = self.switches.update(settings, (now, tick), inputs.switches);
        readings.bus_stop = self.bus_stop.update(settings.bus_stop_stale, now, stop);
        readings.ticket = inputs.ticket;
        match (turn, sentence) {
            (Turn::Sentence, Some(sentence)) => self.speeds.read(settings.fastest, now, sentence),
            (Turn::Ground, _) => {
                let pulses = settings.ground.map_or_else(Pulses::default, |ground| {
                    self.ground.update(ground.shortest, now, inputs.ground)
                });
                readings.speeds = self.speeds.update(settings, now, pulses);
                readings.analog.update_gauge(settings, inputs.analog.gauge, readings.round);
            }
            (Turn::Hay, _) => {
                readings.weigh = settings.weigh.map_or_else(Weigh::default, |weigh| {
                    self.weigh.update(&weigh, now, inputs.weigh)
                });
            }
            (Turn::Row | Turn::Sentence, _) => {}
        }
        readings
    }
}
