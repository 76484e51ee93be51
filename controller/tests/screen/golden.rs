//! Each picture, of one colour and of many, is pixel for pixel the one that was looked at.

use super::scenes::scenes;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::pixelcolor::{BinaryColor, Rgb565, Rgb888};
use embedded_graphics_simulator::{
    BinaryColorTheme, OutputImage, OutputSettingsBuilder, SimulatorDisplay,
};
use std::fs;
use std::path::{Path, PathBuf};
use strewn_controller::screen::{Palette, SIZE, draw};
use strewn_controller::view::View;

/// Set to write the pictures anew.
const RENEW: &str = "STREWN_RENEW_PICTURES";

fn picture<C>(view: &View, theme: BinaryColorTheme) -> OutputImage<Rgb888>
where
    C: Palette + From<BinaryColor> + Into<Rgb888>,
    SimulatorDisplay<C>: DrawTarget<Color = C>,
{
    let mut display = SimulatorDisplay::<C>::with_default_color(SIZE, BinaryColor::Off.into());
    let Ok(()) = draw(view, &mut display) else { panic!("a display in memory takes every pixel") };
    let settings = OutputSettingsBuilder::new().theme(theme).scale(1).pixel_spacing(0).build();
    display.to_rgb_output_image(&settings)
}

fn is_same(path: &Path, image: &OutputImage<Rgb888>) -> bool {
    let Ok(kept) = SimulatorDisplay::<Rgb888>::load_png(path) else { return false };
    let kept = kept.to_rgb_output_image(&OutputSettingsBuilder::new().build());
    kept.as_image_buffer().as_raw() == image.as_image_buffer().as_raw()
}

#[test]
fn every_picture_is_the_one_that_was_looked_at() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden");
    let renew = std::env::var_os(RENEW).is_some();
    let mut other: Vec<PathBuf> = Vec::new();
    let mut expected = Vec::new();
    for (name, view) in scenes() {
        // A reflecting display shows "on" dark.
        let pictures = [
            ("colour", picture::<Rgb565>(&view, BinaryColorTheme::Default)),
            ("one-colour", picture::<BinaryColor>(&view, BinaryColorTheme::Inverted)),
        ];
        for (kind, image) in pictures {
            let path = folder.join(format!("{name}.{kind}.png"));
            if renew {
                image.save_png(&path).expect("the folder can be written");
            }
            if !is_same(&path, &image) {
                other.push(path.clone());
            }
            expected.push(path);
        }
    }
    assert!(
        other.is_empty(),
        "these differ from what is drawn now; if that is meant, run with {RENEW}=1, look at each and \
         keep it: {other:#?}"
    );
    let kept =
        fs::read_dir(&folder).expect("the folder of pictures").map(|entry| entry.expect("entry"));
    let strays: Vec<_> = kept.map(|entry| entry.path()).filter(|p| !expected.contains(p)).collect();
    assert!(strays.is_empty(), "no scene draws {strays:#?}");
}
