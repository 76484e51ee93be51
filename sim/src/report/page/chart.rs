//! A line chart as inline SVG: US units on the left, SI on the right, colours from the style sheet.

use super::axis::Axis;
use super::path::{self, Point, pixel};
use super::scrolled;
use maud::{Markup, html};

/// Width of every picture, px.
pub(super) const WIDTH: f64 = 1080.0;
/// Where the drawing begins and ends across, px: the same in every picture, so that they line up.
pub(super) const LEFT: f64 = 58.0;
pub(super) const RIGHT: f64 = WIDTH - 58.0;
/// Room above the drawing for the units, px.
const TOP: f64 = 24.0;
/// Room below it for ticks and the name of the axis, px.
const BOTTOM: f64 = 38.0;

/// What is drawn, from back to front. `class` names a colour of the style sheet.
pub(super) enum Layer {
    /// A line through points.
    Line { class: &'static str, label: String, points: Vec<Point> },
    /// The area between two lines over the same abscissas.
    Band { class: &'static str, label: String, low: Vec<Point>, high: Vec<Point> },
    /// Points that stand for themselves.
    Dots { class: &'static str, label: String, points: Vec<Point> },
}

/// A chart before it is drawn.
pub(super) struct Chart<'a> {
    /// Unique on the page.
    pub(super) id: &'a str,
    pub(super) title: &'a str,
    /// One sentence for who cannot see it.
    pub(super) description: String,
    /// Height of the drawing, px.
    pub(super) height: f64,
    pub(super) x: Axis,
    pub(super) x_label: &'a str,
    pub(super) y: Axis,
    pub(super) y_unit: &'a str,
    /// The other unit and how many of it make one of `y_unit`.
    pub(super) beside: Option<(&'a str, f64)>,
    pub(super) layers: Vec<Layer>,
    /// Abscissas of thin upright lines: where a bale begins.
    pub(super) marks: Vec<f64>,
}

/// Where a value of a horizontal axis lies, px.
pub(super) fn across(axis: Axis, value: f64) -> f64 {
    LEFT + axis.share(value) * (RIGHT - LEFT)
}

impl Chart<'_> {
    /// A figure with its picture and a legend.
    pub(super) fn figure(&self) -> Markup {
        html! {
            figure {
                figcaption { h3 { (self.title) } p { (self.description) } (self.legend()) }
                (scrolled(self.title, &self.picture()))
            }
        }
    }

    fn down(&self, value: f64) -> f64 {
        TOP + (1.0 - self.y.share(value)) * self.height
    }

    fn picture(&self) -> Markup {
        let clip = format!("{}-clip", self.id);
        let bottom = TOP + self.height;
        let total = bottom + BOTTOM;
        let content = html! {
            clipPath id=(clip) {
                rect x=(LEFT) y=(TOP) width=(RIGHT - LEFT) height=(self.height) {}
            }
            (self.grid())
            g clip-path=(format!("url(#{clip})")) {
                @for mark in &self.marks {
                    @let x = pixel(across(self.x, *mark));
                    path.mark d=(format!("M{x} {TOP}V{}", pixel(bottom))) {}
                }
                @for layer in &self.layers { (self.layer(layer)) }
            }
            (horizontal(self.x, self.x_label, bottom))
        };
        drawing(self.id, self.title, &self.description, total, &content)
    }

    fn grid(&self) -> Markup {
        let ticks = (self.height / 32.0).max(2.0) as usize;
        html! {
            text.unit x=(LEFT - 8.0) y="13" text-anchor="end" { (self.y_unit) }
            @for (value, label) in self.y.ticks() {
                @let y = self.down(value);
                path.grid d=(format!("M{LEFT} {}H{RIGHT}", pixel(y))) {}
                text x=(LEFT - 8.0) y=(pixel(y + 4.0)) text-anchor="end" { (label) }
            }
            @if let Some((unit, per_unit)) = self.beside {
                @let axis = self.y.in_unit(per_unit, ticks);
                text.unit x=(RIGHT + 8.0) y="13" { (unit) }
                @for (value, label) in axis.ticks() {
                    @let y = self.down(value / per_unit);
                    path.tick d=(format!("M{RIGHT} {}h4", pixel(y))) {}
                    text x=(RIGHT + 8.0) y=(pixel(y + 4.0)) { (label) }
                }
            }
        }
    }

    fn layer(&self, layer: &Layer) -> Markup {
        let place = |points: &[Point]| -> Vec<Point> {
            points.iter().map(|(x, y)| (across(self.x, *x), self.down(*y))).collect()
        };
        match layer {
            Layer::Line { class, points, .. } => {
                html! { path class={ "line " (class) } d=(path::line(&place(points))) {} }
            }
            Layer::Band { class, low, high, .. } => {
                html! { path class={ "band " (class) } d=(path::area(&place(low), &place(high))) {} }
            }
            Layer::Dots { class, points, .. } => html! {
                @for (x, y) in place(points) {
                    circle class={ "dot " (class) } cx=(pixel(x)) cy=(pixel(y)) r="3" {}
                }
            },
        }
    }

    fn legend(&self) -> Markup {
        html! {
            ul.legend {
                @for layer in self.layers.iter().rev() {
                    @match layer {
                        Layer::Line { class, label, .. } => li {
                            svg width="30" height="10" aria-hidden="true" {
                                path class={ "line " (class) } d="M1 5H29" {}
                            }
                            (label)
                        },
                        Layer::Band { class, label, .. } => li {
                            svg width="30" height="10" aria-hidden="true" {
                                path class={ "band " (class) } d="M1 0H29V10H1z" {}
                            }
                            (label)
                        },
                        Layer::Dots { class, label, .. } => li {
                            svg width="30" height="10" aria-hidden="true" {
                                circle class={ "dot " (class) } cx="15" cy="5" r="3" {}
                            }
                            (label)
                        },
                    }
                }
            }
        }
    }
}

/// An SVG element that a screen reader names by its title and describes in a sentence.
pub(super) fn drawing(
    id: &str,
    title: &str,
    description: &str,
    height: f64,
    content: &Markup,
) -> Markup {
    html! {
        svg viewBox={ "0 0 " (WIDTH) " " (pixel(height)) } role="img"
            aria-labelledby={ (id) "-title" } aria-describedby={ (id) "-desc" } {
            title id={ (id) "-title" } { (title) }
            desc id={ (id) "-desc" } { (description) }
            (content)
        }
    }
}

/// The horizontal axis below a drawing that ends at `bottom`.
pub(super) fn horizontal(axis: Axis, label: &str, bottom: f64) -> Markup {
    html! {
        path.axis d=(format!("M{LEFT} {}H{RIGHT}", pixel(bottom))) {}
        @for (value, label) in axis.ticks() {
            @let x = pixel(across(axis, value));
            path.tick d=(format!("M{x} {}v4", pixel(bottom))) {}
            text x=(x) y=(pixel(bottom + 17.0)) text-anchor="middle" { (label) }
        }
        text.unit x=(RIGHT) y=(pixel(bottom + 33.0)) text-anchor="end" { (label) }
    }
}
