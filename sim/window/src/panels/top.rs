//! The line along the top: what is fed, beside whom, how large and how dark, what came of the last act.

use super::{Desk, SIZES, files};
use crate::model::{Against, Feeding, Note};
use egui::{ComboBox, Ui};
use strewn::rivals::Law;

/// Shows it.
pub(super) fn show(ui: &mut Ui, feeding: &mut Feeding, desk: &mut Desk) {
    ui.horizontal_wrapped(|ui| {
        match feeding.lanes().first() {
            Some(lane) if feeding.is_log() => ui.strong(&lane.name),
            _ => ui.strong(&feeding.job.scenario.name),
        };
        ui.label("a model; software is never the only stop");
        ui.separator();
        beside(ui, feeding);
        ui.separator();
        ComboBox::from_label("Size").selected_text(percent(desk.size)).width(64.0).show_ui(
            ui,
            |ui| {
                for size in SIZES {
                    ui.selectable_value(&mut desk.size, size, percent(size));
                }
            },
        );
        ui.checkbox(&mut desk.dark, "Dark");
    });
    files::note(ui, feeding.note.as_ref());
}

fn percent(size: f32) -> String {
    format!("{:.0} %", size * 100.0)
}

fn beside(ui: &mut Ui, feeding: &mut Feeding) {
    let mut chosen = feeding.against().clone();
    let combo = ComboBox::from_label("feeds beside").selected_text(chosen.name()).width(190.0);
    combo.show_ui(ui, |ui| {
        let rivals = Law::ALL.into_iter().filter(|law| *law != Law::Controller).map(Against::Rival);
        for against in [Against::Nobody, Against::AsGiven].into_iter().chain(rivals) {
            let name = against.name();
            ui.selectable_value(&mut chosen, against, name);
        }
    });
    if chosen != *feeding.against() {
        feeding.note = match feeding.compare(chosen) {
            Ok(()) => Some(Note::good("Both begin anew, on the same bales.")),
            Err(error) => Some(Note::bad(error)),
        };
    }
}
