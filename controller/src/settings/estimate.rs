//! Settings of floor 2.

use super::error::SettingError;
use super::field::config;
use super::ticket::{Ticket, TicketConfig};
use crate::units::arith::{divide_wide, narrow};
use crate::units::{
    FactorVariance, Frequency, Length, Mass, MassVariance, Pressure, PressurePerMass, Ratio,
    TurnRate, Turns,
};
use heapless::Vec;

/// The gauge has one turn of the hay in so many: a bale does not shrink faster, and the scale tells more.
pub const GAUGE_TURN: u8 = 4;
/// That is one tick in so many: its inverse.
const GAUGE_SHARE: Ratio = Ratio::from_bits(5_461); // 1 / 12
/// Most tickets that can be told apart at once.
pub const TICKETS: usize = 4;

config! {
    /// What the estimates need, in plain integers.
    EstimateConfig {
        /// Edges of the roller sensors per roller turn.
        roller_pulses_per_turn: 4..=1_024, 60;
        /// How far a bale's mass strays from its ticket, one deviation.
        ticket_mass_permille: 1..=500, 90;
        /// How far a bale's bite strays from its lot's, one deviation.
        bale_bite_permille: 1..=1_000, 200;
        /// How far the bite wanders in one roller turn, one deviation.
        bite_wander_permille: 1..=500, 12;
        /// Least deviation of one weighing of some thirty a second, as if weighings were independent.
        weigh_deviation_g: 100..=100_000, 1_200;
        /// Deviation of one weighing over the mean error of weighings: they are not independent.
        weigh_inflation_permille: 500..=20_000, 1_450;
        /// Distance from the bale gauge to the bale's axis.
        gauge_axis_mm: 100..=3_000, 1_200;
        /// Deviation of the mass that one gauge reading tells, as if readings were independent.
        gauge_deviation_g: 1_000..=150_000, 120_000;
        /// Pressure of rollers turning without hay.
        idle_pressure_kpa: 0..=10_000, 1_200;
        /// Pressure that drags the bale over the rollers, for each kilogram of it.
        drag_pa_per_kg: 0..=20_000, 2_000;
        /// Time over which the pressure is smoothed before its changes count as changes of the bite.
        pressure_smoothing_ms: 50..=10_000, 700;
        /// Loss of weight at once that counts as a clump.
        clump_g: 500..=50_000, 4_000;
    }
}

/// The same in machine numbers, with the tickets.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct EstimateSettings {
    /// Turns of a roller from one edge to the next.
    pub turns_per_edge: Turns,
    /// Roller speed of one edge in a microsecond, as raw bits of a turn rate.
    pub rate_per_edge: u32,
    /// Deviation of a bale's mass from its ticket, as a share.
    pub ticket_mass_share: Ratio,
    /// The same as a variance.
    pub ticket_mass_variance: FactorVariance,
    /// Variance of a bale's factor around its lot's.
    pub bale_factor_variance: FactorVariance,
    /// Growth of that variance per turn.
    pub factor_wander: FactorVariance,
    /// Least deviation of one weighing.
    pub weigh_deviation: Mass,
    /// Deviation of one weighing over the mean error of weighings.
    pub weigh_inflation: Ratio,
    /// Distance from gauge to axis.
    pub gauge_axis: Length,
    /// Variance of the mass told by one gauge reading that counts for all ticks until the next.
    pub gauge_variance: MassVariance,
    /// Pressure of idling rollers.
    pub idle_pressure: Pressure,
    /// Pressure that drags a kilogram of bale.
    pub drag: PressurePerMass,
    /// How fast the smoothed pressure follows.
    pub pressure_pace: Frequency,
    /// Loss of weight that counts as a clump.
    pub clump_mass: Mass,
    tickets: Tickets,
}

/// One ticket at least.
#[derive(Clone, PartialEq, Eq, Debug)]
struct Tickets {
    first: Ticket,
    others: Vec<Ticket, TICKETS>,
}

