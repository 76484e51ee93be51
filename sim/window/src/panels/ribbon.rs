//! What the machine did over time, in words on a ribbon.

use super::look::Look;
use crate::model::{Frame, History};
use egui::{Align2, Color32, FontId, Painter, Rect, Stroke, pos2};
use strewn_controller::safety::Phase;

/// State, cause and what holds the rollers, in a few words.
#[must_use]
pub(super) fn state_words(frame: &Frame) -> String {
    let sample = &frame.sample;
    let word = match sample.phase {
        Phase::Resting => "resting",
        Phase::Testing => "testing the valve",
        Phase::Armed => "armed",
        Phase::Laying if sample.holding => "laying: waiting for the ground",
        Phase::Laying if sample.core_near => "laying: slow for the core",
        Phase::Laying => "laying",
        Phase::Paused => "paused",
        Phase::Latched => "stopped",
        Phase::Isolated => "isolated until power is off",
    };
    match sample.cause {
        Some(cause) if sample.phase != Phase::Laying => format!("{word}: {}", cause.words()),
        _ => word.to_owned(),
    }
}

/// Colour and word of one moment.
fn block(look: &Look, frame: &Frame) -> (Color32, &'static str) {
    let sample = &frame.sample;
    match (sample.phase, sample.cause) {
        (Phase::Laying, _) if sample.holding => (look.holding, "waiting"),
        (Phase::Laying, _) if sample.core_near => (look.core, "core"),
        (Phase::Latched | Phase::Isolated, Some(cause)) => {
            (look.phase(sample.phase).0, cause.words())
        }
        (phase, _) => look.phase(phase),
    }
}

/// Draws the ribbon of a stretch of time.
pub(super) fn paint(
    painter: &Painter,
    look: &Look,
    rect: Rect,
    history: &History,
    span_s: (f64, f64),
) {
    let (from_s, to_s) = span_s;
    let across = |time_s: f64| {
        let share = ((time_s - from_s) / (to_s - from_s).max(1e-9)).clamp(0.0, 1.0);
        rect.left() + rect.width() * share as f32
    };
    let mut begun: Option<(f64, (Color32, &'static str))> = None;
    let mut last_s = from_s;
    for frame in history.between(from_s, to_s) {
        let here = block(look, frame);
        let time_s = frame.sample.time_s;
        if let Some((begin_s, what)) = begun
            && what != here
        {
            one(painter, look, rect, (across(begin_s), across(time_s)), what);
            begun = None;
        }
        begun.get_or_insert((time_s, here));
        last_s = time_s;
    }
    if let Some((begin_s, what)) = begun {
        one(painter, look, rect, (across(begin_s), across(last_s.min(to_s))), what);
    }
    painter.rect_stroke(rect, 2.0, Stroke::new(1.0, look.line), egui::StrokeKind::Inside);
}

fn one(painter: &Painter, look: &Look, rect: Rect, x: (f32, f32), what: (Color32, &str)) {
    let (color, word) = what;
    let block = Rect::from_min_max(pos2(x.0, rect.top()), pos2(x.1.max(x.0 + 1.0), rect.bottom()));
    painter.rect_filled(block, 0.0, color);
    painter.line_segment([block.left_top(), block.left_bottom()], Stroke::new(1.0, look.line));
    let font = FontId::proportional(12.0);
    if block.height() > 14.0 && word.len() as f32 * 6.0 + 6.0 < block.width() {
        let at = block.left_center() + egui::vec2(4.0, 0.0);
        painter.text(at, Align2::LEFT_CENTER, word, font, look.ink);
    }
}
