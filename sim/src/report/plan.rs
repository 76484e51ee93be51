//! A plan as lines for a terminal and as JSON.

use super::words::{columns, minutes, number, percent, wrap};
use crate::plan::category::{self, category, made_for};
use crate::plan::caution::{Caution, cautions};
use crate::plan::ration::{Class, UPPER_GUIDE};
use crate::plan::{Herd, Kind, Plan};
use crate::units::{
    KG_M_PER_LB_FT, KG_PER_LB, M_PER_FT, M_S_PER_MPH, M3_S_PER_GPM, PA_PER_PSI, W_PER_HP,
};
use serde_json::{Value, json};

const WIDTH: usize = 100;
/// Width of the names of the lines.
const NAME: usize = 13;
/// Square metres in an acre.
const M2_PER_ACRE: f64 = 43_560.0 * M_PER_FT * M_PER_FT;
/// Pounds an acre in a kilogram a square metre.
pub(super) const LB_ACRE: f64 = M2_PER_ACRE / KG_PER_LB;

/// The plan as text, at most 100 columns.
#[must_use]
pub fn plan_text(plan: &Plan) -> String {
    let mut text = format!("{}\n\n", plan.farm.name);
    for (name, sentence) in lines(plan) {
        let wrapped = wrap(&sentence, WIDTH - NAME);
        for (place, line) in wrapped.lines().enumerate() {
            let name = if place == 0 { name } else { "" };
            text += &format!("{name:<NAME$}{line}\n");
        }
    }
    if !plan.loads.is_empty() {
        text += "\nTractor and hitch\n";
        text += &columns(&loads(plan), 1);
        text += &(wrap(&hitch(plan), WIDTH) + "\n");
    }
    let cautions = cautions(plan);
    if cautions.is_empty() {
        return text + "\nNothing in it is unusual.\n";
    }
    text += "\nMind\n";
    for caution in &cautions {
        text += &(wrap(&sentence(caution), WIDTH) + "\n");
    }
    text
}

/// A caution as one sentence and its reason.
pub(super) fn sentence(caution: &Caution) -> String {
    format!("- {}. Usual: {}. {}", caution.number, caution.usual, caution.why)
}

/// The lines of the plan: a name and a sentence.
pub(super) fn lines(plan: &Plan) -> Vec<(&'static str, String)> {
    let mut lines = vec![("ration", ration(plan)), ("bales", bales(plan)), ("row", row(plan))];
    lines.push(("speed", speed(plan)));
    lines.push(("time", time(plan)));
    lines.push(("oil", oil(plan)));
    if plan.farm.place.kind == Kind::Pasture {
        lines.push(("where", place(plan)));
        lines.push(("ground", ground(plan)));
    }
    lines.push(("stack", stack(plan)));
    lines
}

fn pounds(mass_kg: f64) -> String {
    number(mass_kg / KG_PER_LB, 0)
}

fn feet(length_m: f64) -> String {
    number(length_m / M_PER_FT, 0)
}

fn mph(speed_m_s: f64) -> String {
    number(speed_m_s / M_S_PER_MPH, 1)
}

fn ration(plan: &Plan) -> String {
    let herd: Vec<String> = plan
        .farm
        .herd
        .iter()
        .map(|group| {
            format!(
                "{} {} of {} lb",
                number(group.head, 0),
                group.class.many(),
                pounds(group.body_kg)
            )
        })
        .collect();
    let days =
        if plan.farm.days == 1.0 { "a day".to_owned() } else { format!("{} days", plan.farm.days) };
    let is_by_rule = |group: &Herd| group.class == Class::DryCow && group.intake.is_none();
    let guide = if plan.farm.herd.iter().any(is_by_rule) { UPPER_GUIDE } else { "" };
    let told = format!(
        "{} eat {} lb of dry matter a day; a feeding for {days} with {} lost takes {} lb of dry matter, {} lb ({} kg) \
         as fed, {} lb a head and day.",
        herd.join(", "),
        pounds(plan.eaten_kg_day),
        percent(Some(plan.farm.loss), 0),
        pounds(plan.dry_kg),
        pounds(plan.fed_kg),
        number(plan.fed_kg, 0),
        number(plan.fed_kg / KG_PER_LB / plan.farm.head() / plan.farm.days, 1),
    );
    format!("{told} {guide}").trim_end().to_owned()
}

