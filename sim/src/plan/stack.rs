//! Hay for a whole winter, and what must be put up for it.

use crate::loss::{Store, before_loss, compound_loss};

/// How the hay of a winter is stored, and what is lost there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Storage {
    /// How, if it is one of the ways that losses are published for.
    pub store: Option<Store>,
    /// For how long, months.
    pub months: f64,
    /// Dry matter lost there as a share of what was put up: the person's, or the middle of what is
    /// published.
    pub loss: f64,
}

/// A winter's hay.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Winter {
    /// Days of feeding.
    pub days: f64,
    /// Hay fed in them, kg as fed.
    pub fed_kg: f64,
    /// Bales fed in them, like those of the planned feeding.
    pub bales: f64,
    /// Hay to be put up for it, kg; what is fed, where nobody said how it is stored.
    pub put_up_kg: f64,
    /// Share of what was put up that is lost in store and at feeding.
    pub lost: f64,
}

/// The winter of a herd that is given `fed_kg` in `bales` bales at each feeding of `days` days, losing a
/// share of it.
#[must_use]
pub(super) fn winter(
    winter_days: f64,
    storage: Option<&Storage>,
    (days, fed_kg, bales): (f64, f64, f64),
    feeding_loss: f64,
) -> Winter {
    let feedings = winter_days / days;
    let stored_loss = storage.map_or(0.0, |storage| storage.loss);
    Winter {
        days: winter_days,
        fed_kg: feedings * fed_kg,
        bales: feedings * bales,
        put_up_kg: before_loss(feedings * fed_kg, stored_loss),
        lost: compound_loss(stored_loss, feeding_loss),
    }
}
