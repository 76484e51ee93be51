//! What people in the trade say, held against the comparison. Check values only: nothing is reckoned
//! from them. All of it is common practice without a source.

use super::Question;
use super::cost::{outcome, pays_from};
use super::defaults::WAYS;
use super::input::{Farm, Way};
use super::uncertainty::{likeliest_farm, likeliest_way};

/// Hay lost, as a share of dry matter, by the order of [`WAYS`]; nothing is said of the bunk.
const LOSS: [Option<(f64, f64)>; 8] = [
    Some((0.20, 1.0)),
    Some((0.04, 0.10)),
    Some((0.0, 0.04)),
    Some((0.10, 0.15)),
    Some((0.05, 0.10)),
    Some((0.0, 0.05)),
    Some((0.0, 0.05)),
    None,
];
/// Time from entering to leaving the pasture over that of a bare bale set down.
const TIME: [Option<f64>; 8] =
    [Some(1.0), Some(1.25), Some(1.25), Some(1.5), Some(2.5), Some(1.0), Some(1.0), None];
/// The time may differ by this share either way.
pub const TIME_WITHIN: f64 = 0.25;
/// Herd, fed daily, from which a roller machine begins to pay.
const HERD: f64 = 100.0;
/// The herd may differ by this factor either way.
pub const HERD_WITHIN: f64 = 3.0;

/// One thing that practice says, and what the comparison gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// What it is about.
    pub what: String,
    /// What practice says.
    pub practice: String,
    /// What the comparison gives.
    pub given: String,
    /// Whether the two agree within the stated bound.
    pub agrees: bool,
    /// Where they do not: why not.
    pub why: &'static str,
}

const WHY_LOSS: &str = "The published figure is for hay in a row of which cattle need not clean up all; no trial of \
                        thin, metered rows is published, so the comparison does not assume their gain.";
const WHY_OPEN: &str = "Inputs were changed; the published ones agree.";
const WHY_HERD: &str = "It depends on what the machine is held against: against open ground it pays early, as \
                        published losses there are high; against rings only if its loss is below theirs.";

/// Everything that practice says, beside the comparison's likeliest numbers.
#[must_use]
pub fn checks(question: &Question) -> Vec<Check> {
    let farm = likeliest_farm(&question.farm);
    let ways: Vec<Way<f64>> = question.ways.iter().map(likeliest_way).collect();
    let mut checks: Vec<Check> = Vec::new();
    for ((name, way), said) in WAYS.iter().zip(&ways).zip(LOSS) {
        checks.extend(said.map(|said| loss_check(name, way.loss, said)));
    }
    let bare_s = outcome(&farm, &ways[0]).pasture_s;
    for ((name, way), said) in WAYS.iter().zip(&ways).zip(TIME) {
        checks.extend(
            said.map(|said| time_check(name, outcome(&farm, way).pasture_s / bare_s, said)),
        );
    }
    let herd = pays_from(&farm, &ways[6], &ways[0]);
    checks.push(Check {
        what: format!("herd from which {} pays, against {}", WAYS[6], WAYS[0]),
        practice: format!("about {HERD} head fed daily"),
        given: herd.map_or("none up to 2,000".to_owned(), |herd| format!("{herd} head")),
        agrees: herd.is_some_and(|herd| {
            (HERD / HERD_WITHIN..=HERD * HERD_WITHIN).contains(&f64::from(herd))
        }),
        why: WHY_HERD,
    });
    checks
}

/// Herd from which rollers without chains pay against an open ring if they lost what practice says at
/// most instead of the published figure.
#[must_use]
pub fn herd_at_practice_loss(question: &Question) -> Option<u32> {
    let farm: Farm<f64> = likeliest_farm(&question.farm);
    let (_, most) = LOSS[6]?;
    let rollers = Way { loss: most, ..likeliest_way(&question.ways[6]) };
    pays_from(&farm, &rollers, &likeliest_way(&question.ways[1]))
}

fn loss_check(name: &str, loss: f64, (low, high): (f64, f64)) -> Check {
    let practice = match (low, high) {
        (low, 1.0) => format!("above {:.0} %", 100.0 * low),
        (0.0, high) => format!("below {:.0} %", 100.0 * high),
        (low, high) => format!("{:.0} to {:.0} %", 100.0 * low, 100.0 * high),
    };
    Check {
        what: format!("hay lost, {name}"),
        practice,
        given: format!("{:.1} %", 100.0 * loss),
        agrees: (low..=high).contains(&loss),
        why: if name.contains("roll") { WHY_LOSS } else { WHY_OPEN },
    }
}

fn time_check(name: &str, ratio: f64, said: f64) -> Check {
    Check {
        what: format!("time in the pasture over a bare bale's, {name}"),
        practice: format!("about {said}"),
        given: format!("{ratio:.2}"),
        agrees: (ratio / said - 1.0).abs() <= TIME_WITHIN,
        why: WHY_OPEN,
    }
}
