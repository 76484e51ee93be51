//! The dense core: seen coming from the hay left, met at a speed that it can be felt at, then worked
//! loose slowly.

use crate::estimate::Estimates;
use crate::settings::{MeteringSettings, Ticket};
use crate::signals::Quality;
use crate::units::{Mass, Ratio, TurnRate};

/// The smallest core to expect, as a share of the ticket's.
const SMALLEST: Ratio = Ratio::from_bits(19_661); // 0.3

/// Fastest that the rollers may turn with this much hay left, and whether the core is near.
///
/// From [`MeteringSettings::core_approach`] above the largest core to expect the limit falls evenly to
/// the speed at which a core that begins can still be felt and braked for. It stays there until one is
/// felt, or until even the smallest core to expect must have begun; then it is the roller speed of
/// the core. Where nothing can feel a core, the limit falls evenly from the one to the other instead.
/// One deviation of doubt about the hay left counts as if the core were that much nearer. A
/// ticket without a dense core sets no limit but the machine's own, unless one is felt.
#[must_use]
pub fn roller_limit(
    settings: &MeteringSettings,
    ticket: &Ticket,
    estimates: &Estimates,
    left: Mass,
) -> (TurnRate, bool) {
    let most = settings.most_rate;
    if estimates.in_core {
        return (settings.core_rate, true);
    }
    if ticket.core_mass == Mass::ZERO {
        return (most, false);
    }
    let (_, deviation) = estimates.hay.left;
    let left = left.saturating_sub(deviation);
    let largest = ticket.core_mass.scaled(settings.core_size);
    let smallest = ticket.core_mass.scaled(SMALLEST);
    let above = settings.core_approach.of(left.saturating_sub(largest));
    let above = above.held_within(Ratio::ZERO, Ratio::ONE);
    let watching = if left <= smallest {
        settings.core_rate
    } else if estimates.feels == Quality::Good {
        settings.watch_rate
    } else {
        let within = left.saturating_sub(smallest).share_of(largest.saturating_sub(smallest));
        between(settings.core_rate, settings.watch_rate, within.min(Ratio::ONE))
    };
    (between(watching, most, above), above < Ratio::ONE)
}

fn between(low: TurnRate, high: TurnRate, share: Ratio) -> TurnRate {
    low.saturating_add(high.saturating_sub(low).max(TurnRate::ZERO).scaled(share))
}
