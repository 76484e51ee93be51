//! Weigh cells under the cradle.

use super::reading::{Held, Quality, Reading};
use crate::settings::WeighSettings;
use crate::units::arith::product;
use crate::units::{Instant, Mass};
use crate::wires::WeighWire;
use serde::{Deserialize, Serialize};

/// What one tick saw of the weigh cells.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct Weigh {
    /// Mass on the cells. Invalid while counts are out of range or frozen, stale when no conversion
    /// comes, absent before the first one and if no cells are fitted.
    pub mass: Reading<Mass>,
    /// Whether a good conversion came in this tick; a filter must not take the others twice.
    pub fresh: bool,
}

/// Memory of the weigh cells.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub struct WeighChannel {
    mass: Held<Mass>,
    sequence: Option<u8>,
    same: Option<Same>,
}

/// Counts that have not changed since.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
struct Same {
    counts: i32,
    since: Instant,
}

impl WeighChannel {
    /// Takes the wire of one tick. The first tick only notes the sequence: there is no telling how
    /// old the conversion on the wire is.
    ///
    /// Sound cells on a running machine never give exactly the same counts for long; conversions that
    /// do are frozen, until one differs.
    pub fn update(&mut self, settings: &WeighSettings, now: Instant, wire: WeighWire) -> Weigh {
        let converted = self.sequence.is_some_and(|sequence| sequence != wire.sequence);
        self.sequence = Some(wire.sequence);
        if converted {
            self.convert(settings, now, wire.counts);
        }
        let mass = self.mass.reading(now, settings.stale);
        Weigh { mass, fresh: converted && mass.quality == Quality::Good }
    }

    fn convert(&mut self, settings: &WeighSettings, now: Instant, counts: i32) {
        let same = self.same.filter(|same| same.counts == counts);
        let same = same.unwrap_or(Same { counts, since: now });
        self.same = Some(same);
        let (lowest, highest) = settings.counts;
        if now.since(same.since) > settings.frozen || !(lowest..=highest).contains(&counts) {
            self.mass.refuse();
            return;
        }
        let net = counts.saturating_sub(settings.zero);
        let bits = product(net, settings.scale, WeighSettings::SCALE_BITS);
        self.mass.take(Mass::from_bits(bits), now);
    }
}
