//! Traces that scroll with time and can be dragged and zoomed.

use super::look::Look;
use super::words::{RPM, minutes, mph, pounds, pounds_foot, psi};
use super::{Desk, marks, ribbon};
use crate::model::{Feeding, Frame, History};
use egui::{Color32, Id, Role, Sense, Stroke, Ui, WidgetInfo, vec2};
use egui_plot::{
    AxisHints, FilledArea, Line, LineStyle, Plot, PlotPoints, VLine, uniform_grid_spacer,
};

/// Points of a line, at most: more than there are pixels would be drawn for nothing.
const POINTS: usize = 420;
/// Height of a title and what lies between two traces, points.
const TITLE: f32 = 24.0;
/// Between two columns, and a trace that stands alone, points.
const GAP: f32 = 8.0;
const TALL: f32 = 120.0;
/// Lowest trace that can be read, title and all, points.
const LEAST: f32 = 78.0;
/// Seconds of the stretch that scrolls.
pub(super) const SPANS_S: [f64; 4] = [30.0, 60.0, 180.0, 600.0];

/// What a line shows.
type Value = fn(&Frame) -> f64;

/// One line of a trace.
struct Curve {
    name: &'static str,
    value: Value,
    ink: Ink,
}

/// How a line looks: never by its colour alone.
#[derive(Clone, Copy, PartialEq)]
enum Ink {
    /// What is so: solid.
    True,
    /// What is asked for: dashed.
    Asked,
    /// What the controller believes: dotted, in its colour.
    Believed,
}

/// One trace.
struct Trace {
    title: &'static str,
    unit: &'static str,
    curves: &'static [Curve],
    /// What is believed, less and more one deviation.
    band: Option<(Value, Value)>,
    /// The highest value that is always in sight.
    top: f64,
}

fn target(frame: &Frame) -> f64 {
    pounds_foot(f64::from(frame.view.target.to_milli()) * 1e-3)
}

fn believed_laid(frame: &Frame) -> f64 {
    pounds_foot(f64::from(frame.view.laid.to_milli()) * 1e-3)
}

const TRACES: [Trace; 6] = [
    Trace {
        title: "Row",
        unit: "lb/ft",
        curves: &[
            Curve { name: "target", value: target, ink: Ink::Asked },
            Curve { name: "believed", value: believed_laid, ink: Ink::Believed },
            Curve { name: "laid", value: |f| pounds_foot(f.laid_kg_m), ink: Ink::True },
        ],
        band: None,
        top: 4.0,
    },
    Trace {
        title: "Rollers",
        unit: "rpm",
        curves: &[
            Curve { name: "asked", value: |f| f.sample.roller_asked * RPM, ink: Ink::Asked },
            Curve { name: "real", value: |f| f.sample.roller_turns_s * RPM, ink: Ink::True },
        ],
        band: None,
        top: 60.0,
    },
    Trace {
        title: "Bite",
        unit: "lb/turn",
        curves: &[
            Curve {
                name: "believed",
                value: |f| pounds(f.sample.bite_estimate_kg.0),
                ink: Ink::Believed,
            },
            Curve { name: "real", value: |f| pounds(f.sample.bite_kg), ink: Ink::True },
        ],
        band: Some((
            |f| pounds(f.sample.bite_estimate_kg.0 - f.sample.bite_estimate_kg.1),
            |f| pounds(f.sample.bite_estimate_kg.0 + f.sample.bite_estimate_kg.1),
        )),
        top: 20.0,
    },
    Trace {
        title: "Pressure",
        unit: "psi",
        curves: &[Curve { name: "real", value: |f| psi(f.sample.pressure_pa), ink: Ink::True }],
        band: None,
        top: 1500.0,
    },
    Trace {
        title: "Hay left",
        unit: "lb",
        curves: &[
            Curve {
                name: "believed",
                value: |f| pounds(f.sample.left_estimate_kg.0),
                ink: Ink::Believed,
            },
            Curve { name: "real", value: |f| pounds(f.sample.left_kg), ink: Ink::True },
        ],
        band: Some((
            |f| pounds((f.sample.left_estimate_kg.0 - f.sample.left_estimate_kg.1).max(0.0)),
            |f| pounds(f.sample.left_estimate_kg.0 + f.sample.left_estimate_kg.1),
        )),
        top: 1000.0,
    },
    Trace {
        title: "Ground speed",
        unit: "mph",
        curves: &[
            Curve {
                name: "advised at most",
                value: |f| mph(f.sample.advised_speed_m_s),
                ink: Ink::Asked,
            },
            Curve { name: "real", value: |f| mph(f.sample.ground_speed_m_s), ink: Ink::True },
        ],
        band: None,
        top: 4.0,
    },
];

