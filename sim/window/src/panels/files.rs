//! Files: open, save, the page, the picture.

use super::Desk;
use crate::model::{Feeding, Note, Tone};
use egui::{ScrollArea, TextEdit, Ui};
use std::path::{Path, PathBuf};

/// Most files listed of a folder.
const LISTED: usize = 200;

/// What a button does with its path.
type Act = fn(&mut Feeding, &Path);

/// What can be saved: its words, the end of the file's name, and how.
const SAVES: [(&str, &str, Act); 4] = [
    ("Save scenario", ".toml", Feeding::save_scenario),
    ("Save settings", "-machine.toml", Feeding::save_settings),
    ("Save log", ".log", Feeding::save_log),
    ("Save page", ".html", Feeding::save_page),
];

/// What can be opened.
const OPENS: [(&str, Act); 4] = [
    ("Open scenario", Feeding::open_scenario),
    ("Open settings", Feeding::open_settings),
    ("Feed beside with settings", Feeding::open_rival),
    ("Open log", Feeding::open_log),
];

/// The panel.
pub(super) fn show(ui: &mut Ui, feeding: &mut Feeding, desk: &mut Desk) {
    ScrollArea::vertical().id_salt("files").auto_shrink(false).show(ui, |ui| {
        note(ui, feeding.note.as_ref());
        ui.heading("Open");
        field(ui, "File", &mut desk.path);
        ui.horizontal_wrapped(|ui| {
            for (words, act) in OPENS {
                let named = !desk.path.trim().is_empty();
                if ui.add_enabled(named, egui::Button::new(words)).clicked() {
                    act(feeding, Path::new(desk.path.trim()));
                }
            }
        });
        ui.collapsing("Files beside it", |ui| listing(ui, desk));
        ui.heading("Save");
        field(ui, "Name without ending", &mut desk.stem);
        ui.horizontal_wrapped(|ui| {
            for (words, end, act) in SAVES {
                let button = ui.button(words).on_hover_text(format!("{}{end}", desk.stem.trim()));
                if button.clicked()
                    && let Some(path) = may_write(feeding, desk, end)
                {
                    act(feeding, &path);
                }
            }
            let button =
                ui.button("Save picture").on_hover_text(format!("{}.png", desk.stem.trim()));
            if button.clicked()
                && let Some(path) = may_write(feeding, desk, ".png")
            {
                desk.picture.want(path);
            }
        });
    });
}

/// What came of the last act.
pub(super) fn note(ui: &mut Ui, note: Option<&Note>) {
    let Some(note) = note else { return };
    let sign = if note.tone == Tone::Good { "Done:" } else { "Not done:" };
    ui.horizontal_wrapped(|ui| {
        ui.strong(sign);
        ui.label(&note.text);
    });
}

fn field(ui: &mut Ui, name: &str, text: &mut String) {
    ui.horizontal_wrapped(|ui| {
        let label = ui.label(name);
        let width = ui.available_width().max(160.0) - 4.0;
        ui.add(TextEdit::singleline(text).desired_width(width)).labelled_by(label.id);
    });
}

/// The path to write to; a file that is there must be named twice before it is replaced.
fn may_write(feeding: &mut Feeding, desk: &mut Desk, end: &str) -> Option<PathBuf> {
    let stem = desk.stem.trim();
    if stem.is_empty() {
        feeding.note = Some(Note::bad("A file needs a name."));
        return None;
    }
    let path = PathBuf::from(format!("{stem}{end}"));
    if path.exists() && desk.replace.take().as_ref() != Some(&path) {
        let text = format!("{} is there already; press again to replace it.", path.display());
        feeding.note = Some(Note::bad(text));
        desk.replace = Some(path);
        return None;
    }
    Some(path)
}

/// Scenarios, settings and logs of the folder that the path names.
fn listing(ui: &mut Ui, desk: &mut Desk) {
    let path = PathBuf::from(desk.path.trim());
    let folder =
        if path.is_dir() { path } else { path.parent().map_or_else(PathBuf::new, Path::to_owned) };
    let folder = if folder.as_os_str().is_empty() { PathBuf::from(".") } else { folder };
    let Ok(entries) = std::fs::read_dir(&folder) else {
        ui.label(format!("{} cannot be read.", folder.display()));
        return;
    };
    let wanted = |path: &PathBuf| {
        path.is_dir() || path.extension().is_some_and(|end| end == "toml" || end == "log")
    };
    let mut paths: Vec<PathBuf> =
        entries.flatten().map(|entry| entry.path()).filter(wanted).take(LISTED).collect();
    paths.sort();
    for path in paths {
        let name = path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into());
        let slash = if path.is_dir() { "/" } else { "" };
        if ui.small_button(format!("{name}{slash}")).clicked() {
            desk.path = format!("{}{slash}", path.display());
        }
    }
}
