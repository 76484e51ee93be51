//! Every wire with its faults, one tick-box each.

use super::Desk;
use crate::model::Feeding;
use egui::{Grid, Role, ScrollArea, Ui, WidgetInfo};
use strewn::faults::{Kind, Wire};

/// The four that hands or a loose plug do, with the words for it.
const COMMON: [(Kind, &str); 4] = [
    (Kind::Off, "pull"),
    (Kind::Stuck, "short"),
    (Kind::Frozen, "freeze"),
    (Kind::Noise, "disturb"),
];
/// The wires that tell the ground speed.
const SPEED: [Wire; 3] = [Wire::Ground, Wire::Bus, Wire::Receiver];

/// The table of wires and faults.
pub(super) fn show(ui: &mut Ui, feeding: &mut Feeding, desk: &mut Desk) {
    if feeding.is_log() {
        ui.label("A log: its wires are history. Start anew to pull a plug.");
        return;
    }
    ui.horizontal_wrapped(|ui| {
        let out = feeding.plugs().len();
        if ui.add_enabled(out > 0, egui::Button::new("Mend all")).clicked() {
            feeding.mend_all();
        }
        ui.checkbox(&mut desk.all_kinds, "Every kind of fault");
        let mut pulled = SPEED.iter().all(|wire| feeding.plugs().contains(&(*wire, Kind::Off)));
        if ui.checkbox(&mut pulled, "Pull every speed plug").changed() {
            SPEED.iter().for_each(|wire| feeding.plug(*wire, Kind::Off, pulled));
        }
    });
    let all: Vec<(Kind, &str)> = Kind::ALL.iter().map(|kind| (*kind, kind.word())).collect();
    let kinds: &[(Kind, &str)] = if desk.all_kinds { &all } else { &COMMON };
    ScrollArea::both().id_salt("plugs").auto_shrink(false).show(ui, |ui| {
        Grid::new("plugs").striped(true).spacing([10.0, 3.0]).show(ui, |ui| {
            ui.strong("wire");
            for (_, word) in kinds {
                ui.strong(*word);
            }
            ui.end_row();
            for wire in Wire::ALL {
                ui.label(wire.word().replace('-', " "));
                for (kind, word) in kinds {
                    tick_box(ui, feeding, (*wire, *kind), word);
                }
                ui.end_row();
            }
        });
    });
}

fn tick_box(ui: &mut Ui, feeding: &mut Feeding, place: (Wire, Kind), word: &str) {
    let (wire, kind) = place;
    let mut faulty = feeding.plugs().contains(&place);
    let response = ui.checkbox(&mut faulty, "");
    let name = format!("{word} {}", wire.word().replace('-', " "));
    response.widget_info(|| WidgetInfo::selected(Role::CheckBox, true, faulty, &name));
    if response.on_hover_text(&name).changed() {
        feeding.plug(wire, kind, faulty);
    }
}