/// Ribbon and traces in so many columns, filling a height if it is enough for them.
pub(super) fn show(ui: &mut Ui, feeding: &Feeding, desk: &mut Desk, columns: usize, height: f32) {
    let top = ui.cursor().top();
    let span_s = head(ui, feeding, desk);
    let height = height - (ui.cursor().top() - top);
    let rows = TRACES.len().div_ceil(columns);
    let height = (height / rows as f32 - ui.spacing().item_spacing.y).max(LEAST);
    let width = (ui.available_width() - GAP * (columns - 1) as f32) / columns as f32;
    for traces in TRACES.chunks(columns) {
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = GAP;
            for trace in traces {
                ui.vertical(|ui| {
                    ui.set_width(width);
                    ui.set_clip_rect(ui.max_rect().intersect(ui.clip_rect()));
                    one(ui, feeding, desk, trace, (span_s, height));
                });
            }
        });
    }
}

/// Ribbon and traces one under the other, each tall enough.
pub(super) fn tall(ui: &mut Ui, feeding: &Feeding, desk: &mut Desk) {
    let span_s = head(ui, feeding, desk);
    for trace in &TRACES {
        one(ui, feeding, desk, trace, (span_s, TALL));
    }
}

/// What is in sight, and the ribbon of it. Gives the stretch of time, s.
fn head(ui: &mut Ui, feeding: &Feeding, desk: &mut Desk) -> (f64, f64) {
    controls(ui, desk);
    let span_s = span(feeding, desk);
    let look = Look::of(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 20.0), Sense::hover());
    let told = format!("State over time, now {}", ribbon::state_words(&feeding.frame(0)));
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, told.clone()));
    if let Some(lane) = feeding.lanes().first() {
        ribbon::paint(ui.painter(), &look, rect, lane.history(), span_s);
    }
    span_s
}

fn controls(ui: &mut Ui, desk: &mut Desk) {
    ui.horizontal_wrapped(|ui| {
        ui.checkbox(&mut desk.follow, "Traces follow time")
            .on_hover_text("Drag or zoom a trace to look closer; tick this to follow time again.");
        for span_s in SPANS_S {
            let text = if span_s < 60.0 {
                format!("{span_s:.0} s")
            } else {
                format!("{:.0} min", span_s / 60.0)
            };
            if ui.selectable_label(desk.follow && desk.span_s == span_s, text).clicked() {
                (desk.span_s, desk.follow) = (span_s, true);
            }
        }
    });
}

/// The stretch of time in sight, s.
fn span(feeding: &Feeding, desk: &Desk) -> (f64, f64) {
    if !desk.follow {
        return desk.zoomed_s;
    }
    let now_s = feeding.now_s().max(desk.span_s);
    (now_s - desk.span_s, now_s)
}

fn one(ui: &mut Ui, feeding: &Feeding, desk: &mut Desk, trace: &Trace, size: ((f64, f64), f32)) {
    let ((from_s, to_s), height) = size;
    let look = Look::of(ui);
    let title = format!("{}, {}", trace.title, trace.unit);
    title_row(ui, &look, trace, &title, feeding.lanes().len() > 1);
    let told = told(trace, &feeding.frame(0));
    let follow = desk.follow;
    let plot = Plot::new(Id::unique(trace.title))
        .height((height - TITLE).max(40.0))
        .show_x(false)
        .show_y(false)
        .link_axis(Id::unique("traces"), [true, false])
        .link_cursor(Id::unique("traces"), [true, false])
        .include_y(0.0)
        .include_y(trace.top)
        .set_margin_fraction(vec2(0.0, 0.06))
        .allow_scroll(false)
        .y_grid_spacer(uniform_grid_spacer(marks::marks))
        .custom_y_axes(vec![AxisHints::new_y().min_thickness(34.0).label_spacing(marks::NUMBERS)])
        .grid_color(look.line)
        .x_axis_formatter(|mark, _| minutes(mark.value).trim_end_matches(".0").to_owned());
    let now_s = feeding.shown_s();
    let response = plot.show(ui, |plot| {
        if follow {
            plot.set_plot_bounds_x(from_s..=to_s);
        }
        for (index, lane) in feeding.lanes().iter().enumerate().rev() {
            draw(plot, &look, trace, lane.history(), (from_s, to_s), index);
        }
        if let Some(now_s) = now_s {
            plot.vline(VLine::new("looked at", now_s).color(look.ink).width(1.0));
        }
        let bounds = plot.plot_bounds();
        (*bounds.range_x().start(), *bounds.range_x().end())
    });
    response.response.widget_info(|| WidgetInfo::labeled(Role::Image, true, told.clone()));
    let zooms = ui.input(|input| input.zoom_delta() != 1.0);
    if response.response.dragged() || response.response.hovered() && zooms {
        desk.follow = false;
    }
    if !desk.follow {
        desk.zoomed_s = response.inner;
    }
}

