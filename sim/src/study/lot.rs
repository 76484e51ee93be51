//! One lot of a population: drawn, and written down as a scenario that anybody can feed again.

use super::population::{Population, Span};
use crate::random::Stream;
use std::f64::consts::FRAC_PI_4;
use std::fmt::Write;

/// Weight as fed that a bale may have at its size, lb/ft3, and in all, lb: what a scenario allows, a
/// little less at both ends for rounding. A draw beyond becomes the end.
const DENSITY_LB_FT3: (f64, f64) = (5.1, 29.9);
const WEIGHT_LB: (f64, f64) = (200.0, 4_000.0);
/// No bale deviates from its ticket by more than this many deviations.
const MOST_DEVIATIONS: f64 = 2.5;
/// Ticket words, and what a core can be, in the order of the population's weights.
const CORES: [&str; 3] = ["even", "soft", "dense"];
const HEEDS: [&str; 3] = ["promptly", "late", "never"];
/// A drive lasts so many times as long as laying the target takes, but never longer than a scenario
/// allows: a contender that lays less still comes to the end of its bales.
const SPARE: f64 = 2.5;
const LONGEST_S: f64 = 7_100.0;
/// Pound-feet of a mile an hour: a foot a second is so many miles an hour.
const FT_S_PER_MPH: f64 = 88.0 / 60.0;
/// Time until the next bale lies on the rollers, s.
const BETWEEN_BALES_S: f64 = 8.0;

/// One job: some bales of one ticket, the drive and the machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Lot {
    /// The scenario as a file.
    pub text: String,
    /// The seed to feed it under.
    pub seed: u64,
}

/// What is drawn for one thing.
#[derive(Clone, Copy)]
pub(super) struct Draw(Stream);

impl Draw {
    pub(super) fn span(self, name: &str, span: Span) -> f64 {
        span.least + (span.most - span.least) * self.0.named(name).uniform(0)
    }

    pub(super) fn happens(self, name: &str, share: f64) -> bool {
        self.0.named(name).uniform(0) < share
    }

    /// One of three kinds by weight.
    fn kind(self, name: &str, weights: [f64; 3]) -> usize {
        let place = self.0.named(name).uniform(0) * weights.iter().sum::<f64>();
        let first = weights[0];
        if place < first {
            0
        } else if place < first + weights[1] || weights[2] == 0.0 {
            1
        } else {
            2
        }
    }
}

/// What all bales of a lot share.
struct Label {
    core: usize,
    ticket_core: usize,
    wrapped: bool,
    diameter_ft: f64,
    width_ft: f64,
    moisture_percent: f64,
    weight_lb: f64,
}

impl Label {
    fn draw(population: &Population, draw: Draw) -> Self {
        let core = draw.kind("core", population.core.weights);
        let wrong = draw.happens("wrong core", population.core.wrong_on_ticket);
        let wrapped = draw.happens("wrapped", population.hay.wrapped);
        let moistures = if wrapped {
            population.hay.wrapped_moisture_percent
        } else {
            population.hay.dry_moisture_percent
        };
        let mut label = Self {
            core,
            ticket_core: if wrong { 0 } else { core },
            wrapped,
            diameter_ft: round(draw.span("diameter", population.diameter_ft), 0.1),
            width_ft: round(draw.span("width", population.width_ft), 0.1),
            moisture_percent: round(draw.span("moisture", moistures), 0.1),
            weight_lb: 0.0,
        };
        let dry_lb_ft3 = draw.span("density", population.dry_lb_per_ft3);
        let density = dry_lb_ft3 / (1.0 - label.moisture_percent / 100.0);
        label.weight_lb = label.allowed_lb(density * label.volume_ft3());
        label
    }

    fn volume_ft3(&self) -> f64 {
        FRAC_PI_4 * self.diameter_ft * self.diameter_ft * self.width_ft
    }

    /// The nearest weight that a bale of this size may have, in whole pounds.
    fn allowed_lb(&self, weight_lb: f64) -> f64 {
        let (light, heavy) = DENSITY_LB_FT3;
        let allowed = weight_lb.clamp(light * self.volume_ft3(), heavy * self.volume_ft3());
        round(allowed.clamp(WEIGHT_LB.0, WEIGHT_LB.1), 1.0)
    }
}

