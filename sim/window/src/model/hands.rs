//! Hands on the switches of the cab.

use strewn::bench::Hands;
use strewn::instruments::Panel;
use strewn_controller::wires::SwitchBits;

/// A press lasts at least this many ticks, so that a click is as good as a finger.
const PRESS_TICKS: u64 = 25;

/// What a person's hands are at. While [`Grip::taken`] they work the switches instead of the driver of
/// the scenario.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grip {
    /// Whether the person has the switches.
    pub taken: bool,
    /// Hold to run, held now.
    pub run: bool,
    /// Hold to run, held without a finger on it.
    pub run_kept: bool,
    /// The arming button, held now.
    pub arm: bool,
    /// The new-bale button, held now.
    pub new_bale: bool,
    /// The stop switch is pressed.
    pub stopped: bool,
    /// Somebody sits in the operator's place.
    pub seated: bool,
    /// All guards are shut.
    pub guard_shut: bool,
    /// The hitch is down.
    pub hitch_down: bool,
    /// The machine stands level.
    pub level: bool,
    /// Ticket selected, counted from 0.
    pub ticket: u8,
    /// Ground speed wanted, m/s.
    pub wanted_m_s: f64,
    arm_ticks: u64,
    bale_ticks: u64,
    bale_was: bool,
}

impl Default for Grip {
    /// Seated, everything shut and clear, hands off.
    fn default() -> Self {
        Self {
            taken: false,
            run: false,
            run_kept: false,
            arm: false,
            new_bale: false,
            stopped: false,
            seated: true,
            guard_shut: true,
            hitch_down: true,
            level: true,
            ticket: 0,
            wanted_m_s: 0.0,
            arm_ticks: 0,
            bale_ticks: 0,
            bale_was: false,
        }
    }
}

impl Grip {
    /// Takes the switches, the tractor rolling on as it does.
    pub fn take(&mut self, speed_m_s: f64, ticket: u8) {
        if !self.taken {
            *self = Self { taken: true, wanted_m_s: speed_m_s, ticket, ..Self::default() };
        }
    }

    /// Presses the arming button for a moment.
    pub fn press_arm(&mut self) {
        self.arm_ticks = PRESS_TICKS;
    }

    /// Presses the new-bale button for a moment.
    pub fn press_new_bale(&mut self) {
        self.bale_ticks = PRESS_TICKS;
    }

    /// What the hands do in this tick; `None` if the scenario's driver has the switches. `next` is the
    /// bale to be put on when the new-bale button is pressed, if the machine is empty.
    pub fn tick(&mut self, next: Option<usize>) -> Option<Hands> {
        if !self.taken {
            return None;
        }
        let arm = self.arm || self.arm_ticks > 0;
        let new_bale = self.new_bale || self.bale_ticks > 0;
        let pressed = new_bale && !self.bale_was;
        self.arm_ticks = self.arm_ticks.saturating_sub(1);
        self.bale_ticks = self.bale_ticks.saturating_sub(1);
        self.bale_was = new_bale;
        Some(Hands {
            panel: Panel { switches: self.bits(arm, new_bale), ticket: self.ticket },
            wanted_m_s: self.wanted_m_s,
            loads: next.filter(|_| pressed),
            done: false,
        })
    }

    fn bits(&self, arm: bool, new_bale: bool) -> SwitchBits {
        let stop = SwitchBits::STOP_CLEAR_A | SwitchBits::STOP_CLEAR_B;
        let closed = [
            (self.seated, SwitchBits::PRESENT),
            (!self.stopped, stop),
            (arm, SwitchBits::ARM),
            (self.run || self.run_kept, SwitchBits::RUN | SwitchBits::RUN_B),
            (new_bale, SwitchBits::NEW_BALE),
            (self.guard_shut, SwitchBits::GUARD_SHUT),
            (self.hitch_down, SwitchBits::HITCH_DOWN),
            (self.level, SwitchBits::LEVEL),
        ];
        let bits = closed.iter().filter(|(closed, _)| *closed).map(|(_, bit)| bit);
        SwitchBits(bits.fold(0, |all, bit| all | bit))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_click_is_a_press_with_an_end() {
        let mut grip = Grip::default();
        grip.press_arm();
        assert!(grip.tick(None).is_none(), "the driver has the switches");
        grip.take(1.0, 0);
        grip.press_arm();
        let pressed = |grip: &mut Grip| {
            grip.tick(None).is_some_and(|hands| hands.panel.switches.has(SwitchBits::ARM))
        };
        assert!((0..PRESS_TICKS).all(|_| pressed(&mut grip)));
        assert!(!pressed(&mut grip));
    }

    #[test]
    fn a_bale_is_put_on_once_a_press() {
        let mut grip = Grip::default();
        grip.take(0.0, 0);
        grip.press_new_bale();
        let loads: Vec<_> =
            (0..PRESS_TICKS).filter_map(|_| grip.tick(Some(2)).and_then(|h| h.loads)).collect();
        assert_eq!(loads, [2]);
    }
}
