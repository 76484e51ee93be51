//! What rollers and remote can hold: ground speeds for a rate, oil flow, pressure and power.
//!
//! The laws of tearing and of the drive are those of the modelled world: assumed, see
//! hardware-notes/assumed.md. A real machine is measured.

use crate::bench::scenario::Ticket;
use crate::world::bite::TearingLaw;
use crate::world::formulas::{flow_m3_s, hydraulic_power_w, torque_nm, turns_s};
use crate::world::geometry::volume_m3;
use crate::world::hydraulics::DriveLaw;
use crate::world::spec::MachineSpec;
use std::f64::consts::PI;

/// Rollers turn evenly from here on, turns/s. Assumed: 20 turns a minute.
const LEAST_TURNS_S: f64 = 1.0 / 3.0;
/// Rollers are asked for no more than this, turns/s, and for no more than a share of the full flow:
/// as the controller is set.
const MOST_TURNS_S: f64 = 3.5;
const MOST_OF_FLOW: f64 = 0.9;
/// Gravity, m/s2.
const GRAVITY: f64 = 9.806_65;
/// Radii, as shares of the bale's, at which a bale is looked at; what is left within the last one is
/// loose.
const RADII: [f64; 8] = [1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3];

/// What one lot asks of the machine at a rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// Lowest ground speed that the rollers hold over the whole bale, m/s.
    pub slowest_m_s: f64,
    /// Highest, m/s; below the lowest if there is no speed for the whole bale.
    pub fastest_m_s: f64,
    /// Ground speed that the figures below belong to, m/s.
    pub speed_m_s: f64,
    /// Highest oil flow over the bale, m3/s.
    pub flow_m3_s: f64,
    /// Highest pressure across the motors, Pa.
    pub pressure_pa: f64,
    /// Highest hydraulic power, W.
    pub power_w: f64,
}

/// Bite, kg a turn, density and radius share, where a bale is looked at.
fn bites(machine: &MachineSpec, ticket: &Ticket) -> impl Iterator<Item = (f64, f64, f64)> {
    let profile = ticket.core.usual_profile();
    let mean_kg_m3 = ticket.mass_kg / volume_m3(ticket.diameter_m, ticket.width_m);
    let reference_kg_m3 = mean_kg_m3 / profile.mean();
    let across_m = (machine.roller_diameter_m, ticket.width_m);
    let hay = ticket.hay;
    RADII.into_iter().map(move |radius| {
        let density = reference_kg_m3 * profile.relative_density(radius);
        (TearingLaw::default().bite_at(across_m, density, radius, hay), density, radius)
    })
}

/// Fastest turning that the remote's flow and the controller allow, turns/s.
fn most_turns_s(machine: &MachineSpec) -> f64 {
    (MOST_OF_FLOW * turns_s(machine.remote_flow_m3_s, machine.displacement_m3)).min(MOST_TURNS_S)
}

/// Highest rate, kg/m, that the rollers hold over a whole bale at a ground speed, m/s.
#[must_use]
pub fn highest_rate_kg_m(machine: &MachineSpec, ticket: &Ticket, speed_m_s: f64) -> f64 {
    let least = bites(machine, ticket).map(|(bite, ..)| bite).fold(f64::MAX, f64::min);
    most_turns_s(machine) * least / speed_m_s
}

/// What a lot asks of the machine at a rate, kg/m, and a wanted ground speed, m/s, which is held within
/// what the rollers can do.
#[must_use]
pub fn fit(machine: &MachineSpec, ticket: &Ticket, rate_kg_m: f64, wanted_m_s: f64) -> Fit {
    let (least, most) = bites(machine, ticket)
        .fold((f64::MAX, 0.0), |(least, most), (bite, ..)| (bite.min(least), bite.max(most)));
    let slowest_m_s = LEAST_TURNS_S * most / rate_kg_m;
    let fastest_m_s = most_turns_s(machine) * least / rate_kg_m;
    // Where no speed is right for all of it, too fast a start is worse than too slow rollers.
    let speed_m_s = wanted_m_s.max(slowest_m_s).min(fastest_m_s);
    let mut fit =
        Fit { slowest_m_s, fastest_m_s, speed_m_s, flow_m3_s: 0.0, pressure_pa: 0.0, power_w: 0.0 };
    for (bite_kg, density, radius) in bites(machine, ticket) {
        let turns = rate_kg_m * speed_m_s / bite_kg;
        let left_kg = ticket.mass_kg * ticket.core.usual_profile().share_within(radius);
        let (flow, pressure) = oil(machine, ticket, (bite_kg, density), turns, left_kg);
        fit.flow_m3_s = fit.flow_m3_s.max(flow);
        fit.pressure_pa = fit.pressure_pa.max(pressure);
        fit.power_w = fit.power_w.max(hydraulic_power_w(flow, pressure));
    }
    fit
}

/// Flow, m3/s, and pressure, Pa, that keep rollers turning at a speed.
fn oil(
    machine: &MachineSpec,
    ticket: &Ticket,
    (bite_kg, density_kg_m3): (f64, f64),
    turns_s: f64,
    left_kg: f64,
) -> (f64, f64) {
    let (tearing, drive) = (TearingLaw::default(), DriveLaw::default());
    let work_j_kg = tearing.work_at(density_kg_m3, ticket.moisture, ticket.hay);
    let tear_nm = bite_kg * work_j_kg / (2.0 * PI);
    let drag_nm = tearing.rolling_share * left_kg * GRAVITY * machine.roller_diameter_m / 2.0;
    let loss_nm = drive.running_loss_nm + drive.viscous_nm_s * 2.0 * PI * turns_s;
    let pressure = (tear_nm + drag_nm + loss_nm) / torque_nm(machine.displacement_m3, 1.0);
    let flow = flow_m3_s(machine.displacement_m3, turns_s) + drive.leakage_m3_s_pa * pressure;
    (flow, pressure)
}