fn bales(plan: &Plan) -> String {
    let used = plan.farm.lots.iter().zip(&plan.bales).filter(|(_, count)| **count > 0.0);
    let told: Vec<String> = used
        .map(|(lot, count)| {
            let (whole, part) = (count.floor(), count - count.floor());
            let split = if part > 0.005 {
                format!(": {} whole and {} of another", number(whole, 0), number(part, 2))
            } else {
                String::new()
            };
            let (name, each) = (&lot.ticket.name, pounds(lot.ticket.mass_kg));
            format!("{} of \"{name}\" ({each} lb each){split}", number(*count, 2))
        })
        .collect();
    let left = plan
        .days_left
        .map_or(String::new(), |days| format!(" The bales at hand last {} days.", number(days, 0)));
    format!("{}.{left}", told.join(", "))
}

fn row(plan: &Plan) -> String {
    format!(
        "{} lb/ft ({} kg/m) on {} ft ({} m); side by side the animals need {} ft.",
        number(plan.rate_kg_m / KG_M_PER_LB_FT, 2),
        number(plan.rate_kg_m, 2),
        feet(plan.strip_m),
        number(plan.strip_m, 0),
        feet(plan.space_strip_m),
    )
}

fn speed(plan: &Plan) -> String {
    let used = || plan.fits.iter().flatten();
    let slowest = used().map(|fit| fit.slowest_m_s).fold(0.0, f64::max);
    let fastest = used().map(|fit| fit.fastest_m_s).fold(f64::MAX, f64::min);
    let chosen = mph(plan.speed_m_s);
    if slowest > fastest {
        return format!(
            "{chosen} mph at most; toward the core the rollers hold the rate up to {} mph only.",
            mph(fastest)
        );
    }
    format!(
        "{chosen} mph; the rollers hold the rate over whole bales from {} to {} mph.",
        mph(slowest),
        mph(fastest)
    )
}

fn time(plan: &Plan) -> String {
    let trips =
        if plan.trips == 1.0 { "1 trip".to_owned() } else { format!("{} trips", plan.trips) };
    format!(
        "{trips} with {}; {} min:s from entering the pasture to leaving it, {} of it laying: {} acres an \
         hour.",
        if plan.farm.carried == 1 { "1 bale" } else { "up to 2 bales" },
        minutes(plan.pasture_s),
        minutes(plan.laying_s),
        number(plan.area_m2_s * 3_600.0 / M2_PER_ACRE, 1),
    )
}

fn oil(plan: &Plan) -> String {
    let used = || plan.fits.iter().flatten();
    let most = |value: fn(&crate::plan::fit::Fit) -> f64| used().map(value).fold(0.0, f64::max);
    format!(
        "up to {} of {} gpm and {} of {} psi, {} hp, by assumed laws of tearing; measure on the machine.",
        number(most(|fit| fit.flow_m3_s) / M3_S_PER_GPM, 1),
        number(plan.farm.machine.remote_flow_m3_s / M3_S_PER_GPM, 1),
        number(most(|fit| fit.pressure_pa) / PA_PER_PSI, 0),
        number(plan.farm.machine.relief_pa / PA_PER_PSI, 0),
        number(most(|fit| fit.power_w) / W_PER_HP, 1),
    )
}

fn place(plan: &Plan) -> String {
    let spot = |spot: crate::plan::ground::Spot| {
        format!("pass {} at {} ft", number(spot.row, 0), feet(spot.along_m))
    };
    format!(
        "begin in {}; the next feeding begins in {}. The pasture has room for {} such feedings.",
        spot(plan.place.today),
        spot(plan.place.next),
        number(plan.place.feedings, 0)
    )
}

fn ground(plan: &Plan) -> String {
    let [nitrogen, phosphate, potash] = plan.nutrients_kg_m2.map(|mass| number(mass * LB_ACRE, 0));
    format!(
        "on {} ft of width {nitrogen} lb of nitrogen, {phosphate} of phosphate and {potash} of potash an acre, eaten or \
         not (Grev, U. Maryland Extension, 2022).",
        feet(plan.farm.place.spacing_m)
    )
}

