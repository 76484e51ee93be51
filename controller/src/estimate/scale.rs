//! Weigh cells: each weighing corrects the account of the bale; a sudden loss is a clump, but one after
//! the other is none; what cannot be is not believed.

use super::BaleFilter;
use super::trust::Trust;
use crate::settings::EstimateSettings;
use crate::units::{Mass, Ratio};
use serde::{Deserialize, Serialize};

/// Share of a sudden loss of weight that is believed with each weighing: two or three in a row convince.
const SUDDEN: Ratio = Ratio::from_bits(36_045); // 0.55
/// The roughness of the ride is the mean error of a weighing over about 2 to this power of them, a second.
const ROUGHNESS_HALVINGS: u32 = 5;
/// A loss of weight is no clump, and a jolt no lie, unless it stands out of the roughness by this factor.
const STANDS_OUT: Ratio = Ratio::from_bits(6 << 16);
/// No ride is rougher than this, and on the smoothest a jolt may still be this large.
const ROUGHEST: Mass = Mass::from_bits(50 << 19);
const LEAST_JOLT: Mass = Mass::from_bits(25 << 19);
/// Jolts go both ways: errors on one side, for as long as the roughness is a mean of, may come to this
/// share of it, and to this mass on the smoothest ride.
const LEANING: Ratio = Ratio::from_bits(45_875); // 0.7
const LEAST_LEANING: Mass = Mass::from_bits(12 << 19);
/// No clump is heavier.
const MOST_CLUMP: Mass = Mass::from_bits(120 << 19);
/// A ticket may be wrong, the bale half gone or just being put on: at rest, and for so many weighings of a
/// row, a second, they count whatever they tell.
const SETTLING: u8 = 24;
/// The account itself is off by no more than so many of its deviations.
const DEVIATIONS: Ratio = Ratio::from_bits(4 << 16);

/// What weighing has shown of this bale.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Scale {
    sudden: Mass,
    /// Mean error of the weighings of late, whatever its sign, and with it.
    roughness: Mass,
    leaning: Mass,
    trust: Trust<24, 3>,
    /// Weighings since the rollers stood, up to those that it takes to know the mass.
    settled: u8,
}

impl Scale {
    /// Nothing weighed yet.
    #[must_use]
    pub fn new(settings: &EstimateSettings) -> Self {
        Self {
            sudden: Mass::ZERO,
            roughness: settings.clump_mass,
            leaning: Mass::ZERO,
            trust: Trust::default(),
            settled: 0,
        }
    }

    /// Whether it has told too much that cannot be.
    #[must_use]
    pub fn lies(&self) -> bool {
        self.trust.is_lost()
    }

    /// A weighing. Gives the clump that it tells of. `turning` is whether the rollers do, `in_core`
    /// whether they may be in a dense core: elsewhere nothing leaves at once, and a scale that says so lies.
    /// What cannot be while they stand says that the account was wrong.
    pub fn weigh(
        &mut self,
        settings: &EstimateSettings,
        measured: Mass,
        bale: &mut BaleFilter,
        (turning, in_core): (bool, bool),
    ) -> Option<Mass> {
        let error = measured.saturating_sub(bale.left());
        let possible = self.is_possible(error, bale, in_core);
        // In a core hay leaves unseen as well: then it is the account that is wrong.
        if in_core && self.leaning.negated() > self.most_leaning() {
            bale.doubt_mass();
            self.leaning = Mass::ZERO;
        }
        self.settled = if turning { self.settled.saturating_add(1) } else { 0 };
        if self.settled < SETTLING {
            if !possible {
                bale.doubt_mass();
            }
        } else if !self.trust.takes(possible) {
            return None;
        }
        self.sudden = self.sudden.saturating_add(error.saturating_sub(self.sudden).scaled(SUDDEN));
        let clump = self.sudden.negated();
        if in_core && clump > settings.clump_mass.max(self.roughness.scaled(STANDS_OUT)) {
            bale.lost(clump);
            self.trust.wonders();
            self.sudden = Mass::ZERO;
            return Some(clump);
        }
        let deviation =
            self.roughness.scaled(settings.weigh_inflation).max(settings.weigh_deviation);
        bale.weighed(measured, deviation.times(deviation));
        None
    }

    fn most_leaning(&self) -> Mass {
        self.roughness.scaled(LEANING).max(LEAST_LEANING)
    }

    /// Whether the account may be off by so much.
    fn is_possible(&mut self, error: Mass, bale: &BaleFilter, in_core: bool) -> bool {
        let felt = error.held_within(ROUGHEST.negated(), ROUGHEST);
        self.roughness = follow(self.roughness, felt.magnitude());
        self.leaning = follow(self.leaning, felt);
        let jolt = self.roughness.scaled(STANDS_OUT).max(LEAST_JOLT);
        let leaning = self.most_leaning();
        let clump = if in_core { MOST_CLUMP } else { Mass::ZERO };
        let above = error.saturating_sub(jolt);
        let below = error.negated().saturating_sub(jolt.saturating_add(clump));
        // What the ride does not explain, the account's own doubt must. Most is explained.
        let rest = above.max(below).max(self.leaning.magnitude().saturating_sub(leaning));
        rest <= Mass::ZERO || rest <= bale.left_deviation().scaled(DEVIATIONS)
    }
}

fn follow(mean: Mass, value: Mass) -> Mass {
    mean.saturating_add(value.saturating_sub(mean).halved(ROUGHNESS_HALVINGS))
}
