//! A ticket: what is known of a lot of bales before one is fed, and what follows from it.

use super::error::{SettingError, check};
use crate::units::{Bite, Length, Mass, PerMass, Ratio};
use serde::{Deserialize, Serialize};

/// What is known of a lot of bales, in plain integers.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct TicketConfig {
    /// Mass of a bale as fed, g.
    pub mass_g: i32,
    /// Diameter, mm.
    pub diameter_mm: i32,
    /// Hay that leaves a full bale per roller turn, g.
    pub bite_g: i32,
    /// Kind of core.
    pub core: Core,
}

/// Kind of core that a lot is expected to have.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub enum Core {
    /// The same density throughout.
    Even,
    /// Loose inside, density rising evenly from the centre.
    Soft {
        /// Density at the centre, thousandths of that at the surface.
        centre_permille: i32,
    },
    /// Denser inside a radius.
    Dense {
        /// Density of the core, thousandths of that around it.
        ratio_permille: i32,
        /// Radius of the core, thousandths of the bale's.
        radius_permille: i32,
    },
}

/// The last of any bale has lost its winding and leaves loose, as fast as a full bale's first hay.
/// Assumed.
const LOOSE: Mass = Mass::from_bits(5 << 19);
/// Contact falls no further than at this share of the radius: the last shreds too are torn. Assumed.
const LEAST_CONTACT: Ratio = Ratio::from_bits(4_096); // 1/16
/// Steps of the expected-bite table from an empty to a full bale.
const STEPS: usize = 16;
const WHOLE: Ratio = Ratio::from_bits(16 << 16);

/// A ticket in machine numbers.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Ticket {
    /// Mass of a bale as fed.
    pub mass: Mass,
    /// Hay left when the dense core is reached; zero without one.
    pub core_mass: Mass,
    /// The bite of a full bale.
    full_bite: Bite,
    /// Steps of the table of bites for each kilogram left.
    steps_per_mass: PerMass,
    radius: Length,
    profile: Profile,
    bites: Bites,
    /// The same where no core is.
    around: Bites,
}

/// Expected bites from an empty to a full bale.
type Bites = [Bite; STEPS + 1];

/// Relative density `centre + slope r` below a radius and `outside` above it, all as shares.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Profile {
    centre: Ratio,
    slope: Ratio,
    edge: Ratio,
    whole: Ratio,
}

impl TicketConfig {
    /// Checks and turns into machine numbers.
    ///
    /// # Errors
    /// The first field out of its range.
    pub fn build(&self) -> Result<Ticket, SettingError> {
        let mass = check("ticket mass_g", self.mass_g, 50_000..=2_500_000)?;
        let diameter = check("ticket diameter_mm", self.diameter_mm, 600..=2_500)?;
        let bite = check("ticket bite_g", self.bite_g, 200..=60_000)?;
        let profile = Profile::build(self.core)?;
        let mass = Mass::from_milli(mass);
        let core_mass = match self.core {
            Core::Dense { .. } => mass.scaled(profile.share_within(profile.edge)),
            Core::Even | Core::Soft { .. } => Mass::ZERO,
        };
        let full_bite = Bite::from_milli(bite);
        let around = match self.core {
            Core::Dense { .. } => Profile::EVEN,
            Core::Even | Core::Soft { .. } => profile,
        };
        Ok(Ticket {
            mass,
            core_mass,
            full_bite,
            steps_per_mass: WHOLE.per(mass),
            radius: Length::from_milli(diameter).halved(1),
            profile,
            bites: profile.bites(full_bite),
            around: around.bites(full_bite),
        })
    }
}

/// `share` sixteenths.
fn sixteenths(share: u8) -> Ratio {
    Ratio::from_bits(i32::from(share).saturating_mul(Ratio::ONE.halved(4).to_bits()))
}

impl Profile {
    const EVEN: Self =
        Self { centre: Ratio::ONE, slope: Ratio::ZERO, edge: Ratio::ZERO, whole: Ratio::ONE };

    fn build(core: Core) -> Result<Self, SettingError> {
        let (centre, slope, edge) = match core {
            Core::Even => (Ratio::ONE, Ratio::ZERO, Ratio::ZERO),
            Core::Soft { centre_permille } => {
                let centre = check("ticket core centre_permille", centre_permille, 100..=1_000)?;
                let centre = Ratio::from_milli(centre);
                (centre, centre.complement(), Ratio::ONE)
            }
            Core::Dense { ratio_permille, radius_permille } => {
                let ratio = check("ticket core ratio_permille", ratio_permille, 1_000..=4_000)?;
                let radius = check("ticket core radius_permille", radius_permille, 50..=800)?;
                (Ratio::from_milli(ratio), Ratio::ZERO, Ratio::from_milli(radius))
            }
        };
        let mut profile = Self { centre, slope, edge, whole: Ratio::ONE };
        profile.whole = profile.relative_mass(Ratio::ONE);
        Ok(profile)
    }

