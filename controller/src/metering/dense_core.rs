//! The dense core: seen coming from the hay left, met slowly.

use crate::settings::{MeteringSettings, Ticket};
use crate::units::{Mass, Ratio, TurnRate};

/// Fastest that the rollers may turn with this much hay left, and whether the core is near.
///
/// From [`MeteringSettings::core_approach`] above the largest core to expect the limit falls evenly to
/// the roller speed of the core, where it stays. One deviation of doubt about the hay left counts as if
/// the core were that much nearer. A ticket without a dense core sets no limit but the machine's own.
#[must_use]
pub fn roller_limit(
    settings: &MeteringSettings,
    ticket: &Ticket,
    (left, deviation): (Mass, Mass),
) -> (TurnRate, bool) {
    let most = settings.most_rate;
    if ticket.core_mass == Mass::ZERO {
        return (most, false);
    }
    let core = ticket.core_mass.scaled(settings.core_size);
    let above = left.saturating_sub(deviation).saturating_sub(core);
    let share = above.share_of(settings.core_approach).held_within(Ratio::ZERO, Ratio::ONE);
    let spread = most.saturating_sub(settings.core_rate).max(TurnRate::ZERO);
    (settings.core_rate.saturating_add(spread.scaled(share)), share < Ratio::ONE)
}
