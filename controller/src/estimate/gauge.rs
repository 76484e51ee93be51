//! Bale gauge: the radius says how much of the ticket's bale is left, not how heavy this one is.
//!
//! Nobody knows how dense this bale is further in, so that the gauge's readings err together: a few of
//! them count, and the account is drawn over gently. While weigh cells tell the mass, the gauge is held
//! against them: should they be lost, it goes on with what it was off by. Taken as it is, it would
//! move the account by the bale's whole difference from its ticket.

use super::BaleFilter;
use super::trust::Trust;
use crate::settings::{EstimateSettings, GAUGE_TURN, Ticket};
use crate::units::{Length, Mass, Ratio, Turns};
use serde::{Deserialize, Serialize};

/// The quotient of what is weighed and what the gauge tells is a mean over about this many readings
/// that count: a bale that is out of round goes up and down.
const FOLLOW_HALVINGS: u32 = 3;
/// Bales differ from their tickets by no more than this.
const LEAST: Ratio = Ratio::from_bits(32_768); // 0.5
const MOST: Ratio = Ratio::from_bits(131_072); // 2
/// With less than this share of the ticket's bale left the gauge tells too little: halved four times.
const LITTLE_HALVINGS: u32 = 4;

/// Where nothing is weighed any more, one of so many of those counts.
const GENTLY: u8 = 100;
/// A bale that is turned so far shrinks by more than the gauge's finest step.
const SHRINKS: Turns = Turns::from_bits(524_288); // 1
/// Nor does its face come or go by so much between two of them, however far out of round it is.
const JUMP: Length = Length::from_bits(41_943); // 0.08 m

/// The account is off by no more than so many of its deviations, and a gauge by this part of the
/// ticket's bale: halved three times.
const DEVIATIONS: Ratio = Ratio::from_bits(4 << 16);
const OFF_HALVINGS: u32 = 3;

/// What the gauge is off by on this bale.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Gauge {
    /// What was weighed over what the gauge told; `None` while nothing was weighed.
    quotient: Option<Ratio>,
    /// Turns of the hay since the gauge had one, and those of its own since one was taken gently.
    passed: u8,
    gently: u8,
    /// Turns of the rollers since the gauge had a turn.
    turned: Turns,
    /// The last reading, and turns of the rollers since it came to be.
    gap: Length,
    same_for: Turns,
    /// The last one taken; `None` before the first.
    taken: Option<Length>,
    trust: Trust<60, 3>,
}

impl Gauge {
    /// Whether it has told too much that cannot be.
    #[must_use]
    pub fn lies(&self) -> bool {
        self.trust.is_lost()
    }

    /// Whether this turn of the hay, `turned` after the one before, is the gauge's.
    pub fn has_its_turn(&mut self, turned: Turns) -> bool {
        self.turned = self.turned.saturating_add(turned);
        self.passed = self.passed.saturating_add(1);
        let has = self.passed >= GAUGE_TURN;
        if has {
            self.passed = 0;
        }
        has
    }

    /// A reading in its turn: corrects the account of the bale, which is known to within `deviation`.
    /// `weighs` is whether weigh cells correct it too.
    pub fn read(
        &mut self,
        settings: &EstimateSettings,
        ticket: &Ticket,
        gap: Length,
        (bale, deviation): (&mut BaleFilter, Mass),
        weighs: bool,
    ) {
        let same = gap == self.gap;
        self.same_for = if same { self.same_for.saturating_add(self.turned) } else { Turns::ZERO };
        self.gap = gap;
        self.turned = Turns::ZERO;
        let told = ticket.left_at_radius(settings.gauge_axis.saturating_sub(gap));
        let mass = told.scaled(self.quotient.unwrap_or(Ratio::ONE));
        let error = mass.saturating_sub(bale.left()).magnitude();
        let off = deviation.scaled(DEVIATIONS);
        let off = off.saturating_add(ticket.mass.halved(OFF_HALVINGS));
        let jump = gap.saturating_sub(self.taken.unwrap_or(gap)).magnitude();
        if !self.trust.takes(error <= off && jump < JUMP && self.same_for < SHRINKS) {
            return;
        }
        self.taken = Some(gap);
        if weighs {
            self.follow(ticket, told, bale.left());
            bale.weighed(told, settings.gauge_variance);
        } else if self.quotient.is_none() || self.is_due() {
            bale.weighed(mass, settings.gauge_variance);
        }
    }

    /// The weigh cells say that so much is left for what the gauge tells by the ticket alone.
    fn follow(&mut self, ticket: &Ticket, told: Mass, left: Mass) {
        if told > ticket.mass.halved(LITTLE_HALVINGS) {
            let quotient = left.share_of(told).held_within(LEAST, MOST);
            let before = self.quotient.unwrap_or(quotient);
            let step = quotient.saturating_sub(before).halved(FOLLOW_HALVINGS);
            self.quotient = Some(before.saturating_add(step));
        }
    }

    fn is_due(&mut self) -> bool {
        self.gently = self.gently.saturating_add(1);
        if self.gently < GENTLY {
            return false;
        }
        self.gently = 0;
        true
    }
}
