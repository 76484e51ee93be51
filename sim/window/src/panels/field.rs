//! The field from above: the way driven, the row in the colours of the side view, clumps.

use super::look::Look;
use super::words::{feet, number, pounds};
use crate::model::{Feeding, Field, Lane};
use egui::{Align2, FontId, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

/// Bins of the row in one drawn piece: 6 ft.
const BINS: usize = 60;
/// Way between two points of the drawn way, m.
const STEP_M: f64 = 2.0;
/// Room for words at the left, points.
const WORDS: f32 = 110.0;

/// The picture of one lane, filling the width.
pub(super) fn show(ui: &mut Ui, feeding: &Feeding, lane: usize, height: f32) {
    let Some(source) = feeding.lanes().get(lane) else { return };
    let here_m = feeding.frame(lane).sample.odometer_m;
    let (rect, response) =
        ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, told(source, here_m)));
    if !ui.is_rect_visible(rect) {
        return;
    }
    let look = Look::of(ui);
    let painter = ui.painter().with_clip_rect(rect);
    painter.rect_filled(rect, 4.0, look.paper);
    let map = Map::new(rect, here_m);
    let way = |from_m: f64, to_m: f64| -> Vec<Pos2> {
        let steps = ((to_m - from_m) / STEP_M).ceil().max(1.0) as usize;
        let point = |step: usize| map.at(from_m + (to_m - from_m) * step as f64 / steps as f64);
        (0..=steps).map(point).collect()
    };
    painter.add(Shape::line(way(map.from_m, here_m), Stroke::new(1.0, look.line)));
    let stretches: Vec<_> = source
        .stretches(map.from_m, here_m, BINS)
        .into_iter()
        .filter(|stretch| stretch.laid_kg_m > 0.0)
        .collect();
    // An edge under the row keeps what is just right apart from the paper.
    for stretch in &stretches {
        let to_m = stretch.to_m.min(here_m).max(stretch.from_m);
        painter.add(Shape::line(way(stretch.from_m, to_m), Stroke::new(7.0, look.soft)));
    }
    for stretch in &stretches {
        let to_m = stretch.to_m.min(here_m).max(stretch.from_m);
        let stroke = Stroke::new(5.0, look.heat[stretch.class()]);
        painter.add(Shape::line(way(stretch.from_m, to_m), stroke));
    }
    for (at_m, _) in
        source.clumps().iter().filter(|(at_m, _)| *at_m >= map.from_m && *at_m <= here_m)
    {
        let at = map.at(*at_m);
        let points = vec![at + vec2(0.0, -3.0), at + vec2(-5.0, -11.0), at + vec2(5.0, -11.0)];
        painter.add(Shape::convex_polygon(points, look.heat[8], Stroke::new(1.0, look.ink)));
    }
    let (here, ahead) = (map.at(here_m), map.at(here_m + 1.0));
    let nose = (ahead - here).normalized() * 9.0;
    let side = vec2(-nose.y, nose.x) * 0.55;
    let points = vec![here + nose, here + side, here - side];
    painter.add(Shape::convex_polygon(points, look.ink, Stroke::NONE));
    let text = format!("from above\n{} ft driven", number(feet(here_m), 0));
    let at = rect.left_top() + vec2(8.0, 4.0);
    painter.text(at, Align2::LEFT_TOP, text, FontId::proportional(12.0), look.soft);
}

fn told(lane: &Lane, here_m: f64) -> String {
    let clumps = lane.clumps().iter().filter(|(at_m, _)| *at_m <= here_m);
    let heaviest = clumps.clone().map(|(_, kg)| pounds(*kg)).fold(0.0, f64::max);
    format!(
        "{} from above: {} ft driven, {} clumps, the heaviest {} lb",
        lane.name,
        number(feet(here_m), 0),
        clumps.count(),
        number(heaviest, 0)
    )
}

/// Field to picture: the last few straights, each as wide as the picture.
struct Map {
    field: Field,
    rect: Rect,
    /// Odometer of the first point drawn, m.
    from_m: f64,
    first_lap: f64,
    /// px a metre along and across.
    scale: (f64, f64),
}

impl Map {
    fn new(rect: Rect, here_m: f64) -> Self {
        let field = Field::default();
        let mut inner = rect.shrink2(vec2(20.0, 12.0));
        *inner.left_mut() += WORDS;
        let laps = (f64::from(inner.height()) / 22.0).floor().max(1.0);
        let lap_m = field.straight_m + std::f64::consts::PI * field.apart_m / 2.0;
        let first_lap = ((here_m / lap_m).floor() + 1.0 - laps).max(0.0);
        let along = f64::from(inner.width()) / (field.straight_m + field.apart_m);
        let across = f64::from(inner.height()) / ((laps - 1.0).max(1.0) * field.apart_m);
        Self { field, rect: inner, from_m: first_lap * lap_m, first_lap, scale: (along, across) }
    }

    fn at(&self, odometer_m: f64) -> Pos2 {
        let (along_m, across_m) = self.field.at(odometer_m);
        let across_m = across_m - self.first_lap * self.field.apart_m;
        let along_m = along_m + self.field.apart_m / 2.0;
        pos2(
            self.rect.left() + (along_m * self.scale.0) as f32,
            self.rect.top() + (across_m * self.scale.1) as f32,
        )
    }
}
