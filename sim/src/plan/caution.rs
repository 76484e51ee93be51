//! What a person should know before following a plan: the number, what is usual, and why it matters.

use super::category::{SOURCE, category};
use super::farm::Kind;
use super::hitch::FRONT_SHARE;
use super::made::Plan;
use crate::units::{
    KG_M_PER_LB_FT, KG_M3_PER_LB_FT3, KG_PER_LB, M_PER_FT, M_S_PER_MPH, M3_S_PER_GPM, PA_PER_PSI,
    W_PER_HP,
};
use crate::world::geometry::{dry_matter_kg, volume_m3};
use crate::world::spec::Hay;

/// One caution.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Caution {
    /// What the plan has.
    pub number: String,
    /// What is usual, and who says so.
    pub usual: String,
    /// Why it matters.
    pub why: &'static str,
}

fn caution(number: String, usual: impl ToString, why: &'static str) -> Caution {
    Caution { number, usual: usual.to_string(), why }
}

/// Everything in a plan that is unusual or does not fit, in the order of the plan.
#[must_use]
pub fn cautions(plan: &Plan) -> Vec<Caution> {
    let mut all = Vec::new();
    ration(plan, &mut all);
    bales(plan, &mut all);
    place(plan, &mut all);
    machine(plan, &mut all);
    tractor(plan, &mut all);
    all
}

fn ration(plan: &Plan, all: &mut Vec<Caution>) {
    for group in &plan.farm.herd {
        let percent = 100.0 * group.intake.unwrap_or_else(|| group.class.intake(plan.farm.tdn));
        if !(1.8..=2.9).contains(&percent) {
            all.push(caution(
                format!("{} eat {percent:.1} % of their weight a day", group.class.many()),
                "1.8 to 2.9 % was measured on cows (Gross, Oklahoma State; Buskirk et al., 2003)",
                "Too little starves them, too much is trampled.",
            ));
        }
    }
    let loss = 100.0 * plan.farm.loss;
    if loss < 5.0 {
        all.push(caution(
            format!("{loss:.0} % of the hay is lost"),
            "about 12 % of a day's supply in a row (Schnakenberg, U. Missouri, 2011)",
            "Hay that was not planned for is missing; look at what is left the next day.",
        ));
    }
    if plan.farm.days > 1.0 {
        all.push(caution(
            format!("{} days are fed at once", plan.farm.days),
            "a day's supply; several at once lose over 40 % (Schnakenberg, U. Missouri, 2011)",
            "Cattle bed on what they do not eat on the first day.",
        ));
    }
    if let Some(storage) = plan.farm.storage.filter(|storage| storage.loss > 0.10) {
        all.push(caution(
            format!("{:.1} % of what is put up is lost in store", 100.0 * storage.loss),
            "at most 10 % covered and raised, under a roof or in a barn, even in more than a year (Huhnke, Oklahoma \
             State, as quoted by Selk)",
            "What rots in the stack must be put up, or bought, first.",
        ));
    }
    if let Some(days) = plan.days_left.filter(|days| *days < 30.0) {
        all.push(caution(
            format!("the hay at hand lasts {days:.0} days"),
            "a winter takes about 150 (Mayo and Thomas, UF/IFAS, 2024)",
            "Hay is dearest when it has run out.",
        ));
    }
}

fn bales(plan: &Plan, all: &mut Vec<Caution>) {
    let used = plan.farm.lots.iter().zip(&plan.bales).filter(|(_, count)| **count > 0.0);
    for (lot, _) in used {
        let ticket = &lot.ticket;
        let (name, percent) = (&ticket.name, 100.0 * ticket.moisture);
        if !lot.weighed {
            all.push(caution(
                format!(
                    "a bale of \"{name}\" is taken as {:.0} lb, not weighed",
                    ticket.mass_kg / KG_PER_LB
                ),
                "a guess is off by about 100 lb (Blazek and Wiegand, U. Wisconsin, told by Rankin)",
                "Every figure of the plan is off by as much; weigh a few bales.",
            ));
        }
        let dry = dry_matter_kg(ticket.mass_kg, ticket.moisture)
            / volume_m3(ticket.diameter_m, ticket.width_m)
            / KG_M3_PER_LB_FT3;
        if !(9.0..=12.0).contains(&dry) {
            all.push(caution(
                format!("a bale of \"{name}\" has {dry:.1} lb of dry matter a cubic foot"),
                "9 to 12 lb (Hancock, U. Georgia, from memory)",
                "Weight, size or moisture may be wrong; a denser bale gives a bigger bite.",
            ));
        }
        if ticket.hay == Hay::Dry && percent > 18.0 {
            all.push(caution(
                format!("\"{name}\" has {percent:.0} % moisture"),
                "15 to 18 % for dry bales (Alberta Agriculture, 2004); silage 45 to 60 % (Penn State Extension)",
                "Hay this damp heats and moulds, and tears worse.",
            ));
        }
        if ticket.hay == Hay::Wrapped && !(45.0..=60.0).contains(&percent) {
            all.push(caution(
                format!("\"{name}\" has {percent:.0} % moisture"),
                "45 to 60 % for wrapped bales (Penn State Extension)",
                "Drier silage moulds, wetter silage spoils and weighs more on the hitch.",
            ));
        }
        if ticket.hay == Hay::Wrapped {
            all.push(caution(
                format!("\"{name}\" is wrapped silage"),
                "dry hay, which lays more evenly (common practice, no source)",
                "It hangs together and leaves in bigger tufts: drive slower, look behind.",
            ));
        }
    }
}

