//! Switches and buttons.

use crate::settings::SignalSettings;
use crate::units::{Instant, Span};
use crate::wires::SwitchBits;
use serde::{Deserialize, Serialize};

/// A press is judged so long after the contact has closed, and was one if it was closed for so much of it:
/// a hand holds a button longer, and its bounce is shorter.
const PRESS: Span = Span::from_millis(100);
const PRESSED: Span = Span::from_millis(70);

/// The stop switch on its two channels.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub enum StopSwitch {
    /// At least one channel is open. The state before the first tick, too.
    #[default]
    Stop,
    /// The channels have differed for too long: one of them does not work. Means stop as well, and
    /// stays until both have been seen open together.
    Contradiction,
    /// Both channels are closed.
    Clear,
}

/// What one tick saw of switches and buttons.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Switches {
    /// The stop switch; not debounced.
    pub stop: StopSwitch,
    /// Whether somebody sits in the operator's place.
    pub present: bool,
    /// Whether the run switch is held.
    pub run: bool,
    /// A press of the arming button was recognised in this tick.
    pub arm_pressed: bool,
    /// A press of the new-bale button was recognised in this tick.
    pub new_bale_pressed: bool,
}

/// Memory of switches and buttons.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct SwitchChannels {
    differ_since: Option<Instant>,
    contradiction: bool,
    present: Contact,
    run: Contact,
    arm: Button,
    new_bale: Button,
}

impl SwitchChannels {
    /// Takes the wires of one tick, `elapsed` after the last one.
    pub fn update(
        &mut self,
        settings: &SignalSettings,
        (now, elapsed): (Instant, Span),
        bits: SwitchBits,
    ) -> Switches {
        let pressed = |mask| bits.has(mask);
        let (button, run) = (settings.button_release, pressed(SwitchBits::RUN));
        Switches {
            stop: self.stop(settings.stop_disagree, now, bits),
            present: self.present.update(
                pressed(SwitchBits::PRESENT),
                elapsed,
                settings.present_release,
            ),
            run: self.run.update(run, elapsed, settings.run_release),
            arm_pressed: self.arm.update(pressed(SwitchBits::ARM), run, elapsed, button),
            new_bale_pressed: self.new_bale.update(
                pressed(SwitchBits::NEW_BALE),
                false,
                elapsed,
                button,
            ),
        }
    }

    fn stop(&mut self, limit: Span, now: Instant, bits: SwitchBits) -> StopSwitch {
        let channels = (bits.has(SwitchBits::STOP_CLEAR_A), bits.has(SwitchBits::STOP_CLEAR_B));
        if channels.0 == channels.1 {
            self.differ_since = None;
        } else {
            let since = *self.differ_since.get_or_insert(now);
            self.contradiction |= now.since(since) > limit;
        }
        self.contradiction &= channels != (false, false);
        match channels {
            _ if self.contradiction => StopSwitch::Contradiction,
            (true, true) => StopSwitch::Clear,
            _ => StopSwitch::Stop,
        }
    }
}

/// A contact that closes at once and opens after a limit.
///
/// Time open adds up and time closed takes it off again, so that a contact that flutters, more open
/// than closed, is lost as well.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
struct Contact {
    held: bool,
    open: Span,
}

impl Contact {
    /// `elapsed` is the time since the last tick.
    fn update(&mut self, closed: bool, elapsed: Span, limit: Span) -> bool {
        if !self.held {
            *self = Self { held: closed, open: Span::ZERO };
        } else if closed {
            self.open = self.open.saturating_sub(elapsed);
        } else {
            self.open = self.open.saturating_add(elapsed);
            self.held = self.open < limit;
        }
        self.held
    }
}

/// A button of which only the moment of pressing counts.
///
/// A press is a change that stays: after the contact has been open for the time of its release without a
/// break, it is closed for most of [`PRESS`]. A contact that flickers presses nothing, nor does one that is
/// held, or stuck, at the start. Beside a closed run switch a press is told at once, to be refused.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
struct Button {
    /// How long it has been open without a break, until it closes.
    open: Span,
    /// Since it closed: all time, and that in which it was closed.
    press: Option<(Span, Span)>,
}

impl Button {
    fn update(&mut self, closed: bool, run: bool, elapsed: Span, release: Span) -> bool {
        let (since, held) = match self.press {
            Some((since, held)) if closed => {
                (since.saturating_add(elapsed), held.saturating_add(elapsed))
            }
            Some((since, held)) => (since.saturating_add(elapsed), held),
            None if closed && self.open >= release => (Span::ZERO, Span::ZERO),
            None => {
                self.open = if closed { Span::ZERO } else { self.open.saturating_add(elapsed) };
                return false;
            }
        };
        self.open = Span::ZERO;
        let over = since >= PRESS || run;
        self.press = if over { None } else { Some((since, held)) };
        over && (held >= PRESSED || run)
    }
}
