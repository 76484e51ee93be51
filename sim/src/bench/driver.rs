//! The driver: follows the plan of the drive, works the switches, heeds the advised speed or not.
//!
//! The driver sees what a person in the cab sees - lamps, advised speed, whether hay is left - and
//! nothing of the truth behind it.

use super::scenario::{Heed, Leg};
use crate::instruments::Panel;
use strewn_controller::wires::{LampBits, SwitchBits};

/// Nobody holds the run switch before the tractor has reached this speed, m/s, or this share of the one
/// wanted if that is slower.
const ROLLING_M_S: f64 = 0.45;
const ROLLING_SHARE: f64 = 0.8;
/// While waiting for the rollers to be armed again, the driver creeps at this speed, m/s.
const CREEP_M_S: f64 = 0.7;
/// A button is pressed this long, and as long is let go before it is pressed anew, s.
const PRESS_S: f64 = 0.3;
/// How soon an advised speed is followed: time constant, s.
const PROMPT_S: f64 = 0.8;
const LATE_S: f64 = 4.0;
/// Nobody drives slower than this because of an advice, m/s.
const SLOWEST_M_S: f64 = 0.4;

/// The run switch is held: both contacts.
const HELD: u16 = SwitchBits::RUN | SwitchBits::RUN_B;

/// What the driver sees.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cab {
    /// Lamps of the controller.
    pub(super) lamps: LampBits,
    /// Advised ground speed, m/s; `None` when any will do.
    pub(super) advised_m_s: Option<f64>,
    /// Ground speed on the dash, m/s.
    pub(super) speed_m_s: f64,
    /// Whether the machine is empty.
    pub(super) empty: bool,
    /// The screen says that a row of fixed length has ended.
    pub(super) row_laid: bool,
}

/// What the driver does, or whoever has taken the switches out of the driver's hands.
#[derive(Clone, Copy, Debug, Default)]
pub struct Hands {
    /// Switches and ticket selector.
    pub panel: Panel,
    /// Ground speed wanted, m/s. A recording overrules it.
    pub wanted_m_s: f64,
    /// Number of the bale that is put on the machine now.
    pub loads: Option<usize>,
    /// The drive is over.
    pub done: bool,
}

/// What the driver is about.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Doing {
    /// Putting a bale on; it lies there at this time.
    Loading { bale: usize, until_s: f64 },
    /// Feeding it.
    Feeding { bale: usize },
}

/// One driver through one job.
#[derive(Clone, Debug)]
pub(super) struct Driver {
    legs: Vec<Leg>,
    /// Ticket of each bale.
    tickets: Vec<u8>,
    heed: Heed,
    between_bales_s: f64,
    recorded: bool,
    doing: Doing,
    leg: usize,
    leg_left_s: f64,
    heeded_m_s: f64,
    button_s: f64,
    time_s: f64,
    /// Was told that a row has ended.
    row_laid: bool,
    /// Feeds no more before the next leg or halt.
    row_over: bool,
}

impl Driver {
    /// At the start of a drive, the first bale about to be put on. With a recording, speeds are not
    /// the driver's: the legs are ignored and hay is fed whenever the tractor rolls.
    #[must_use]
    pub(super) fn new(
        legs: &[Leg],
        tickets: Vec<u8>,
        heed: Heed,
        between_bales_s: f64,
        recorded: bool,
    ) -> Self {
        Self {
            legs: legs.to_vec(),
            tickets,
            heed,
            between_bales_s,
            recorded,
            doing: Doing::Loading { bale: 0, until_s: 0.0 },
            leg: 0,
            leg_left_s: legs.first().map_or(0.0, |leg| leg.duration_s),
            heeded_m_s: f64::INFINITY,
            button_s: 0.0,
            time_s: 0.0,
            row_laid: false,
            row_over: false,
        }
    }

    /// `elapsed_s` later.
    pub(super) fn tick(&mut self, cab: &Cab, elapsed_s: f64) -> Hands {
        self.time_s += elapsed_s;
        match self.doing {
            Doing::Loading { bale, until_s } => self.load(bale, until_s),
            Doing::Feeding { bale } if cab.empty => {
                self.doing =
                    Doing::Loading { bale: bale + 1, until_s: self.time_s + self.between_bales_s };
                self.seated(0)
            }
            Doing::Feeding { .. } => self.feed(cab, elapsed_s),
        }
    }

    /// Takes the switches back: goes on with the bale on the machine, counted from 0, or puts the first
    /// one on.
    pub(super) fn resume(&mut self, bale: Option<usize>) {
        self.button_s = 0.0;
        self.heeded_m_s = f64::INFINITY;
        self.doing = match bale {
            Some(bale) => Doing::Feeding { bale },
            None => Doing::Loading { bale: 0, until_s: self.time_s },
        };
    }

