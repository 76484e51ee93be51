//! The brush: fills, frames, barrier tape, shapes and text on a target.

use super::layout::{Label, cut};
use super::letters::lines;
use super::shade::{Palette, Shade};
use embedded_graphics::Pixel;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::{Point, Size};
use embedded_graphics::primitives::{PointsIter, Rectangle};

pub(super) struct Paint<'a, D> {
    target: &'a mut D,
}

impl<'a, D> Paint<'a, D>
where
    D: DrawTarget,
    D::Color: Palette,
{
    pub(super) fn new(target: &'a mut D) -> Self {
        Self { target }
    }

    pub(super) fn fill(&mut self, area: Rectangle, shade: Shade) -> Result<(), D::Error> {
        self.target.fill_solid(&area, D::Color::shade(shade))
    }

    /// An empty box with a line of two pixels around it.
    pub(super) fn frame(&mut self, area: Rectangle) -> Result<(), D::Error> {
        self.fill(area, Shade::Ink)?;
        self.fill(cut(area, 2), Shade::Paper)
    }

    /// Slanted stripes.
    pub(super) fn hatch(&mut self, area: Rectangle, shade: Shade) -> Result<(), D::Error> {
        let striped = area.points().filter(|at| at.x.wrapping_add(at.y) & 7 < 4);
        self.points(striped, shade)
    }

    /// The points of an area for which `covers` holds, counted from its middle.
    pub(super) fn shape(
        &mut self,
        area: Rectangle,
        shade: Shade,
        covers: impl Fn(i32, i32) -> bool,
    ) -> Result<(), D::Error> {
        let middle = area.center();
        let covered = area
            .points()
            .filter(|at| covers(at.x.saturating_sub(middle.x), at.y.saturating_sub(middle.y)));
        self.points(covered, shade)
    }

    /// The label's ground and its text, line by line; what does not fit is left out.
    pub(super) fn label(&mut self, label: &Label<'_>) -> Result<(), D::Error> {
        let corner = label.area.top_left;
        // The ground stands out a little, so that letters do not touch its edge.
        let ground = Rectangle::new(
            Point::new(corner.x.saturating_sub(3), corner.y),
            Size::new(label.area.size.width.saturating_add(3), label.area.size.height),
        );
        self.fill(ground, label.field)?;
        let mut y = corner.y;
        for line in lines(label.text, label.columns()).take(label.rows()) {
            let place =
                move |at: Point| Point::new(at.x.saturating_add(corner.x), at.y.saturating_add(y));
            self.points(label.face.points(line).map(place), label.sign)?;
            y = y.saturating_add(label.face.height());
        }
        Ok(())
    }

    fn points(
        &mut self,
        points: impl Iterator<Item = Point>,
        shade: Shade,
    ) -> Result<(), D::Error> {
        let color = D::Color::shade(shade);
        self.target.draw_iter(points.map(|at| Pixel(at, color)))
    }
}