/// Title, and what each line is.
fn title_row(ui: &mut Ui, look: &Look, trace: &Trace, title: &str, beside: bool) {
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        ui.strong(title);
        ui.add_space(6.0);
        for curve in trace.curves {
            sample(ui, curve.ink.color(look), curve.ink);
            ui.small(curve.name);
        }
        if beside {
            sample(ui, look.beside, Ink::True);
            ui.small("beside");
        }
    });
}

/// A bit of a line.
fn sample(ui: &mut Ui, color: Color32, ink: Ink) {
    let (rect, _) = ui.allocate_exact_size(vec2(22.0, 10.0), Sense::hover());
    let line = [rect.left_center(), rect.right_center()];
    let stroke = Stroke::new(2.0, color);
    match ink {
        Ink::True => drop(ui.painter().line_segment(line, stroke)),
        Ink::Asked => ui.painter().extend(egui::Shape::dashed_line(&line, stroke, 6.0, 3.0)),
        Ink::Believed => ui.painter().extend(egui::Shape::dotted_line(&line, color, 4.0, 1.2)),
    }
}

fn told(trace: &Trace, frame: &Frame) -> String {
    let values: Vec<String> = trace
        .curves
        .iter()
        .map(|curve| format!("{} {}", curve.name, super::words::number((curve.value)(frame), 1)))
        .collect();
    format!("{} in {}: {}", trace.title, trace.unit, values.join(", "))
}

fn draw(
    plot: &mut egui_plot::PlotUi<'_>,
    look: &Look,
    trace: &Trace,
    history: &History,
    span_s: (f64, f64),
    lane: usize,
) {
    let frames = thinned(history, span_s);
    if lane > 0 {
        // Beside the controller only what is so counts.
        if let Some(curve) = trace.curves.iter().find(|curve| curve.ink == Ink::True) {
            plot.line(
                Line::new("beside", points(&frames, curve.value)).color(look.beside).width(1.2),
            );
        }
        return;
    }
    if let Some((low, high)) = trace.band {
        let xs: Vec<f64> = frames.iter().map(|frame| frame.sample.time_s).collect();
        let ys = |value: Value| -> Vec<f64> { frames.iter().map(|frame| value(frame)).collect() };
        let fill = look.own.gamma_multiply(0.25);
        plot.add(FilledArea::new("one deviation", &xs, &ys(low), &ys(high)).fill_color(fill));
    }
    for curve in trace.curves {
        let line = Line::new(curve.name, points(&frames, curve.value)).color(curve.ink.color(look));
        plot.line(match curve.ink {
            Ink::True => line.width(1.6),
            Ink::Asked => line.width(1.6).style(LineStyle::Dashed { length: 7.0 }),
            Ink::Believed => line.width(1.6).style(LineStyle::Dotted { spacing: 4.0 }),
        });
    }
}

/// Moments in sight, every so many of them.
fn thinned(history: &History, span_s: (f64, f64)) -> Vec<&Frame> {
    let seen = ((span_s.1 - span_s.0).max(0.0) * 10.0) as usize;
    let every = (seen / POINTS).max(1);
    // By their time, not by their place: a line must not tremble while it scrolls.
    let tick = |frame: &Frame| (frame.sample.time_s * 10.0).round() as usize;
    history.between(span_s.0, span_s.1).filter(|frame| tick(frame).is_multiple_of(every)).collect()
}

fn points<'a>(frames: &[&Frame], value: Value) -> PlotPoints<'a> {
    let point = |frame: &&Frame| [frame.sample.time_s, value(frame)];
    frames.iter().map(point).filter(|[_, y]| y.is_finite()).collect()
}

impl Ink {
    fn color(self, look: &Look) -> Color32 {
        match self {
            Self::True => look.ink,
            Self::Asked => look.asked,
            Self::Believed => look.own,
        }
    }
}
