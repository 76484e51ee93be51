//! The window as a picture in a file.

use crate::model::Note;
use egui::{ColorImage, Ui};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, channel};
use strewn::files::write_whole;

/// A picture that is wanted or being taken.
#[derive(Debug, Default)]
pub struct Picture {
    wanted: Option<PathBuf>,
    coming: Option<Receiver<Note>>,
}

impl Picture {
    /// Takes a picture of the window as it looks next.
    pub fn want(&mut self, path: PathBuf) {
        self.wanted = Some(path);
    }

    /// Asks for the picture if one is wanted. Gives what became of one that has come.
    pub(super) fn take(&mut self, ui: &Ui) -> Option<Note> {
        if let Some(path) = self.wanted.take() {
            let (sender, receiver) = channel();
            let context = ui.ctx().clone();
            ui.ctx().request_screenshot(move |image| {
                let note = match write(&path, &image) {
                    Ok(()) => Note::good(format!("The picture is in {}.", path.display())),
                    Err(text) => Note::bad(text),
                };
                // Nobody waits for it once the window is shut.
                let _ = sender.send(note);
                context.request_repaint();
            });
            self.coming = Some(receiver);
        }
        let note = self.coming.as_ref()?.try_recv().ok()?;
        self.coming = None;
        Some(note)
    }
}

fn write(path: &Path, image: &ColorImage) -> Result<(), String> {
    let bytes = encoded(image).map_err(|error| format!("{}: {error}", path.display()))?;
    write_whole(path, &bytes).map_err(|error| error.to_string())
}

fn encoded(image: &ColorImage) -> Result<Vec<u8>, png::EncodingError> {
    let [width, height] = image.size.map(|side| u32::try_from(side).unwrap_or(u32::MAX));
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header()?;
    let pixels: Vec<u8> = image.pixels.iter().flat_map(|pixel| pixel.to_array()).collect();
    writer.write_image_data(&pixels)?;
    writer.finish()?;
    Ok(bytes)
}