    /// Whether the second half of the wait for another bale has come: all stands still by now.
    #[must_use]
    pub(super) fn waits(&self) -> bool {
        let from_s = |until_s: f64| until_s - self.between_bales_s / 2.0;
        matches!(self.doing, Doing::Loading { bale, until_s }
            if bale > 0 && (from_s(until_s)..until_s).contains(&self.time_s))
    }

    /// In the place with both hands off every switch.
    #[must_use]
    pub(super) fn hands_off(&self) -> Panel {
        self.seated(0).panel
    }

    /// Hands off the run switch: in the place, stop switch closed, plus some bits.
    fn seated(&self, bits: u16) -> Hands {
        let vital = SwitchBits::PRESENT
            | SwitchBits::STOP_CLEAR_A
            | SwitchBits::STOP_CLEAR_B
            | SwitchBits::GUARD_SHUT
            | SwitchBits::HITCH_DOWN
            | SwitchBits::LEVEL;
        let bale = match self.doing {
            Doing::Loading { bale, .. } | Doing::Feeding { bale } => bale,
        };
        let ticket = self.tickets.get(bale).copied().unwrap_or(0);
        let panel = Panel { switches: SwitchBits(vital | bits), ticket };
        Hands { panel, ..Hands::default() }
    }

    /// Waits for the bale, then presses the button that says so.
    fn load(&mut self, bale: usize, until_s: f64) -> Hands {
        if bale >= self.tickets.len() {
            return Hands { done: true, ..self.seated(0) };
        }
        if self.time_s < until_s {
            return self.seated(0);
        }
        let pressed_s = self.time_s - until_s;
        if pressed_s < PRESS_S {
            let loads = (self.button_s == 0.0).then_some(bale);
            self.button_s = PRESS_S;
            return Hands { loads, ..self.seated(SwitchBits::NEW_BALE) };
        }
        if pressed_s > 2.0 * PRESS_S {
            self.button_s = 0.0;
            self.heeded_m_s = f64::INFINITY;
            self.doing = Doing::Feeding { bale };
        }
        self.seated(0)
    }

    fn feed(&mut self, cab: &Cab, elapsed_s: f64) -> Hands {
        self.leg_left_s -= elapsed_s;
        self.row_over |= cab.row_laid && !self.row_laid;
        self.row_over &= cab.speed_m_s > ROLLING_M_S / 2.0;
        self.row_laid = cab.row_laid;
        while self.leg_left_s <= 0.0 && self.leg < self.legs.len() {
            self.leg += 1;
            self.row_over = false;
            self.leg_left_s += self.legs.get(self.leg).map_or(0.0, |leg| leg.duration_s);
        }
        let mut plan = if self.recorded {
            Leg { speed_m_s: f64::INFINITY, duration_s: 0.0, feed: true }
        } else if let Some(leg) = self.legs.get(self.leg) {
            *leg
        } else {
            return Hands { done: true, ..self.seated(0) };
        };
        plan.feed &= !self.row_over;
        let bits = self.work_switches(&plan, cab, elapsed_s);
        let laying = cab.lamps.has(LampBits::LAYING);
        let wanted_m_s =
            if plan.feed && !laying { plan.speed_m_s.min(CREEP_M_S) } else { plan.speed_m_s };
        Hands { wanted_m_s: self.heeded(wanted_m_s, cab, elapsed_s), ..self.seated(bits) }
    }

    /// The two acts, in their order and anew after every stop.
    fn work_switches(&mut self, plan: &Leg, cab: &Cab, elapsed_s: f64) -> u16 {
        if !plan.feed {
            self.button_s = 0.0;
            return 0;
        }
        if cab.lamps.has(LampBits::LAYING) {
            self.button_s = 0.0;
            return if cab.speed_m_s < ROLLING_M_S / 2.0 { 0 } else { HELD };
        }
        self.button_s += elapsed_s;
        if cab.lamps.has(LampBits::ARMED) {
            let rolling_m_s = ROLLING_M_S.min(ROLLING_SHARE * plan.speed_m_s);
            let rolling = cab.speed_m_s > rolling_m_s && self.button_s > PRESS_S;
            return if rolling { HELD } else { 0 };
        }
        let in_turn = self.button_s % (2.0 * PRESS_S);
        if in_turn > PRESS_S && cab.speed_m_s > ROLLING_M_S / 2.0 { SwitchBits::ARM } else { 0 }
    }

    /// The advised speed, as soon as this driver follows it.
    fn heeded(&mut self, wanted_m_s: f64, cab: &Cab, elapsed_s: f64) -> f64 {
        let slowness_s = match self.heed {
            Heed::Promptly => PROMPT_S,
            Heed::Late => LATE_S,
            Heed::Never => return wanted_m_s,
        };
        let advised = cab.advised_m_s.unwrap_or(f64::INFINITY).max(SLOWEST_M_S).min(wanted_m_s);
        let from = self.heeded_m_s.min(wanted_m_s);
        self.heeded_m_s = from + (advised - from) * (elapsed_s / slowness_s);
        self.heeded_m_s.min(wanted_m_s)
    }
}
