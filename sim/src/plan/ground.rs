//! Where hay goes today and tomorrow, and what it leaves on the ground.

use super::farm::Place;

/// Nutrients in hay as shares of its mass as fed: nitrogen, phosphate, potash: 45, 15 and 55 lb a ton.
///
/// Source: Grev, University of Maryland Extension, 2022.
pub const NUTRIENTS: [f64; 3] = [45.0 / 2_000.0, 15.0 / 2_000.0, 55.0 / 2_000.0];

/// A point on the pasture's passes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Pass, counted from 1.
    pub row: f64,
    /// Distance along it, m.
    pub along_m: f64,
}

/// Where feeding begins and what is left of the pasture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Where {
    /// Where this feeding begins.
    pub today: Spot,
    /// Where the next one begins, so that no ground is fed on twice.
    pub next: Spot,
    /// Turns at the ends of passes within this feeding.
    pub turns: f64,
    /// Whole feedings, this one included, that the pasture has room for.
    pub feedings: f64,
}

impl Spot {
    fn at(length_m: f64, row_m: f64) -> Self {
        // A thousandth of a metre from the end of a pass is its end.
        let rows = ((length_m + 1e-3) / row_m).floor();
        Self { row: rows + 1.0, along_m: (length_m - rows * row_m).max(0.0) }
    }
}

/// Lays a strip, m, behind what was fed before.
#[must_use]
pub fn place(place: &Place, strip_m: f64) -> Where {
    let today = Spot::at(place.used_m, place.row_m);
    let next = Spot::at(place.used_m + strip_m, place.row_m);
    let room_m = (place.row_m * place.rows - place.used_m).max(0.0);
    Where { today, next, turns: next.row - today.row, feedings: (room_m / strip_m + 1e-9).floor() }
}

/// Ground covered in a time, m2/s, by a strip of a width, m, at a speed, m/s, of which a share is work: the
/// field capacity of machinery management, in US units mph x ft x share / 8.25 = acres an hour.
///
/// Source: Machinery cost equations, after ASAE Standards 2000.
#[must_use]
pub fn field_capacity_m2_s(speed_m_s: f64, width_m: f64, efficiency: f64) -> f64 {
    speed_m_s * width_m * efficiency
}

/// Nutrients of a rate, kg/m, on a strip of a width, m, in kg/m2: nitrogen, phosphate, potash.
#[must_use]
pub fn nutrients_kg_m2(rate_kg_m: f64, width_m: f64) -> [f64; 3] {
    NUTRIENTS.map(|share| share * rate_kg_m / width_m)
}