fn place(plan: &Plan, all: &mut Vec<Caution>) {
    let feet = |length_m: f64| length_m / M_PER_FT;
    if plan.strip_m < 0.99 * plan.space_strip_m {
        all.push(caution(
            format!("{:.0} ft for {:.0} head", feet(plan.strip_m), plan.farm.head()),
            format!("{:.0} ft, so that all eat at once (FASS Guide, 2020, as tabled by Penn State Extension; for rows on open ground no figure is published)", feet(plan.space_strip_m)),
            "The weak go without and the strong overeat.",
        ));
    }
    if plan.place.feedings < 1.0 {
        let what = if plan.farm.place.kind == Kind::Bunk { "bunk" } else { "pasture" };
        all.push(caution(
            format!("the {what} has no room for {:.0} ft", feet(plan.strip_m)),
            "fresh ground for each feeding",
            "Hay on trampled ground is wasted, and the ground is fed twice.",
        ));
    }
}

fn machine(plan: &Plan, all: &mut Vec<Caution>) {
    let machine = &plan.farm.machine;
    let mph = |speed_m_s: f64| speed_m_s / M_S_PER_MPH;
    if !(2.0..=5.0).contains(&mph(plan.speed_m_s)) {
        all.push(caution(
            format!("{:.1} mph", mph(plan.speed_m_s)),
            "2 to 5 mph (common practice, from memory)",
            "Slower costs time and the speed is measured worse; faster throws hay about.",
        ));
    }
    for (lot, fit) in plan.farm.lots.iter().zip(&plan.fits) {
        let Some(fit) = fit else { continue };
        let name = &lot.ticket.name;
        if fit.slowest_m_s > fit.fastest_m_s {
            all.push(caution(
                format!("no one speed lays {:.1} lb/ft of \"{name}\" from skin to core", plan.rate_kg_m / KG_M_PER_LB_FT),
                format!("{:.1} mph at the skin, {:.1} at the core", mph(fit.slowest_m_s), mph(fit.fastest_m_s)),
                "Follow the speed that the screen advises; another strip length makes another rate.",
            ));
        }
        let share = fit.pressure_pa / machine.relief_pa;
        if share > 0.8 {
            all.push(caution(
                format!(
                    "\"{name}\" takes {:.0} psi, {:.0} % of the relief pressure",
                    fit.pressure_pa / PA_PER_PSI,
                    100.0 * share
                ),
                "up to 80 %, so that a dense core does not stall the rollers (assumed)",
                "Stalled rollers let go in one clump.",
            ));
        }
        let share = fit.flow_m3_s / machine.remote_flow_m3_s;
        if share > 0.95 {
            all.push(caution(
                format!(
                    "\"{name}\" takes {:.1} gpm of {:.1}",
                    fit.flow_m3_s / M3_S_PER_GPM,
                    machine.remote_flow_m3_s / M3_S_PER_GPM
                ),
                "up to 95 % of the remote's flow (assumed)",
                "With no flow to spare the rollers cannot catch up.",
            ));
        }
    }
    let pump_m3_s = machine.pump_m3_per_turn * plan.farm.engine_turns_s;
    if pump_m3_s < 0.999 * machine.remote_flow_m3_s {
        all.push(caution(
            format!(
                "at {:.0} rpm the pump gives {:.1} gpm",
                60.0 * plan.farm.engine_turns_s,
                pump_m3_s / M3_S_PER_GPM
            ),
            format!(
                "the {:.1} gpm that the remote is set to",
                machine.remote_flow_m3_s / M3_S_PER_GPM
            ),
            "The plan reckons with the remote's flow; raise the engine's speed.",
        ));
    }
}

fn tractor(plan: &Plan, all: &mut Vec<Caution>) {
    let Some(hitch) = &plan.farm.hitch else { return };
    for load in &plan.loads {
        let kind = if load.wrapped { "wrapped " } else { "dry " };
        let with =
            format!("with {} {kind}{}", load.bales, if load.bales == 1 { "bale" } else { "bales" });
        if load.axles.front_share < FRONT_SHARE {
            all.push(caution(
                format!(
                    "{with} the front axle carries {:.0} lb, {:.1} % of the tractor",
                    load.axles.front_kg / KG_PER_LB,
                    100.0 * load.axles.front_share
                ),
                format!(
                    "at least 20 % (axle pages of implement manuals): {:.0} lb of weights in front",
                    load.axles.weights_needed_kg / KG_PER_LB
                ),
                "A light front axle does not steer or brake, and the tractor may tip back.",
            ));
        }
        if let Some(share) = load.lift_share.filter(|share| *share > 0.9) {
            all.push(caution(
                format!(
                    "{with} the hitch lifts {:.0} lb at {:.0} in, {:.0} % of what it can there",
                    load.hung_kg / KG_PER_LB,
                    load.behind_links_m / M_PER_FT * 12.0,
                    100.0 * share
                ),
                "up to 90 % of the rated lift, taken to fall with the lever beyond 24 in (assumed)",
                "A hitch that cannot hold the load sinks or drops it.",
            ));
        }
    }
    let outside = hitch.category.zip(hitch.power_w).and_then(|(category, power)| {
        let (low, high) = self::category(category)?.power_w?;
        (!(low..=high).contains(&power)).then_some((category, power, low, high))
    });
    if let Some((category, power, low, high)) = outside {
        all.push(caution(
            format!("a tractor of {:.0} hp on a hitch of category {category}", power / W_PER_HP),
            format!("{:.0} to {:.0} hp ({SOURCE})", low / W_PER_HP, high / W_PER_HP),
            "Pins and links may be too weak for what the tractor can pull.",
        ));
    }
}
