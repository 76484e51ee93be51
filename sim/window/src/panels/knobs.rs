//! Sliders: the controller's settings and the world, each with unit, limits and what it does.

use super::look::Look;
use crate::model::{Feeding, WORLD, WorldKnob};
use egui::{RichText, ScrollArea, Slider, Ui, WidgetInfo};
use strewn::bench::Knob;

/// Endings of a setting's name and the units they stand for.
const UNITS: [(&str, &str); 11] = [
    ("_milliturns_s", "turns/1000 s"),
    ("_pulses_per_turn", "pulses/turn"),
    ("_permille", "per mille"),
    ("_pa_per_kg", "Pa/kg"),
    ("_g_per_m", "g/m"),
    ("_kpa", "kPa"),
    ("_ms", "ms"),
    ("_us", "us"),
    ("_mm", "mm"),
    ("_um", "um"),
    ("_g", "g"),
];

/// The controller's settings.
pub(super) fn settings(ui: &mut Ui, feeding: &mut Feeding) {
    if feeding.is_log() {
        ui.label("A log was made with its own settings. Start anew to change them.");
        return;
    }
    ui.label("Settings act at once; the log ends where one changes. The Files panel saves them.");
    ScrollArea::vertical().id_salt("settings").auto_shrink(false).show(ui, |ui| {
        let mut section = "";
        for knob in feeding.knobs() {
            if knob.section != section {
                section = knob.section;
                ui.heading(section);
            }
            setting(ui, feeding, &knob);
        }
    });
}

fn setting(ui: &mut Ui, feeding: &mut Feeding, knob: &Knob) {
    let (name, unit) = named(knob.field.name);
    let words = knob.field.words.trim();
    let mut value = knob.value;
    let (low, high) = (knob.field.low, knob.field.high);
    let typical = format!("{low} to {high}, usually {} {unit}", knob.field.typical);
    let slider = Slider::new(&mut value, low..=high).logarithmic(low > 0 && high / low > 50);
    if one(ui, slider, f64::from(knob.value), [&name, unit, words, &typical]) {
        feeding.set_setting(knob, value);
    }
}

/// The world: machine, tractor, ground.
pub(super) fn world(ui: &mut Ui, feeding: &mut Feeding) {
    if feeding.is_log() {
        ui.label("A log holds no world. Start anew to change it.");
        return;
    }
    ScrollArea::vertical().id_salt("world").auto_shrink(false).show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            let label = ui.label("Seed of all chance:");
            let seed = egui::DragValue::new(&mut feeding.seed).range(0..=999_999);
            ui.add(seed).labelled_by(label.id);
            ui.small("from the next start on");
        });
        ui.heading("At once");
        WORLD.iter().filter(|knob| knob.at_once).for_each(|knob| world_knob(ui, feeding, knob));
        ui.heading("From the next start on");
        WORLD.iter().filter(|knob| !knob.at_once).for_each(|knob| world_knob(ui, feeding, knob));
    });
}

fn world_knob(ui: &mut Ui, feeding: &mut Feeding, knob: &WorldKnob) {
    let shown = feeding.job.get(knob);
    let mut value = shown;
    let typical = format!("{} to {}, usually {} {}", knob.low, knob.high, knob.usual, knob.unit);
    let step = if knob.high - knob.low > 40.0 { 1.0 } else { 0.01 };
    let slider = Slider::new(&mut value, knob.low..=knob.high).step_by(step);
    if one(ui, slider, shown, [knob.name, knob.unit, knob.words, &typical]) {
        feeding.set_world(knob, value);
    }
}

/// A slider under its name, with limits and words. Gives whether it was moved.
fn one(ui: &mut Ui, slider: Slider<'_>, value: f64, texts: [&str; 4]) -> bool {
    let look = Look::of(ui);
    let [name, unit, words, typical] = texts;
    ui.label(RichText::new(format!("{name}, {unit}")).strong());
    ui.spacing_mut().slider_width = (ui.available_width() - 84.0).max(60.0);
    let response = ui.add(slider);
    let changed = response.changed();
    response.widget_info(|| WidgetInfo::slider(true, value, format!("{name}, {unit}")));
    let _ = response.on_hover_text(format!("{words} {typical}"));
    ui.label(RichText::new(format!("{words} {typical}.")).small().color(look.soft));
    ui.add_space(6.0);
    changed
}

/// A setting's name in words, and its unit.
fn named(name: &str) -> (String, &'static str) {
    let found =
        UNITS.iter().find_map(|(end, unit)| name.strip_suffix(end).map(|name| (name, *unit)));
    let (words, unit) = found.unwrap_or((name, ""));
    let mut words = words.replace('_', " ");
    if let Some(first) = words.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    (words, unit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use strewn::bench::MachineFile;
    use strewn::bench::scenario::Scenario;

    #[test]
    fn every_setting_has_a_unit() {
        let scenario = Scenario::parse("").unwrap();
        let config = strewn::bench::Live::new(
            &scenario,
            strewn::rivals::Law::Controller,
            &MachineFile::default(),
            1,
        )
        .unwrap();
        for knob in MachineFile::knobs(config.config()) {
            let (name, unit) = named(knob.field.name);
            assert!(!unit.is_empty() && !name.contains('_'), "{}", knob.field.name);
        }
    }
}
