//! What was found, as a table for a person and as a machine file.

use super::{Finding, Fit};
use crate::units::KG_PER_LB;

/// A driver keeps this share of the flow for corrections; see the settings made from a scenario.
const MOST_OF_FLOW: f64 = 0.9;

/// One figure as a person reads it.
struct Line {
    name: String,
    unit: &'static str,
    decimals: usize,
    finding: Finding,
}

/// Every figure with its standard error, or why there is none.
#[must_use]
pub fn words(fit: &Fit) -> String {
    let drive = &fit.drive;
    let line = |name: &str, unit, decimals, finding: &Finding, scale: f64| Line {
        name: name.to_owned(),
        unit,
        decimals,
        finding: scaled(finding, scale),
    };
    let mut lines = vec![
        line("dead band", "% of the command", 1, &drive.dead_band, 100.0),
        line("play (hysteresis)", "% of the command", 1, &drive.play, 100.0),
        line("lag of valve and rollers", "ms", 0, &drive.lag_s, 1e3),
        line("roller speed at full command", "turns/s", 2, &drive.full_turns_s, 1.0),
        line("lost to leakage", "turns/s at 10 MPa", 3, &drive.leak_turns_s_mpa, -10.0),
        line("roller speed at the end of the flow", "turns/s", 2, &drive.limit_turns_s, 1.0),
    ];
    for bite in &fit.bites {
        let number = bite.ticket + 1;
        let bales = if bite.bales == 1 { "1 bale" } else { &format!("{} bales", bite.bales) };
        let name = format!("ticket {number}, bite of a full bale ({bales})");
        lines.push(line(&name, "lb a turn", 2, &bite.full_kg, 1.0 / KG_PER_LB));
        let name = format!("ticket {number}, bite of half a bale");
        lines.push(line(&name, "of what the law expects", 2, &bite.half_over_law, 1.0));
    }
    let widest = lines.iter().map(|line| line.name.chars().count()).max().unwrap_or(0);
    let shown = lines.iter().map(|Line { name, unit, decimals, finding }| match finding {
        Finding::Found { value, deviation } => {
            format!("{name:<widest$}  {value:.decimals$} +/- {deviation:.decimals$} {unit}\n")
        }
        Finding::CannotSay(why) => format!("{name:<widest$}  the data cannot say: {why}\n"),
    });
    let mut text: String = shown.collect();
    text += "+/- is one standard error, by leaving out each twentieth of the data in turn.\n";
    if fit.bites.iter().any(|bite| bite.bales == 1) {
        text += "Bales of a lot differ; the error of a single bale does not show by how much.\n";
    }
    text + "The fall from rollers to ground leaves no trace on any wire: measure it.\n"
}

fn scaled(finding: &Finding, scale: f64) -> Finding {
    match finding {
        Finding::Found { value, deviation } => {
            Finding::Found { value: value * scale, deviation: deviation * scale.abs() }
        }
        cannot => cannot.clone(),
    }
}

/// The machine file that `strewn feed --machine` takes: what was found, and nothing else. `None` if
/// nothing was found.
#[must_use]
pub fn machine_file(fit: &Fit) -> Option<String> {
    let drive = &fit.drive;
    let mut metering = String::new();
    metering += &setting("dead_band_permille", &drive.dead_band, 1e3);
    metering += &setting("valve_lag_ms", &drive.lag_s, 1e3);
    metering += &setting("full_rate_milliturns_s", &drive.full_turns_s, 1e3);
    if let Some(limit) = drive.limit_turns_s.value() {
        let most = MOST_OF_FLOW * limit * 1e3;
        if most < f64::from(fit.config.metering.most_rate_milliturns_s) {
            metering +=
                &format!("most_rate_milliturns_s = {most:.0} # {MOST_OF_FLOW} of the flow\n");
        }
    }
    let mut tickets = String::new();
    for bite in &fit.bites {
        let bite_g = setting("bite_g", &bite.full_kg, 1e3);
        if !bite_g.is_empty() {
            tickets += &format!("\n[[ticket]]\nnumber = {}\n{bite_g}", bite.ticket + 1);
        }
    }
    if metering.is_empty() && tickets.is_empty() {
        return None;
    }
    if !metering.is_empty() {
        metering = format!("\n[metering]\n{metering}");
    }
    Some(format!(
        "# What logs told of a machine. Its settings replace those made from a scenario.\n\
         # +/- is one standard error.\n{metering}{tickets}"
    ))
}

/// A line of the machine file; empty if nothing was found.
fn setting(name: &str, finding: &Finding, scale: f64) -> String {
    match scaled(finding, scale) {
        Finding::Found { value, deviation } => {
            format!("{name} = {value:.0} # +/- {deviation:.0}\n")
        }
        Finding::CannotSay(_) => String::new(),
    }
}
