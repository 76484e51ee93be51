//! Draws pictures of the window without a graphics card, a driver or a display: the same bytes wherever
//! the tests run. Triangles with colours and textures, blended as the window's own renderer does.

use egui::epaint::{ClippedPrimitive, ImageData, Mesh, Primitive, Vertex};
use egui::{Color32, Context, FullOutput, Rect, TextureId, TexturesDelta};
use egui_kittest::TestRenderer;
use image::RgbaImage;
use std::collections::BTreeMap;

/// A texture, row by row.
struct Texture {
    size: [usize; 2],
    pixels: Vec<Color32>,
}

/// Paints into memory.
#[derive(Default)]
pub struct Painter {
    textures: BTreeMap<TextureId, Texture>,
}

impl TestRenderer for Painter {
    fn handle_delta(&mut self, delta: &mut TexturesDelta) {
        for (id, deltas) in std::mem::take(&mut delta.set) {
            for change in deltas {
                let ImageData::Color(image) = &change.image;
                match change.pos {
                    None => {
                        let texture = Texture { size: image.size, pixels: image.pixels.clone() };
                        self.textures.insert(id, texture);
                    }
                    Some([left, top]) => {
                        let texture = self.textures.get_mut(&id).expect("a texture to change");
                        for (row, pixels) in image.pixels.chunks(image.size[0]).enumerate() {
                            let at = (top + row) * texture.size[0] + left;
                            texture.pixels[at..at + pixels.len()].copy_from_slice(pixels);
                        }
                    }
                }
            }
        }
        delta.free.clear();
    }

    fn render(&mut self, context: &Context, output: &FullOutput) -> Result<RgbaImage, String> {
        let scale = output.pixels_per_point;
        let size = context.content_rect().size() * scale;
        let mut canvas = Canvas::new(size.x.round() as usize, size.y.round() as usize);
        for ClippedPrimitive { clip_rect, primitive } in
            context.tessellate(output.shapes.clone(), scale)
        {
            let Primitive::Mesh(mesh) = primitive else { continue };
            let texture = self.textures.get(&mesh.texture_id).ok_or("a texture is missing")?;
            canvas.mesh(&mesh, texture, clip_rect, scale);
        }
        Ok(canvas.image())
    }
}

struct Canvas {
    width: usize,
    height: usize,
    pixels: Vec<[f32; 4]>,
}

impl Canvas {
    fn new(width: usize, height: usize) -> Self {
        Self { width, height, pixels: vec![[0.0, 0.0, 0.0, 1.0]; width * height] }
    }

    fn mesh(&mut self, mesh: &Mesh, texture: &Texture, clip: Rect, scale: f32) {
        let side =
            |value: f32, most: usize| (value * scale).round().clamp(0.0, most as f32) as usize;
        let columns = side(clip.left(), self.width)..side(clip.right(), self.width);
        let rows = side(clip.top(), self.height)..side(clip.bottom(), self.height);
        for corners in mesh.indices.chunks_exact(3) {
            let corner = |place: usize| mesh.vertices[corners[place] as usize];
            let triangle = [corner(0), corner(1), corner(2)];
            self.triangle(triangle, texture, (columns.clone(), rows.clone()), scale);
        }
    }

    fn triangle(
        &mut self,
        corners: [Vertex; 3],
        texture: &Texture,
        clip: (std::ops::Range<usize>, std::ops::Range<usize>),
        scale: f32,
    ) {
        let at = corners.map(|corner| (corner.pos.x * scale, corner.pos.y * scale));
        let edge = |a: (f32, f32), b: (f32, f32), p: (f32, f32)| {
            (b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0)
        };
        let area = edge(at[0], at[1], at[2]);
        if area == 0.0 {
            return;
        }
        let low = |values: [f32; 3]| values.into_iter().fold(f32::MAX, f32::min).floor().max(0.0);
        let high = |values: [f32; 3]| values.into_iter().fold(0.0, f32::max).ceil();
        let (xs, ys) = (at.map(|point| point.0), at.map(|point| point.1));
        let columns = clip.0.start.max(low(xs) as usize)..clip.0.end.min(high(xs) as usize);
        let rows = clip.1.start.max(low(ys) as usize)..clip.1.end.min(high(ys) as usize);
        let colors = corners.map(|corner| corner.color.to_array().map(f32::from));
        for row in rows {
            for column in columns.clone() {
                let point = (column as f32 + 0.5, row as f32 + 0.5);
                let share = [
                    edge(at[1], at[2], point) / area,
                    edge(at[2], at[0], point) / area,
                    edge(at[0], at[1], point) / area,
                ];
                if share.iter().any(|share| *share < 0.0) {
                    continue;
                }
                let mix = |value: fn(&Vertex) -> f32| -> f32 {
                    corners.iter().zip(share).map(|(corner, share)| value(corner) * share).sum()
                };
                let texel = texture.at(mix(|corner| corner.uv.x), mix(|corner| corner.uv.y));
                let source: [f32; 4] = std::array::from_fn(|channel| {
                    let color: f32 =
                        (0..3).map(|corner| colors[corner][channel] * share[corner]).sum();
                    color / 255.0 * texel[channel]
                });
                let pixel = &mut self.pixels[row * self.width + column];
                for channel in 0..4 {
                    pixel[channel] = source[channel] + pixel[channel] * (1.0 - source[3]);
                }
            }
        }
    }

    fn image(&self) -> RgbaImage {
        let byte = |value: f32| (value.clamp(0.0, 1.0) * 255.0).round() as u8;
        RgbaImage::from_fn(self.width as u32, self.height as u32, |x, y| {
            image::Rgba(self.pixels[y as usize * self.width + x as usize].map(byte))
        })
    }
}

impl Texture {
    /// Between the four nearest texels.
    fn at(&self, u: f32, v: f32) -> [f32; 4] {
        let [width, height] = self.size;
        let (x, y) = (u * width as f32 - 0.5, v * height as f32 - 0.5);
        let (left, top) = (x.floor(), y.floor());
        let (across, down) = (x - left, y - top);
        let texel = |dx: f32, dy: f32| {
            let column = (left + dx).clamp(0.0, width as f32 - 1.0) as usize;
            let row = (top + dy).clamp(0.0, height as f32 - 1.0) as usize;
            self.pixels[row * width + column].to_array().map(|byte| f32::from(byte) / 255.0)
        };
        let (a, b, c, d) = (texel(0.0, 0.0), texel(1.0, 0.0), texel(0.0, 1.0), texel(1.0, 1.0));
        std::array::from_fn(|channel| {
            let upper = a[channel] + (b[channel] - a[channel]) * across;
            let lower = c[channel] + (d[channel] - c[channel]) * across;
            upper + (lower - upper) * down
        })
    }
}
