//! A plan as a scenario that `strewn feed` takes.

use super::made::Plan;
use crate::bench::scenario::{Core, Ticket};
use crate::table::quoted;
use crate::units::{
    KG_M_PER_LB_FT, KG_PER_LB, M_PER_FT, M_S_PER_MPH, M3_PER_IN3, M3_S_PER_GPM, PA_PER_PSI,
};
use crate::world::spec::Hay;

impl Plan {
    /// The first trip of the plan as a scenario file: its rate, its machine, and the bales that the
    /// machine carries, as whole ones.
    #[must_use]
    pub fn scenario(&self) -> String {
        let bales = self.first_trip();
        let mass_kg: f64 = bales.iter().map(|lot| self.farm.lots[*lot].ticket.mass_kg).sum();
        let feeding_s = mass_kg / (self.rate_kg_m * self.speed_m_s);
        let pauses_s = bales.len() as f64 * self.farm.between_bales_s;
        let mut text = format!(
            "# The first trip of a plan: run it with strewn feed.\n\n\
             name = {}\ntarget_lb_per_ft = {}\nbetween_bales_s = {}\n\n[tractor]\nengine_rpm = {}\n\n",
            quoted(&self.farm.name),
            plain(self.rate_kg_m / KG_M_PER_LB_FT),
            plain(self.farm.between_bales_s),
            plain(60.0 * self.farm.engine_turns_s),
        );
        text += &self.machine();
        for lot in &self.farm.lots {
            text += &ticket(&lot.ticket);
        }
        for lot in &bales {
            let name = quoted(&self.farm.lots[*lot].ticket.name);
            text += &format!("[[bale]]\nname = {name}\nticket = {name}\n\n");
        }
        // A quarter to spare, and time for the rollers to start.
        let drive_s = (1.25 * feeding_s + pauses_s + 20.0).min(7_000.0);
        text += "[[drive]]\nspeed_mph = 0\nfor_s = 3\n\n";
        let speed_mph = plain(self.speed_m_s / M_S_PER_MPH);
        text + &format!("[[drive]]\nspeed_mph = {speed_mph}\nfor_s = {}\n", plain(drive_s.ceil()))
    }

    /// The lots of the bales on the machine in the first trip.
    fn first_trip(&self) -> Vec<usize> {
        let of_lot = |(lot, count): (usize, &f64)| vec![lot; count.ceil().min(2.0) as usize];
        self.bales.iter().enumerate().flat_map(of_lot).take(self.farm.carried).collect()
    }

    fn machine(&self) -> String {
        let machine = &self.farm.machine;
        let lines = [
            ("roller_diameter_in", machine.roller_diameter_m / M_PER_FT * 12.0),
            ("displacement_in3", machine.displacement_m3 / M3_PER_IN3),
            ("remote_flow_gpm", machine.remote_flow_m3_s / M3_S_PER_GPM),
            ("pump_in3_per_turn", machine.pump_m3_per_turn / M3_PER_IN3),
            ("relief_psi", machine.relief_pa / PA_PER_PSI),
            ("dead_band_percent", 100.0 * machine.dead_band),
            ("hysteresis_percent", 100.0 * machine.hysteresis),
            ("valve_lag_s", machine.valve_lag_s),
            ("fall_s", machine.fall_s),
        ];
        let lines = lines.map(|(key, value)| format!("{key} = {}\n", plain(value)));
        format!("[machine]\n{}\n", lines.concat())
    }
}

fn ticket(ticket: &Ticket) -> String {
    let hay = if ticket.hay == Hay::Wrapped { "wrapped" } else { "dry" };
    let core = match ticket.core {
        Core::Even => "even",
        Core::Soft => "soft",
        Core::Dense => "dense",
    };
    format!(
        "[[ticket]]\nname = {}\nwidth_ft = {}\ndiameter_ft = {}\nweight_lb = {}\nmoisture_percent = {}\n\
         hay = \"{hay}\"\ncore = \"{core}\"\n\n",
        quoted(&ticket.name),
        plain(ticket.width_m / M_PER_FT),
        plain(ticket.diameter_m / M_PER_FT),
        plain(ticket.mass_kg / KG_PER_LB),
        plain(100.0 * ticket.moisture),
    )
}

/// A number rounded far below what it means, so that a bound is not missed by rounding.
fn plain(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}
