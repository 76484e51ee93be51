//! Hay that is lost: in store, at feeding, and both together.
//!
//! Losses divide and compound: each is a share of what came into it, not of what is eaten.

/// What must be fed for something to be eaten when a share (below 1) of what is fed is lost; the same
/// for the price of what is eaten.
#[must_use]
pub fn before_loss(eaten: f64, loss: f64) -> f64 {
    eaten / (1.0 - loss)
}

/// Share lost by two losses one after the other.
#[must_use]
pub fn compound_loss(first: f64, second: f64) -> f64 {
    1.0 - (1.0 - first) * (1.0 - second)
}

/// How round bales are stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Store {
    /// On the ground, uncovered, bound with twine.
    Ground,
    /// On the ground, uncovered, in net wrap.
    GroundInNet,
    /// Raised, on tires or pallets, uncovered.
    Raised,
    /// On the ground under a cover.
    Covered,
    /// Raised and under a cover.
    CoveredRaised,
    /// Under a roof without walls.
    Roof,
    /// In a closed barn.
    Barn,
}

/// Dry matter lost in store, as shares of what was put up, and who says so.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StoreLoss {
    /// Least that is published.
    pub low: f64,
    /// Most that is published.
    pub high: f64,
    /// Who says so.
    pub source: &'static str,
}

impl StoreLoss {
    /// The middle of the range: what is reckoned with where nothing better is known. A choice of this
    /// program; the sources give ranges only.
    #[must_use]
    pub fn middle(&self) -> f64 {
        f64::midpoint(self.low, self.high)
    }
}

const OKLAHOMA: &str =
    "Huhnke, Oklahoma State University BAE-1716, as quoted by Selk, up to 9 months";
const OKLAHOMA_LONG: &str =
    "Huhnke, Oklahoma State University BAE-1716, as quoted by Selk, 12 to 18 months";
const NET: &str = "net wrap outdoors: Shinners et al., 2009; Harrigan and Rotz, 1994; Lane, U. Tennessee, told by Selk";
const NET_LONG: &str = "taken as bales in twine, no source for net wrap this long: Huhnke, Oklahoma \
                        State University BAE-1716, as quoted by Selk, 12 to 18 months";

impl Store {
    /// Each way of storing with its name in files.
    pub const NAMES: &[(&str, Self)] = &[
        ("ground", Self::Ground),
        ("ground, net wrap", Self::GroundInNet),
        ("raised", Self::Raised),
        ("covered", Self::Covered),
        ("covered, raised", Self::CoveredRaised),
        ("roof", Self::Roof),
        ("barn", Self::Barn),
    ];
    /// Longest time in store that a loss is published for, months.
    pub const MOST_MONTHS: f64 = 18.0;

    /// Its name in files.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES.iter().find(|(_, store)| *store == self).map_or("", |(name, _)| name)
    }

    /// All names, as an error or a file tells them.
    pub(crate) fn names() -> String {
        Self::NAMES.iter().map(|(name, _)| format!("\"{name}\"")).collect::<Vec<_>>().join(", ")
    }

    /// Dry matter lost in so many months, 0 to [`Self::MOST_MONTHS`]. Up to 9 months are one range and
    /// all beyond the other, as published; 9 to 12 months are in neither and taken with the longer, so
    /// that nobody runs short.
    #[must_use]
    pub fn loss(self, months: f64) -> StoreLoss {
        let (short, long) = match self {
            Self::Ground => ((0.05, 0.20), (0.15, 0.50)),
            Self::GroundInNet => ((0.072, 0.19), (0.15, 0.50)),
            Self::Raised => ((0.03, 0.15), (0.12, 0.35)),
            Self::Covered => ((0.05, 0.10), (0.10, 0.15)),
            Self::CoveredRaised => ((0.02, 0.04), (0.05, 0.10)),
            Self::Roof => ((0.02, 0.05), (0.03, 0.10)),
            Self::Barn => ((0.0, 0.02), (0.02, 0.05)),
        };
        let ((low, high), source) = match (months <= 9.0, self) {
            (true, Self::GroundInNet) => (short, NET),
            (true, _) => (short, OKLAHOMA),
            (false, Self::GroundInNet) => (long, NET_LONG),
            (false, _) => (long, OKLAHOMA_LONG),
        };
        StoreLoss { low, high, source }
    }

    /// Dry matter found lost in one trial in a wet winter, June to January; `None` for a roof, which it
    /// had not.
    ///
    /// Source: Lane, University of Tennessee, told by Selk.
    #[must_use]
    pub fn wet_winter_loss(self) -> Option<f64> {
        match self {
            Self::Ground => Some(0.37),
            Self::GroundInNet => Some(0.19),
            Self::Raised | Self::Covered => Some(0.29),
            Self::CoveredRaised => Some(0.08),
            Self::Roof => None,
            Self::Barn => Some(0.06),
        }
    }
}
