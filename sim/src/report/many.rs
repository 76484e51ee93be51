//! A campaign of many bales as text and as JSON.

use super::words::{minutes, number, percent, wrap};
use crate::study::summary::{CONFIDENCE, Figure, Group, Line, Summary, Worst};
use serde_json::{Value, json};

/// What a report of a campaign is made from.
#[derive(Clone, Copy, Debug)]
pub struct ManyInput<'a> {
    /// Name of the population.
    pub population: &'a str,
    /// Seed of every random number in it.
    pub seed: u64,
    /// The command that repeats it.
    pub command: &'a str,
    /// The command that shows one bale, without the bale's number at its end.
    pub show: &'a str,
    /// The figures.
    pub summary: &'a Summary,
}

const CAPTION: &str = "\
Simulated bales. Unevenness: root mean square of laid / target - 1 over whole segments from first to
last hay; a tenth, a half, nine tenths of the bales were laid with no more than stated. In brackets:
95 % interval. Clumps: bales with a clump at least, of 1,000. Beaten: share of the bales that the
controller laid more evenly over 3 ft. Perfect knowledge is a measure, not a rival; of the present
alone it remembers nothing, so that who makes errors good can be more even.
";

/// Width of a line of the list of worst bales.
const WIDTH: usize = 100;

/// All contenders on each kind of bale, then the worst bales and how to see them.
///
/// Ends with a line end.
#[must_use]
pub fn many_table(input: &ManyInput<'_>) -> String {
    let mut text = CAPTION.to_owned();
    for group in &input.summary.groups {
        text += &format!("\n{}: {} bales\n", group.name, number(group.bales as f64, 0));
        text += &line(["", "3 ft", "3 ft", "", "3 ft", "10 ft", "clumps", "beaten", "time"]);
        text += &line(["", "10 %", "median", "", "90 %", "median", "of 1,000", "", "min:s"]);
        text += &group.lines.iter().map(contender).collect::<String>();
    }
    let worst: Vec<_> = input.summary.worst.iter().map(worst).collect();
    let told =
        format!("The controller's worst bales by unevenness over 3 ft: {}.", worst.join("; "));
    text += &format!("\n{}\nShow one of them: {} BALE\n", wrap(&told, WIDTH), input.show);
    text
}

fn contender(of: &Line) -> String {
    let [low, median, high] = of.unevenness_3_ft;
    line([
        of.law.name(),
        &number(low.value, 3),
        &number(median.value, 3),
        &brackets(median, 3),
        &number(high.value, 3),
        &number(of.unevenness_10_ft[1].value, 3),
        &format!("{} {}", number(of.with_clump.value, 0), brackets(of.with_clump, 0)),
        &beaten(of),
        &minutes(of.time_s.value),
    ])
}

/// Share of bales that the controller laid more evenly; none for the controller itself.
pub(super) fn beaten(of: &Line) -> String {
    let is_rival = of.law != crate::rivals::Law::Controller;
    percent(is_rival.then_some(of.beaten.value), 0)
}

/// An interval in brackets; nothing when there is none.
pub(super) fn brackets(figure: Figure, decimals: usize) -> String {
    figure.interval.map_or_else(String::new, |(low, high)| {
        format!("({} to {})", number(low, decimals), number(high, decimals))
    })
}

fn worst(worst: &Worst) -> String {
    let unevenness = number(f64::from(worst.controller.unevenness_3_ft), 2);
    format!("bale {} ({}) {unevenness}", worst.bale, worst.kind)
}

fn line(cells: [&str; 9]) -> String {
    let [name, low, median, interval, high, long, clumps, beaten, time] = cells;
    format!(
        "{name:<19}{low:>7}{median:>8} {interval:<17}{high:>6}{long:>8}{clumps:>17}{beaten:>8}\
         {time:>7}\n"
    )
}

/// Every figure with its interval, for other programs. A figure that does not exist is null.
#[must_use]
pub fn many_json(input: &ManyInput<'_>) -> Value {
    json!({
        "population": input.population,
        "seed": input.seed,
        "source": "simulated bales",
        "confidence": CONFIDENCE,
        "quantiles": "Hyndman and Fan 1996, definition 8; intervals from order statistics",
        "shares": "intervals of Clopper and Pearson 1934",
        "groups": input.summary.groups.iter().map(group).collect::<Vec<_>>(),
        "worst_bales": input.summary.worst.iter().map(worst_bale).collect::<Vec<_>>(),
    })
}

fn group(group: &Group) -> Value {
    let contenders: Vec<_> = group.lines.iter().map(figures).collect();
    json!({ "kind": group.name, "bales": group.bales, "contenders": contenders })
}

fn figures(line: &Line) -> Value {
    let three = |figures: &[Figure; 3]| {
        let [low, median, high] = figures.map(figure);
        json!({ "10_percent": low, "median": median, "90_percent": high })
    };
    json!({
        "contender": line.law.name(),
        "unevenness_3_ft": three(&line.unevenness_3_ft),
        "unevenness_10_ft": three(&line.unevenness_10_ft),
        "clumps_per_1000_bales": round(line.clumps),
        "bales_with_clumps_per_1000": figure(line.with_clump),
        "share_beaten_by_controller": figure(line.beaten),
        "median_time_s": figure(line.time_s),
        "share_of_hay_left": round(line.left),
    })
}

fn figure(figure: Figure) -> Value {
    let (low, high) = figure.interval.unwrap_or((f64::NAN, f64::NAN));
    json!({ "value": round(figure.value), "low": round(low), "high": round(high) })
}

fn worst_bale(worst: &Worst) -> Value {
    json!({
        "bale": worst.bale,
        "kind": worst.kind,
        "unevenness_3_ft": round(f64::from(worst.controller.unevenness_3_ft)),
        "clumps": worst.controller.clumps,
        "unevenness_3_ft_of_bound": round(f64::from(worst.bound)),
    })
}

/// Rounded to a millionth; null when not finite.
fn round(value: f64) -> Value {
    json!((value * 1e6).round() / 1e6)
}