/// A winter's hay, what is lost of it in store, and what must be put up.
fn stack(plan: &Plan) -> String {
    let winter = &plan.winter;
    let tons = |mass_kg: f64| number(mass_kg / KG_PER_LB / 2_000.0, 0);
    let mut text = format!(
        "{} days like this take {} tons as fed, {} bales.",
        number(winter.days, 0),
        tons(winter.fed_kg),
        number(winter.bales.ceil(), 0)
    );
    let Some(storage) = &plan.farm.storage else {
        return text + " Nobody said how it is stored: what is lost there comes on top.";
    };
    text += &format!(" In store {} of what is put up is lost", percent(Some(storage.loss), 1));
    if let Some(store) = storage.store {
        let published = store.loss(storage.months);
        text += &format!(
            " (\"{}\": {} to {}, {}",
            store.name(),
            number(100.0 * published.low, 0),
            percent(Some(published.high), 0),
            published.source
        );
        if let Some(wet) = store.wet_winter_loss() {
            text += &format!(
                "; {} in one trial of Lane, U. Tennessee, told by Selk",
                percent(Some(wet), 0)
            );
        }
        text += ")";
    }
    text + &format!(
        "; with what is lost at feeding {} in all, so {} tons must be put up.",
        percent(Some(winter.lost), 1),
        tons(winter.put_up_kg)
    )
}

/// Category, pins and spans of the hitch, and what its lift means.
pub(super) fn hitch(plan: &Plan) -> String {
    let Some(hitch) = &plan.farm.hitch else { return String::new() };
    let millimetres = |length_m: f64| number(1_000.0 * length_m, 1);
    let own = hitch.category.and_then(category).map(|own| {
        let span = own.span_m.map_or(String::new(), |span_m| {
            let narrow = own.narrow_span_m.map_or(String::new(), |narrow_m| {
                format!(" ({} in its narrow variant)", number(1_000.0 * narrow_m, 0))
            });
            format!(", lower points {} mm apart{narrow}", number(1_000.0 * span_m, 0))
        });
        format!(
            "Category {}: lower pins {} mm ({} in), top pin {} mm{span}. ",
            own.number,
            millimetres(own.lower_pin_m),
            own.lower_pin_in,
            millimetres(own.top_pin_m)
        )
    });
    let fitting = hitch.power_w.map(|power_w| {
        let fitting: Vec<String> = made_for(power_w).map(|fits| fits.number.to_string()).collect();
        let fitting = if fitting.is_empty() { "none".to_owned() } else { fitting.join(" or ") };
        format!("Made for {} hp: category {fitting}. ", number(power_w / W_PER_HP, 0))
    });
    let source = match (&own, &fitting) {
        (None, None) => String::new(),
        _ => format!("(Pins, spans, power: {}.) ", category::SOURCE),
    };
    format!(
        "{}{}{source}Lift is rated 24 in behind the links (ISO 789-2) and told at 90 % of the relief pressure (OECD \
         Code 2, from memory): it compares tractors and sizes no implement.",
        own.unwrap_or_default(),
        fitting.unwrap_or_default()
    )
}

/// Loads on hitch and axles; heads first.
pub(super) fn loads(plan: &Plan) -> Vec<Vec<String>> {
    let heads = [
        "",
        "on hitch lb",
        "behind links in",
        "front lb",
        "rear lb",
        "front share",
        "weights for 20 % lb",
        "of lift",
    ];
    let mut rows = vec![heads.map(str::to_owned).to_vec()];
    rows.extend(plan.loads.iter().map(|load| {
        vec![
            load_name(load),
            pounds(load.hung_kg),
            number(load.behind_links_m / M_PER_FT * 12.0, 0),
            pounds(load.axles.front_kg),
            pounds(load.axles.rear_kg),
            percent(Some(load.axles.front_share), 1),
            pounds(load.axles.weights_needed_kg.max(0.0)),
            percent(load.lift_share, 0),
        ]
    }));
    rows
}

