//! Level bars, one row for each thing compared: stacked parts, swings to either side, intervals.

use super::axis::Axis;
use super::chart::{LEFT, RIGHT, across, drawing, horizontal};
use super::path::pixel;
use super::scrolled;
use maud::{Markup, html};

/// Height of a row: a name above its bar, px.
const ROW: f64 = 36.0;
const BAR: f64 = 13.0;
const TOP: f64 = 6.0;
const BOTTOM: f64 = 38.0;

/// One row.
pub(super) struct Bar {
    pub(super) name: String,
    /// Its value in words, at the right.
    pub(super) value: String,
    /// Pieces from one place of the axis to another, with a colour class of the style sheet.
    pub(super) parts: Vec<(f64, f64, &'static str)>,
    /// An interval drawn over them.
    pub(super) whisker: Option<(f64, f64)>,
}

/// A picture of bars before it is drawn.
pub(super) struct Bars<'a> {
    /// Unique on the page.
    pub(super) id: &'a str,
    pub(super) title: &'a str,
    /// One sentence for who cannot see it.
    pub(super) description: &'a str,
    pub(super) x: Axis,
    pub(super) x_label: &'a str,
    /// Colour classes and what they mean.
    pub(super) legend: &'a [(&'static str, &'a str)],
    /// Places of upright lines.
    pub(super) marks: &'a [f64],
    pub(super) rows: Vec<Bar>,
}

impl Bars<'_> {
    /// A figure with its picture and a legend.
    pub(super) fn figure(&self) -> Markup {
        let bottom = TOP + ROW * self.rows.len() as f64;
        let content = html! {
            @for (value, _) in self.x.ticks() {
                path.grid d=(upright(across(self.x, value), bottom)) {}
            }
            @for (place, bar) in self.rows.iter().enumerate() {
                (self.bar(bar, TOP + ROW * place as f64))
            }
            @for mark in self.marks { path.mark d=(upright(across(self.x, *mark), bottom)) {} }
            (horizontal(self.x, self.x_label, bottom))
        };
        html! {
            figure {
                figcaption { h3 { (self.title) } p { (self.description) } (self.legend()) }
                (scrolled(self.title, &drawing(self.id, self.title, self.description, bottom + BOTTOM, &content)))
            }
        }
    }

    fn bar(&self, bar: &Bar, top: f64) -> Markup {
        let place = |value: f64| across(self.x, value.clamp(self.x.low, self.x.high));
        let middle = top + 18.0 + BAR / 2.0;
        html! {
            text.name x=(LEFT) y=(pixel(top + 13.0)) { (bar.name) }
            text.value x=(RIGHT) y=(pixel(top + 13.0)) text-anchor="end" { (bar.value) }
            @for (from, to, class) in &bar.parts {
                @let (from, to) = (place(from.min(*to)), place(from.max(*to)));
                rect class=(class) x=(pixel(from)) y=(pixel(top + 18.0)) width=(pixel(to - from)) height=(BAR) {}
            }
            @if let Some((low, high)) = bar.whisker {
                @let (low, high) = (pixel(place(low)), pixel(place(high)));
                path.whisker d=(format!(
                    "M{low} {a}v8M{low} {m}H{high}M{high} {a}v8", a = pixel(middle - 4.0), m = pixel(middle)
                )) {}
            }
        }
    }

    fn legend(&self) -> Markup {
        html! {
            ul.legend {
                @for (class, label) in self.legend {
                    li {
                        svg width="16" height="10" aria-hidden="true" { rect class=(class) width="16" height="10" {} }
                        (label)
                    }
                }
            }
        }
    }
}

fn upright(x: f64, bottom: f64) -> String {
    format!("M{} {TOP}V{}", pixel(x), pixel(bottom))
}