impl EstimateConfig {
    /// Checks and turns into machine numbers.
    ///
    /// # Errors
    /// The first field out of its range, of these or of a ticket; no ticket at all.
    pub fn build(&self, tickets: &[TicketConfig]) -> Result<EstimateSettings, SettingError> {
        self.checked()?;
        let pulses = self.roller_pulses_per_turn.unsigned_abs();
        let rate_per_edge = divide_wide(1_000_000u64.wrapping_shl(TurnRate::FRACTION), pulses);
        let turns_per_edge = divide_wide(1u64.wrapping_shl(Turns::FRACTION), pulses);
        Ok(EstimateSettings {
            turns_per_edge: Turns::from_bits(i32::try_from(turns_per_edge).unwrap_or(i32::MAX)),
            rate_per_edge,
            ticket_mass_share: Ratio::from_milli(self.ticket_mass_permille),
            ticket_mass_variance: factor_variance(self.ticket_mass_permille),
            bale_factor_variance: factor_variance(self.bale_bite_permille),
            factor_wander: factor_variance(self.bite_wander_permille),
            weigh_deviation: Mass::from_milli(self.weigh_deviation_g),
            weigh_inflation: Ratio::from_milli(self.weigh_inflation_permille),
            gauge_axis: Length::from_milli(self.gauge_axis_mm),
            gauge_variance: mass_variance(self.gauge_deviation_g).scaled(GAUGE_SHARE),
            idle_pressure: Pressure::from_whole(self.idle_pressure_kpa),
            drag: PressurePerMass::from_milli(self.drag_pa_per_kg),
            pressure_pace: frequency(self.pressure_smoothing_ms),
            clump_mass: Mass::from_milli(self.clump_g),
            tickets: Tickets::build(tickets)?,
        })
    }
}

impl Tickets {
    fn build(configs: &[TicketConfig]) -> Result<Self, SettingError> {
        let given = i32::try_from(configs.len()).unwrap_or(i32::MAX);
        let too_few_or_many = SettingError { field: "tickets", given, allowed: (1, 4) };
        let (first, rest) = configs.split_first().ok_or(too_few_or_many)?;
        let mut others = Vec::new();
        for config in rest {
            others.push(config.build()?).map_err(|_| too_few_or_many)?;
        }
        Ok(Self { first: first.build()?, others })
    }
}

impl EstimateSettings {
    /// The ticket that a selector position means: the first one for a position without a ticket.
    #[must_use]
    pub fn known_ticket(&self, selected: u8) -> u8 {
        if usize::from(selected) <= self.tickets.others.len() { selected } else { 0 }
    }

    /// A ticket; the first one for a number without a ticket.
    #[must_use]
    pub fn ticket(&self, number: u8) -> &Ticket {
        let other = usize::from(number).checked_sub(1);
        other.and_then(|index| self.tickets.others.get(index)).unwrap_or(&self.tickets.first)
    }
}

/// The variance of a deviation in thousandths.
fn factor_variance(permille: i32) -> FactorVariance {
    // 2^24 / 10^6 = 17,592,186 / 2^20 to within 3e-9.
    let square = i64::from(permille).saturating_mul(i64::from(permille));
    FactorVariance::from_bits(narrow(square.saturating_mul(17_592_186).wrapping_shr(20)))
}

fn mass_variance(grams: i32) -> MassVariance {
    let deviation = Mass::from_milli(grams);
    deviation.times(deviation)
}

/// The inverse of a time constant in milliseconds.
pub(super) fn frequency(millis: i32) -> Frequency {
    let numerator = 1_000u64.wrapping_shl(Frequency::FRACTION);
    let bits = divide_wide(numerator, millis.max(1).unsigned_abs());
    Frequency::from_bits(i32::try_from(bits).unwrap_or(i32::MAX))
}
