//! Time: run, stand, tick, pace, the core, looking back.

use super::look::Look;
use super::words::minutes;
use super::{Desk, ribbon};
use crate::model::{FASTEST, Feeding, Goal, Note};
use egui::{Button, Key, Slider, Ui, vec2};

/// Paces with a button of their own.
const PACES: [f64; 4] = [1.0, 10.0, 50.0, FASTEST];

/// The bar along the bottom.
pub(super) fn show(ui: &mut Ui, feeding: &mut Feeding, desk: &Desk) {
    ui.horizontal_wrapped(|ui| {
        run_and_tick(ui, feeding);
        ui.separator();
        pace(ui, feeding);
        ui.separator();
        goals(ui, feeding);
        ui.separator();
        now(ui, feeding, desk);
    });
    look_back(ui, feeding);
}

/// What must always be at hand where there is little room.
pub(super) fn brief(ui: &mut Ui, feeding: &mut Feeding) {
    ui.horizontal_wrapped(|ui| {
        run_and_tick(ui, feeding);
        goals(ui, feeding);
        ui.monospace(minutes(feeding.now_s()));
    });
}

/// The rest of it.
pub(super) fn rest(ui: &mut Ui, feeding: &mut Feeding, desk: &Desk) {
    ui.horizontal_wrapped(|ui| {
        pace(ui, feeding);
        now(ui, feeding, desk);
    });
    look_back(ui, feeding);
}

/// The moment shown, and how fast time runs.
fn now(ui: &mut Ui, feeding: &Feeding, desk: &Desk) {
    ui.monospace(minutes(feeding.now_s()));
    if feeding.clock.running && desk.measured_pace > 0.0 {
        let (pace, pictures) = (desk.measured_pace, desk.measured_pictures);
        ui.label(format!("{pace:.0} times life, {pictures:.0} pictures a second"));
    }
    if feeding.shown_s().is_some() && !feeding.is_log() {
        ui.strong("looking back");
    }
}

fn run_and_tick(ui: &mut Ui, feeding: &mut Feeding) {
    let text = if feeding.clock.running { "Pause [P]" } else { "Run [P]" };
    let run = ui.add(Button::new(text).min_size(vec2(86.0, 0.0)));
    if run.clicked() || super::pressed(ui, Key::P) {
        feeding.clock.running = !feeding.clock.running;
        feeding.clock.goal = None;
    }
    let tick = ui
        .add_enabled(!feeding.is_log(), Button::new("Tick [T]"))
        .on_hover_text("A hundredth of a second, then stand.");
    if tick.clicked() || super::pressed(ui, Key::T) && !feeding.is_log() {
        feeding.clock.stop();
        feeding.tick();
    }
}

fn pace(ui: &mut Ui, feeding: &mut Feeding) {
    for pace in PACES {
        let text = if pace >= FASTEST { "fastest".to_owned() } else { format!("{pace:.0}x") };
        if ui.selectable_label(feeding.clock.pace == pace, text).clicked() {
            feeding.clock.pace = pace;
        }
    }
    ui.spacing_mut().slider_width = 110.0;
    let shown = |value: f64, _: std::ops::RangeInclusive<usize>| {
        if value >= FASTEST { "fastest".to_owned() } else { format!("{value:.0}x") }
    };
    ui.add(
        Slider::new(&mut feeding.clock.pace, 1.0..=FASTEST)
            .logarithmic(true)
            .custom_formatter(shown)
            .text("Pace"),
    )
    .on_hover_text("Machine time to yours; at the end as fast as it goes.");
}

fn goals(ui: &mut Ui, feeding: &mut Feeding) {
    let core = ui
        .add_enabled(!feeding.is_log(), Button::new("To the core [C]"))
        .on_hover_text("Runs as fast as it goes until the controller has the next core near.");
    if core.clicked() || super::pressed(ui, Key::C) && !feeding.is_log() {
        feeding.look_at(None);
        feeding.clock.run_to(Goal::Core);
    }
    let start = ui.button("Start anew").on_hover_text(
        "The same job from the beginning: plugs in, hands off, settings as they are.",
    );
    if start.clicked()
        && let Err(error) = feeding.start()
    {
        feeding.note = Some(Note::bad(error));
    }
}

/// The ribbon of the whole history over a slider that looks back.
fn look_back(ui: &mut Ui, feeding: &mut Feeding) {
    let Some((from_s, to_s)) = feeding.lanes().first().map(|lane| lane.history().span_s()) else {
        return;
    };
    let look = Look::of(ui);
    let label_width = 150.0;
    let width = (ui.available_width() - label_width).max(100.0);
    let mut time_s = feeding.now_s();
    ui.horizontal(|ui| {
        ui.spacing_mut().slider_width = width;
        ui.vertical(|ui| {
            let (rect, _) = ui.allocate_exact_size(vec2(width, 8.0), egui::Sense::hover());
            if let Some(lane) = feeding.lanes().first() {
                ribbon::paint(ui.painter(), &look, rect, lane.history(), (from_s, to_s.max(0.1)));
            }
            let slider = Slider::new(&mut time_s, from_s..=to_s.max(from_s + 0.1))
                .show_value(false)
                .step_by(0.1);
            let response = ui.add(slider).on_hover_text("Look back at an earlier moment.");
            response.widget_info(|| egui::WidgetInfo::slider(true, time_s, "Look back, seconds"));
            if response.changed() {
                feeding.look_at(Some(time_s));
            }
        });
        ui.vertical(|ui| {
            ui.add_space(6.0);
            let back = feeding.shown_s().is_some() && !feeding.is_log();
            if ui.add_enabled(back, Button::new("Back to now")).clicked() {
                feeding.look_at(None);
            }
        });
    });
}