/// How many bales of which kind.
pub(super) fn load_name(load: &crate::plan::hitch::Load) -> String {
    match (load.bales, load.wrapped) {
        (0, _) => "no bale".to_owned(),
        (1, false) => "1 dry bale".to_owned(),
        (1, true) => "1 wrapped bale".to_owned(),
        (count, false) => format!("{count} dry bales"),
        (count, true) => format!("{count} wrapped bales"),
    }
}

/// The plan as JSON; units are in the names.
#[must_use]
pub fn plan_json(plan: &Plan) -> Value {
    let lots: Vec<Value> = plan
        .farm
        .lots
        .iter()
        .zip(&plan.bales)
        .zip(&plan.fits)
        .map(|((lot, count), fit)| {
            json!({
                "name": lot.ticket.name,
                "bale_lb": lot.ticket.mass_kg / KG_PER_LB,
                "weighed": lot.weighed,
                "bales": count,
                "rollers_hold_mph": fit.map(|fit| [fit.slowest_m_s / M_S_PER_MPH, fit.fastest_m_s / M_S_PER_MPH]),
                "flow_gpm": fit.map(|fit| fit.flow_m3_s / M3_S_PER_GPM),
                "pressure_psi": fit.map(|fit| fit.pressure_pa / PA_PER_PSI),
                "power_hp": fit.map(|fit| fit.power_w / W_PER_HP),
            })
        })
        .collect();
    let loads: Vec<Value> = plan
        .loads
        .iter()
        .map(|load| {
            json!({
                "bales": load.bales,
                "wrapped": load.wrapped,
                "hitch_lb": load.hung_kg / KG_PER_LB,
                "behind_links_in": load.behind_links_m / M_PER_FT * 12.0,
                "front_axle_lb": load.axles.front_kg / KG_PER_LB,
                "rear_axle_lb": load.axles.rear_kg / KG_PER_LB,
                "front_share": load.axles.front_share,
                "weights_for_20_percent_lb": load.axles.weights_needed_kg / KG_PER_LB,
                "share_of_lift": load.lift_share,
            })
        })
        .collect();
    let cautions: Vec<Value> = cautions(plan)
        .iter()
        .map(|caution| json!({ "number": caution.number, "usual": caution.usual, "why": caution.why }))
        .collect();
    let spot = |spot: crate::plan::ground::Spot| json!({ "pass": spot.row, "at_ft": spot.along_m / M_PER_FT });
    json!({
        "name": plan.farm.name,
        "head": plan.farm.head(),
        "days_per_feeding": plan.farm.days,
        "loss_percent": 100.0 * plan.farm.loss,
        "eaten_dry_lb_per_day": plan.eaten_kg_day / KG_PER_LB,
        "dry_lb": plan.dry_kg / KG_PER_LB,
        "as_fed_lb": plan.fed_kg / KG_PER_LB,
        "days_left": plan.days_left,
        "strip_ft": plan.strip_m / M_PER_FT,
        "space_ft": plan.space_strip_m / M_PER_FT,
        "target_lb_per_ft": plan.rate_kg_m / KG_M_PER_LB_FT,
        "speed_mph": plan.speed_m_s / M_S_PER_MPH,
        "trips": plan.trips,
        "laying_s": plan.laying_s,
        "pasture_s": plan.pasture_s,
        "begin": spot(plan.place.today),
        "next": spot(plan.place.next),
        "feedings_of_room": plan.place.feedings,
        "lb_per_acre": {
            "nitrogen": plan.nutrients_kg_m2[0] * LB_ACRE,
            "phosphate": plan.nutrients_kg_m2[1] * LB_ACRE,
            "potash": plan.nutrients_kg_m2[2] * LB_ACRE,
        },
        "winter": {
            "days": plan.winter.days,
            "as_fed_tons": plan.winter.fed_kg / KG_PER_LB / 2_000.0,
            "bales": plan.winter.bales,
            "put_up_tons": plan.winter.put_up_kg / KG_PER_LB / 2_000.0,
            "lost_in_store_percent": plan.farm.storage.map(|storage| 100.0 * storage.loss),
            "lost_in_all_percent": 100.0 * plan.winter.lost,
        },
        "acres_per_hour": plan.area_m2_s * 3_600.0 / M2_PER_ACRE,
        "lots": lots,
        "loads": loads,
        "cautions": cautions,
    })
}