impl Population {
    /// Lot number `lot`, counted from 0, under a seed. It depends on nothing but these three.
    #[must_use]
    pub fn lot(&self, seed: u64, lot: u32) -> Lot {
        let random = Stream::root(seed).named("lot").numbered(u64::from(lot));
        let draw = Draw(random);
        let label = Label::draw(self, draw);
        let speed_mph = round(draw.span("speed", self.drive.speed_mph), 0.01);
        let target_lb_ft = round(draw.span("target", self.target_lb_per_ft), 0.01);
        let first = lot * self.bales_per_lot + 1;
        let mut text = format!("name = \"{}\"\n", name(first, self.bales_per_lot));
        let mut line = |words: std::fmt::Arguments<'_>| {
            // Writing into a String cannot fail.
            let _ = writeln!(text, "{words}");
        };
        line(format_args!("target_lb_per_ft = {target_lb_ft}"));
        line(format_args!("heed = \"{}\"", HEEDS[draw.kind("heed", self.drive.heed)]));
        line(format_args!("between_bales_s = {BETWEEN_BALES_S}"));
        line(format_args!("\n[tractor]"));
        let wander = round(draw.span("wander", self.drive.speed_wander_percent), 0.1);
        line(format_args!("engine_rpm = {}", round(draw.span("rpm", self.drive.engine_rpm), 1.0)));
        line(format_args!("speed_wander_percent = {wander}"));
        self.rough.tractor(draw, speed_mph, &mut line);
        self.sensors(draw, &mut line);
        line(format_args!("\n[[ticket]]"));
        line(format_args!("width_ft = {}\ndiameter_ft = {}", label.width_ft, label.diameter_ft));
        line(format_args!("weight_lb = {}", label.weight_lb));
        line(format_args!("moisture_percent = {}", label.moisture_percent));
        line(format_args!("hay = \"{}\"", if label.wrapped { "wrapped" } else { "dry" }));
        line(format_args!("core = \"{}\"", CORES[label.ticket_core]));
        let mut lot_lb = 0.0;
        for index in 0..self.bales_per_lot {
            let number = u64::from(first + index);
            lot_lb += self.bale(&label, Draw(random.named("bale").numbered(number)), &mut line);
        }
        let laying_s = lot_lb / (target_lb_ft * speed_mph * FT_S_PER_MPH);
        let pauses_s = 30.0 + BETWEEN_BALES_S * f64::from(self.bales_per_lot);
        let for_s = round((SPARE * laying_s + pauses_s).min(LONGEST_S), 1.0);
        line(format_args!("\n[[drive]]\nspeed_mph = 0\nfor_s = 2"));
        line(format_args!("\n[[drive]]\nspeed_mph = {speed_mph}\nfor_s = {for_s}"));
        Lot { text, seed: random.named("feed").bits(0) >> 16 }
    }

    fn sensors(&self, draw: Draw, line: &mut dyn FnMut(std::fmt::Arguments<'_>)) {
        let shares = self.sensors;
        let bus = draw.happens("bus", shares.bus_speed);
        line(format_args!("\n[sensors]"));
        line(format_args!("weigh = {}", draw.happens("weigh", shares.weigh)));
        line(format_args!("pressure = {}", draw.happens("pressure", shares.pressure)));
        line(format_args!("gauge = {}", draw.happens("gauge", shares.gauge)));
        line(format_args!("ground_pulses = {}", !bus));
        line(format_args!("bus_speed = \"{}\"", if bus { "ground-based" } else { "none" }));
        line(format_args!("nmea_hz = {}", if draw.happens("nmea", shares.nmea) { 5 } else { 0 }));
    }

    /// One bale as it truly is; gives its weight, lb.
    fn bale(
        &self,
        label: &Label,
        draw: Draw,
        line: &mut dyn FnMut(std::fmt::Arguments<'_>),
    ) -> f64 {
        let deviations = draw.0.named("weight").normal(0).clamp(-MOST_DEVIATIONS, MOST_DEVIATIONS);
        let weight_lb =
            label.allowed_lb(label.weight_lb * (1.0 + self.weight_deviation * deviations));
        line(format_args!("\n[[bale]]\nweight_lb = {weight_lb}\ncore = \"{}\"", CORES[label.core]));
        match CORES[label.core] {
            "soft" => {
                let ratio = round(draw.span("ratio", self.core.soft_ratio), 0.01);
                line(format_args!("core_ratio = {ratio}"));
            }
            "dense" => {
                let ratio = round(draw.span("ratio", self.core.dense_ratio), 0.01);
                let radius = round(draw.span("radius", self.core.dense_radius_percent), 0.1);
                line(format_args!("core_ratio = {ratio}\ncore_radius_percent = {radius}"));
            }
            _ => {}
        }
        self.rough.bale(draw, line);
        weight_lb
    }
}

fn name(first: u32, bales: u32) -> String {
    match bales {
        1 => format!("bale {first}"),
        _ => format!("bales {first} to {}", first + bales - 1),
    }
}

/// Rounded to a decimal step such as 0.01, so that it is written in few digits.
pub(super) fn round(value: f64, step: f64) -> f64 {
    let per_one = (1.0 / step).round();
    (value * per_one).round() / per_one
}
