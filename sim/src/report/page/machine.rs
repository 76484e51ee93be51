//! What the machine did over time: speeds, pressure, bite and hay left, estimated and true.

use super::axis::Axis;
use super::chart::{Chart, Layer};
use super::path::Point;
use crate::bench::record::{Run, Sample};
use crate::units::{KG_PER_LB, M_S_PER_MPH, PA_PER_PSI};
use maud::{Markup, html};

const HEIGHT: f64 = 130.0;
const X_LABEL: &str = "time, s";
const S_PER_MIN: f64 = 60.0;

/// The seconds of a run.
pub(super) fn time_axis(run: &Run) -> Axis {
    Axis::exact(0.0, run.samples.last().map_or(0.0, |sample| sample.time_s), 12)
}

/// All charts over time of one run.
pub(super) fn charts(run: &Run, x: Axis) -> Markup {
    let picture = Picture { run, x };
    html! { (picture.rollers()) (picture.pressure()) (picture.bite()) (picture.left()) (picture.speed()) }
}

struct Picture<'a> {
    run: &'a Run,
    x: Axis,
}

impl Picture<'_> {
    fn points(&self, value: impl Fn(&Sample) -> f64) -> Vec<Point> {
        self.run.samples.iter().map(|sample| (sample.time_s, value(sample))).collect()
    }

    fn line(&self, class: &'static str, label: &str, value: impl Fn(&Sample) -> f64) -> Layer {
        Layer::Line { class, label: label.to_owned(), points: self.points(value) }
    }

    /// Two deviations to either side of an estimate.
    fn band(&self, estimate: impl Fn(&Sample) -> (f64, f64)) -> Layer {
        let edge = |sign: f64| {
            self.points(|sample| {
                let (value, deviation) = estimate(sample);
                value + sign * 2.0 * deviation
            })
        };
        let label = "estimate +/- 2 deviations".to_owned();
        Layer::Band { class: "own", label, low: edge(-1.0), high: edge(1.0) }
    }

    /// A chart whose vertical axis holds all lines; what a band has beyond them is cut off.
    fn chart(
        &self,
        id: &str,
        title: &str,
        description: &str,
        units: (&str, Option<(&str, f64)>),
        layers: Vec<Layer>,
    ) -> Markup {
        let lines = layers.iter().filter_map(|layer| match layer {
            Layer::Line { points, .. } => Some(points),
            Layer::Band { .. } | Layer::Dots { .. } => None,
        });
        let values = || lines.clone().flatten().map(|point| point.1).filter(|y| y.is_finite());
        let high = values().fold(0.0, f64::max);
        // An estimate that dips a little below nothing needs no room of its own.
        let low = values().filter(|y| *y < -0.05 * high).fold(0.0, f64::min);
        Chart {
            id,
            title,
            description: description.to_owned(),
            height: HEIGHT,
            x: self.x,
            x_label: X_LABEL,
            y: Axis::rounded(low, high * 1.05, 4),
            y_unit: units.0,
            beside: units.1,
            layers,
            marks: self.run.bales.iter().map(|bale| bale.time_s.0).collect(),
        }
        .figure()
    }

    fn rollers(&self) -> Markup {
        let layers = vec![
            self.line("truth", "true", |sample| sample.roller_turns_s * S_PER_MIN),
            self.line("asked", "asked for", |sample| sample.roller_asked * S_PER_MIN),
        ];
        self.chart(
            "rollers",
            "Roller speed",
            "Turns a minute, asked for by the controller and true.",
            ("rpm", None),
            layers,
        )
    }

    fn pressure(&self) -> Markup {
        let layers = vec![self.line("truth", "true", |sample| sample.pressure_pa / PA_PER_PSI)];
        self.chart(
            "pressure",
            "Pressure across the roller motors",
            "It rises with density and feed.",
            ("psi", Some(("bar", PA_PER_PSI / 1e5))),
            layers,
        )
    }

    fn bite(&self) -> Markup {
        let pounds = |kg: f64| kg / KG_PER_LB;
        let truth = |kg: f64| if kg > 0.0 { pounds(kg) } else { f64::NAN };
        let layers = vec![
            self.band(|sample| {
                let (bite, deviation) = sample.bite_estimate_kg;
                (pounds(bite), pounds(deviation))
            }),
            self.line("own", "estimate", move |sample| pounds(sample.bite_estimate_kg.0)),
            self.line("truth", "true, without tufts", move |sample| truth(sample.bite_kg)),
        ];
        self.chart(
            "bite",
            "Bite: hay torn off in one roller turn",
            "The number that turns roller speed into pounds; it drifts as the bale shrinks and jumps \
             in a core.",
            ("lb/turn", Some(("kg/turn", KG_PER_LB))),
            layers,
        )
    }

    fn left(&self) -> Markup {
        let pounds = |kg: f64| kg / KG_PER_LB;
        let layers = vec![
            self.band(|sample| {
                let (left, deviation) = sample.left_estimate_kg;
                (pounds(left), pounds(deviation))
            }),
            self.line("own", "estimate", move |sample| pounds(sample.left_estimate_kg.0)),
            self.line("truth", "true", move |sample| pounds(sample.left_kg)),
        ];
        self.chart(
            "left",
            "Hay left on the machine",
            "Estimated by the controller and true.",
            ("lb", Some(("kg", KG_PER_LB))),
            layers,
        )
    }

    fn speed(&self) -> Markup {
        let layers = vec![
            self.line("truth", "true", |sample| sample.ground_speed_m_s / M_S_PER_MPH),
            self.line("asked", "highest speed advised", |sample| {
                sample.advised_speed_m_s / M_S_PER_MPH
            }),
        ];
        self.chart(
            "speed",
            "Ground speed",
            "True, and the highest at which the controller can hold the target; no line where any \
             speed will do.",
            ("mph", Some(("m/s", M_S_PER_MPH))),
            layers,
        )
    }
}
