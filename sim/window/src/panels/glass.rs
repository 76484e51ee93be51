//! The controller's screen, drawn by the controller's own code into a picture.

use egui::load::SizedTexture;
use egui::{Color32, ColorImage, Role, TextureHandle, TextureOptions, Ui, WidgetInfo, vec2};
use embedded_graphics::Pixel;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::{OriginDimensions, Size};
use embedded_graphics::pixelcolor::{Rgb888, RgbColor};
use std::convert::Infallible;
use strewn_controller::screen::{SIZE, draw, labels};
use strewn_controller::view::View;

/// The picture, and what is on it.
#[derive(Default)]
pub(super) struct Glass {
    shown: Option<(View, TextureHandle)>,
}

impl Glass {
    /// Draws a view; anew only if it has changed.
    pub(super) fn show(&mut self, ui: &mut Ui, view: &View) {
        if self.shown.as_ref().is_none_or(|(shown, _)| shown != view) {
            self.redraw(ui, view);
        }
        let Some((_, texture)) = &self.shown else { return };
        let width = (SIZE.width as f32).min(ui.available_width());
        let size = vec2(width, width * SIZE.height as f32 / SIZE.width as f32);
        let image = egui::Image::from_texture(SizedTexture::new(texture.id(), size));
        let response = ui.vertical_centered(|ui| ui.add(image)).inner;
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, told(view)));
    }

    fn redraw(&mut self, ui: &Ui, view: &View) {
        let mut canvas = Canvas::new();
        let Ok(()) = draw(view, &mut canvas);
        let image = canvas.image;
        match &mut self.shown {
            Some((shown, texture)) => {
                texture.set(image, TextureOptions::LINEAR);
                *shown = *view;
            }
            None => {
                let texture = ui.ctx().load_texture("cab screen", image, TextureOptions::LINEAR);
                self.shown = Some((*view, texture));
            }
        }
    }
}

/// Every word on the screen, for whoever cannot see it.
fn told(view: &View) -> String {
    let mut words = String::from("Cab screen:");
    let read = labels(view, |label| {
        words.push(' ');
        words.push_str(label.text);
        Ok::<(), Infallible>(())
    });
    let Ok(()) = read;
    words
}

/// Pixels for the controller to draw on.
struct Canvas {
    image: ColorImage,
}

impl Canvas {
    fn new() -> Self {
        let size = [SIZE.width as usize, SIZE.height as usize];
        Self { image: ColorImage::filled(size, Color32::BLACK) }
    }
}

impl OriginDimensions for Canvas {
    fn size(&self) -> Size {
        SIZE
    }
}

impl DrawTarget for Canvas {
    type Color = Rgb888;
    type Error = Infallible;

    fn draw_iter<I: IntoIterator<Item = Pixel<Rgb888>>>(
        &mut self,
        pixels: I,
    ) -> Result<(), Infallible> {
        let [width, height] = self.image.size;
        for Pixel(at, color) in pixels {
            let (Ok(x), Ok(y)) = (usize::try_from(at.x), usize::try_from(at.y)) else { continue };
            if x < width && y < height {
                self.image.pixels[y * width + x] =
                    Color32::from_rgb(color.r(), color.g(), color.b());
            }
        }
        Ok(())
    }
}