    /// Density at a share of the radius, relative to that at the surface.
    fn density(&self, radius: Ratio) -> Ratio {
        if radius > self.edge {
            Ratio::ONE
        } else {
            self.centre.saturating_add(self.slope.scaled(radius))
        }
    }

    /// Twice the integral of density times radius, from the centre to a share of the radius.
    fn relative_mass(&self, radius: Ratio) -> Ratio {
        let inner = radius.min(self.edge);
        let square = inner.scaled(inner);
        let two_thirds = Ratio::from_bits(43_691);
        let inside = self
            .centre
            .scaled(square)
            .saturating_add(self.slope.scaled(square).scaled(inner).scaled(two_thirds));
        inside.saturating_add(radius.scaled(radius).saturating_sub(square))
    }

    /// Share of the bale's mass within a share of its radius.
    fn share_within(&self, radius: Ratio) -> Ratio {
        self.relative_mass(radius).share_of(self.whole)
    }

    /// Share of the radius within which a share of the mass lies: 16 halvings of the interval.
    fn radius_holding(&self, share: Ratio) -> Ratio {
        let (mut low, mut high) = (Ratio::ZERO, Ratio::ONE);
        for _ in 0..16 {
            let middle = low.saturating_add(high).halved(1);
            if self.share_within(middle) < share {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    }

    fn bites(&self, full: Bite) -> Bites {
        let mut bites = [Bite::ZERO; STEPS + 1];
        for (share, entry) in (0u8..).zip(bites.iter_mut()) {
            *entry = self.bite(full, Ratio::ONE.scaled(sixteenths(share)));
        }
        bites
    }

    /// Expected bite with a share of the mass left.
    ///
    /// Assumed, and corrected by what each bale teaches: the volume torn falls as density rises, and
    /// contact falls as the bale shrinks, so that the bite goes with density^(5/8) radius^(5/16).
    fn bite(&self, full: Bite, left: Ratio) -> Bite {
        let radius = self.radius_holding(left);
        let half = self.density(radius).square_root();
        let density = half.scaled(half.square_root().square_root());
        let quarter = radius.max(LEAST_CONTACT).square_root().square_root();
        let contact = quarter.scaled(quarter.square_root().square_root());
        full.scaled(density).scaled(contact)
    }
}

impl Ticket {
    /// The bite that the ticket lets expect with this much hay left.
    #[must_use]
    pub fn expected_bite(&self, left: Mass) -> Bite {
        self.look_up(&self.bites, left)
    }

    /// The same for whoever feels the core when it comes: nobody knows exactly where it begins, so
    /// that expecting it at the ticket's place would be wrong twice.
    #[must_use]
    pub fn bite_around_core(&self, left: Mass) -> Bite {
        self.look_up(&self.around, left)
    }

    fn look_up(&self, bites: &Bites, left: Mass) -> Bite {
        if left < LOOSE {
            return self.full_bite;
        }
        let position = self.steps_per_mass.of(left).held_within(Ratio::ZERO, WHOLE);
        let index = usize::try_from(position.to_bits().wrapping_shr(Ratio::FRACTION)).unwrap_or(0);
        let fraction = Ratio::from_bits(position.to_bits() & 0xFFFF);
        let low = bites.get(index).copied().unwrap_or(Bite::ZERO);
        let high = bites.get(index.saturating_add(1)).copied().unwrap_or(low);
        low.saturating_add(high.saturating_sub(low).scaled(fraction))
    }

    /// Whether a dense core may have been reached: cores may be more than twice the ticket's.
    #[must_use]
    pub fn may_be_core(&self, left: Mass) -> bool {
        left < self
            .core_mass
            .saturating_add(self.core_mass)
            .saturating_add(self.core_mass.halved(2))
    }

    /// Hay left on a bale that has shrunk to this radius.
    #[must_use]
    pub fn left_at_radius(&self, radius: Length) -> Mass {
        let share = radius.share_of(self.radius).held_within(Ratio::ZERO, Ratio::ONE);
        self.mass.scaled(self.profile.share_within(share))
    }
}
