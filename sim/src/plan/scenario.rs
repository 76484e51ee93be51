//! A plan as a scenario that `strewn feed` takes.

use super::farm::Kind;
use super::made::Plan;
use crate::bench::scenario::{Core, Ticket};
use crate::table::quoted;
use crate::units::{
    KG_M_PER_LB_FT, KG_PER_LB, M_PER_FT, M_S_PER_MPH, M3_PER_IN3, M3_S_PER_GPM, PA_PER_PSI,
};
use crate::world::spec::Hay;

/// Longest drive of a scenario, s, and most rows in it.
const LONGEST_S: f64 = 7_000.0;
const MOST_ROWS: f64 = 100.0;
/// Shortest row of a scenario, m.
const LEAST_ROW_M: f64 = 10.0 * M_PER_FT;

impl Plan {
    /// The first trip of the plan as a scenario file: its rate, its machine, and the bales that the
    /// machine carries, as whole ones.
    #[must_use]
    pub fn scenario(&self) -> String {
        let bales = self.first_trip();
        let mass_kg: f64 = bales.iter().map(|lot| self.farm.lots[*lot].ticket.mass_kg).sum();
        let mut text = format!(
            "# The first trip of a plan: run it with strewn feed.\n\n\
             name = {}\ntarget_lb_per_ft = {}\nbetween_bales_s = {}\n{}\n[tractor]\nengine_rpm = {}\n\n",
            quoted(&self.farm.name),
            plain(self.rate_kg_m / KG_M_PER_LB_FT),
            plain(self.farm.between_bales_s),
            self.row_m().map_or(String::new(), |row_m| {
                format!("row_length_ft = {}\n", plain(row_m / M_PER_FT))
            }),
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
        text + &self.drive(mass_kg, bales.len() as f64)
    }

    /// The drive for so much hay in so many bales: one leg, or one for each row of a bunk.
    fn drive(&self, mass_kg: f64, bales: f64) -> String {
        let length_m = mass_kg / self.rate_kg_m;
        let rows = self.row_m().map_or(1.0, |row_m| (length_m / row_m).ceil().min(MOST_ROWS));
        // A quarter to spare, and time for the rollers to start.
        let feeding_s = 1.25 * length_m.min(self.row_m().unwrap_or(f64::MAX)) / self.speed_m_s;
        let row_s = (feeding_s + bales * self.farm.between_bales_s + 20.0).min(LONGEST_S / rows);
        let speed_mph = plain(self.speed_m_s / M_S_PER_MPH);
        let row =
            format!("\n[[drive]]\nspeed_mph = {speed_mph}\nfor_s = {}\n", plain(row_s.ceil()));
        String::from("[[drive]]\nspeed_mph = 0\nfor_s = 3\n") + &row.repeat(rows as usize)
    }

    /// Length of a row that ends on its mark, m: along a bunk.
    fn row_m(&self) -> Option<f64> {
        let place = &self.farm.place;
        (place.kind == Kind::Bunk).then(|| self.strip_m.min(place.row_m).max(LEAST_ROW_M))
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
