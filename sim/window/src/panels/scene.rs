//! The machine from the side: bale in section, rollers, falling hay, the row it leaves, the tractor.

use super::look::Look;
use super::words::{feet, mph, number, pounds, pounds_foot};
use crate::model::{Feeding, Frame, Lane};
use egui::{
    Align2, Color32, FontId, Painter, Pos2, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2,
};
use std::f32::consts::TAU;
use strewn::units::M_PER_FT;
use strewn::world::geometry::volume_m3;
use strewn::world::spec::BaleSpec;

/// Sizes of what nobody states, m.
const ROLLER_HEIGHT: f32 = 0.72;
const ROLLERS_APART: f32 = 0.92;
const BALE_AT: f32 = 1.15;
const NOSE: f32 = 7.3;
/// Height of a row at its target, m: drawn taller than it lies.
const ROW_HEIGHT: f32 = 0.28;
/// Height of the picture above the ground, m.
const TALL: f32 = 2.85;
/// Height of the ground under it, points.
const GROUND: f32 = 20.0;
/// Loosest and densest hay that has a colour of its own, kg/m3.
const DENSITIES: (f64, f64) = (60.0, 420.0);
/// A bale whose size nobody knows, m and kg.
const SOME_BALE: (f64, f64) = (0.76, 500.0);

/// The picture of one lane, filling the width.
pub(super) fn show(ui: &mut Ui, feeding: &Feeding, lane: usize, height: f32) {
    let Some(source) = feeding.lanes().get(lane) else { return };
    let frame = feeding.frame(lane);
    let (rect, response) =
        ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, told(source, &frame)));
    if !ui.is_rect_visible(rect) {
        return;
    }
    let look = Look::of(ui);
    let scale = ((rect.height() - GROUND) / TALL).min(rect.width() / 14.0);
    let painter = ui.painter().with_clip_rect(rect);
    painter.rect_filled(rect, 4.0, look.paper);
    let base = rect.bottom() - GROUND;
    let origin = pos2(rect.right() - NOSE * scale - 6.0, base);
    let scene = Scene { painter: &painter, look, origin, scale, rect, frame };
    scene.ground();
    scene.row(source);
    scene.clumps(source);
    scene.tractor();
    let bale = frame.bale.and_then(|bale| feeding.job.scenario.bales.get(usize::from(bale)));
    scene.machine();
    scene.bale(bale.map(|bale| &bale.spec));
    scene.rollers(feeding.job.scenario.machine.roller_diameter_m as f32 / 2.0);
    scene.falling();
    scene.words(&source.name, bale.map_or("", |bale| &bale.name));
}

/// The picture in words.
fn told(lane: &Lane, frame: &Frame) -> String {
    let sample = &frame.sample;
    format!(
        "{} from the side: {}, {} lb left, rollers {} rpm, {} mph",
        lane.name,
        super::ribbon::state_words(frame),
        number(pounds(left_kg(frame)), 0),
        number(sample.roller_turns_s * super::words::RPM, 0),
        number(mph(sample.ground_speed_m_s), 1),
    )
}

/// True hay left, or what a log's controller believed.
fn left_kg(frame: &Frame) -> f64 {
    let sample = &frame.sample;
    if sample.left_kg.is_finite() { sample.left_kg } else { sample.left_estimate_kg.0 }
}

struct Scene<'a> {
    painter: &'a Painter,
    look: Look,
    /// Where hay lands.
    origin: Pos2,
    scale: f32,
    rect: Rect,
    frame: Frame,
}

impl Scene<'_> {
    /// A point, m ahead of where hay lands and above the ground.
    fn at(&self, ahead: f32, above: f32) -> Pos2 {
        self.origin + vec2(ahead, -above) * self.scale
    }

    fn bar(&self, from: (f32, f32), to: (f32, f32), color: Color32) {
        let rect = Rect::from_two_pos(self.at(from.0, from.1), self.at(to.0, to.1));
        self.painter.rect_filled(rect, 0.08 * self.scale, color);
    }

    fn disc(&self, at: (f32, f32), radius: f32, fill: Color32, line: Color32) {
        let center = self.at(at.0, at.1);
        self.painter.circle(center, radius * self.scale, fill, Stroke::new(1.5, line));
    }

    fn odometer_m(&self) -> f64 {
        self.frame.sample.odometer_m
    }

    /// How far back the picture reaches, m.
    fn reach_m(&self) -> f64 {
        f64::from((self.origin.x - self.rect.left()) / self.scale)
    }

    /// Soil, and a mark every ten feet.
    fn ground(&self) {
        let soil = Rect::from_min_max(pos2(self.rect.left(), self.origin.y), self.rect.max);
        self.painter.rect_filled(soil, 0.0, self.look.soil);
        let low_ft = feet(self.odometer_m() - self.reach_m());
        let high_ft = feet(self.odometer_m() + f64::from(NOSE));
        let mut mark_ft = (low_ft / 10.0).ceil().max(0.0) * 10.0;
        while mark_ft < high_ft {
            let ahead = (mark_ft * M_PER_FT - self.odometer_m()) as f32;
            let top = self.at(ahead, 0.0);
            let stroke = Stroke::new(1.0, self.look.ink);
            self.painter.line_segment([top, top + vec2(0.0, 5.0)], stroke);
            self.small(
                top + vec2(0.0, 5.0),
                Align2::CENTER_TOP,
                &format!("{mark_ft:.0} ft"),
                self.look.ink,
            );
            mark_ft += 10.0;
        }
    }

    /// Every foot of the row: height is what lies there, colour is that against the target.
    fn row(&self, lane: &Lane) {
        let here_m = self.odometer_m();
        for stretch in lane.stretches(here_m - self.reach_m(), here_m, 10) {
            let share = (stretch.laid_kg_m / stretch.target_kg_m) as f32;
            let (from, to) = ((stretch.from_m - here_m) as f32, (stretch.to_m - here_m) as f32);
            let color = self.look.heat[stretch.class()];
            let tall = (share * ROW_HEIGHT).min(1.6);
            if tall < 0.01 {
                continue;
            }
            let rect = Rect::from_two_pos(self.at(from, 0.0), self.at(to.min(0.0), tall));
            self.painter.rect(
                rect,
                1.0,
                color,
                Stroke::new(0.7, self.look.soft),
                egui::StrokeKind::Inside,
            );
        }
        if !lane.ground_kg().is_empty() {
            let (left, right) = (pos2(self.rect.left(), 0.0).x, self.at(0.0, 0.0).x);
            let y = self.at(0.0, ROW_HEIGHT).y;
            let stroke = Stroke::new(1.0, self.look.asked);
            let line = [pos2(left, y), pos2(right, y)];
            self.painter.extend(egui::Shape::dashed_line(&line, stroke, 6.0, 4.0));
            let at = pos2(self.rect.left() + 4.0, y - 1.0);
            self.small(at, Align2::LEFT_BOTTOM, "target", self.look.asked);
        }
    }

    /// A triangle over each clump, with its weight.
    fn clumps(&self, lane: &Lane) {
        for (at_m, kg) in lane.clumps() {
            let ahead = (at_m - self.odometer_m()) as f32;
            if ahead > 0.0 || f64::from(-ahead) > self.reach_m() {
                continue;
            }
            let tip = self.at(ahead, 1.15);
            let points = vec![tip, tip + vec2(-6.0, -10.0), tip + vec2(6.0, -10.0)];
            let stroke = Stroke::new(1.0, self.look.ink);
            self.painter.add(egui::Shape::convex_polygon(points, self.look.heat[8], stroke));
            let text = format!("clump {:.0} lb", pounds(*kg));
            self.small(tip + vec2(0.0, -11.0), Align2::CENTER_BOTTOM, &text, self.look.ink);
        }
    }

    fn tractor(&self) {
        let Look { steel, rubber, paper, soft, .. } = self.look;
        self.bar((3.3, 0.75), (6.9, 1.25), steel);
        self.bar((5.2, 1.2), (6.95, 1.75), steel);
        self.bar((3.45, 1.2), (5.1, 2.75), steel);
        self.bar((3.65, 1.75), (4.9, 2.55), paper);
        self.bar((6.2, 1.7), (6.3, 2.45), steel);
        let turned = self.odometer_m() as f32;
        for (at, radius) in [(3.95, 0.82_f32), (6.35, 0.52)] {
            self.disc((at, radius), radius, rubber, soft);
            self.disc((at, radius), radius * 0.55, steel, soft);
            for spoke in 0..5 {
                let angle = turned / radius + TAU * spoke as f32 / 5.0;
                let (sin, cos) = angle.sin_cos();
                let rim =
                    |share: f32| self.at(at + share * radius * sin, radius + share * radius * cos);
                self.painter.line_segment([rim(0.6), rim(0.95)], Stroke::new(2.0, soft));
            }
        }
    }

    fn machine(&self) {
        let steel = self.look.steel;
        self.bar((0.35, 0.42), (3.4, 0.56), steel);
        self.bar((2.35, 0.5), (2.5, 1.5), steel);
        self.bar((-0.02, 0.5), (0.1, 1.05), steel);
        self.bar((0.0, 0.42), (0.5, 0.56), steel);
    }

    fn rollers(&self, radius: f32) {
        let turned = (self.frame.roller_turns.fract() as f32) * TAU;
        for side in [-0.5, 0.5] {
            let at = (BALE_AT + side * ROLLERS_APART, ROLLER_HEIGHT);
            self.disc(at, radius * 0.8, self.look.steel, self.look.rubber);
            for tooth in 0..6 {
                let angle = turned + TAU * tooth as f32 / 6.0;
                let (sin, cos) = angle.sin_cos();
                let point =
                    |share: f32| self.at(at.0 + share * radius * cos, at.1 + share * radius * sin);
                self.painter
                    .line_segment([point(0.2), point(1.25)], Stroke::new(2.0, self.look.rubber));
            }
        }
    }

    /// Rings of the bale, darker where denser.
    fn bale(&self, spec: Option<&BaleSpec>) {
        let known = self.frame.radius_m.is_finite();
        let radius_m = if known {
            self.frame.radius_m
        } else {
            SOME_BALE.0 * (left_kg(&self.frame) / SOME_BALE.1).max(0.0).sqrt()
        };
        if radius_m < 0.02 {
            return;
        }
        let apart = ROLLERS_APART / 2.0;
        let contact = radius_m as f32 + 0.165;
        let above = ROLLER_HEIGHT + (contact * contact - apart * apart).max(0.01).sqrt();
        let center = self.at(BALE_AT, above);
        let rings = 18;
        for ring in (1..=rings).rev() {
            let share = f64::from(ring) / f64::from(rings);
            let color = match spec {
                Some(spec) if known => self
                    .look
                    .hay_of(density_share(spec, radius_m * (share - 0.5 / f64::from(rings)))),
                _ => self.look.hay_of(0.3),
            };
            let radius = (radius_m * share) as f32 * self.scale;
            self.painter.circle_filled(center, radius, color);
        }
        let edge = Stroke::new(1.5, self.look.ink);
        self.painter.circle_stroke(center, radius_m as f32 * self.scale, edge);
        if let Some(spec) = spec {
            let whole = (spec.diameter_m / 2.0) as f32 * self.scale;
            self.painter.circle_stroke(center, whole, Stroke::new(0.7, self.look.line));
        }
        // Marks on the rim show that it turns.
        let turned = -(self.frame.roller_turns * 0.22).fract() as f32 * TAU;
        for mark in 0..3 {
            let (sin, cos) = (turned + TAU * mark as f32 / 3.0).sin_cos();
            let rim = vec2(cos, -sin) * radius_m as f32 * self.scale;
            self.painter.line_segment([center + rim * 0.88, center + rim], edge);
        }
    }

    /// Hay in the air: as many wisps as there are half pounds.
    fn falling(&self) {
        let kg = self.frame.in_air_kg;
        if !kg.is_finite() {
            return;
        }
        let wisps = (pounds(kg) * 2.0).ceil().clamp(0.0, 120.0) as u32;
        for wisp in 0..wisps {
            let draw = |salt: u32| {
                let mixed = (wisp * 7 + salt).wrapping_mul(0x9E37_79B9);
                ((mixed ^ (mixed >> 15)).wrapping_mul(0x85EB_CA6B) >> 8) as f32
                    / (1u32 << 24) as f32
            };
            let phase = (self.frame.sample.time_s as f32 / 0.45 + draw(1)).fract();
            let ahead = 0.42 - 0.5 * phase + 0.35 * (draw(2) - 0.5);
            let above = (ROLLER_HEIGHT - 0.1) * (1.0 - phase * phase) + 0.1 * draw(3);
            let tilt = vec2(0.12 * (draw(4) - 0.5), 0.07 * (draw(5) - 0.5)) * self.scale;
            let at = self.at(ahead, above);
            let color = self.look.hay_of(f64::from(draw(6)) * 0.6);
            self.painter.line_segment([at - tilt, at + tilt], Stroke::new(2.0, color));
        }
    }

    fn words(&self, name: &str, bale: &str) {
        let frame = &self.frame;
        let (color, _) = self.look.phase(frame.sample.phase);
        let state = super::ribbon::state_words(frame);
        let at = self.rect.left_top() + vec2(8.0, 6.0);
        let font = FontId::proportional(15.0);
        let galley = self.painter.layout_no_wrap(state, font, self.look.ink);
        let pill = Rect::from_min_size(at, galley.size() + vec2(14.0, 6.0));
        self.painter.rect_filled(pill, 6.0, color);
        self.painter.galley(at + vec2(7.0, 3.0), galley, self.look.ink);
        self.small(pill.right_center() + vec2(8.0, 0.0), Align2::LEFT_CENTER, name, self.look.soft);
        let sample = &frame.sample;
        let lines = [
            format!("{bale}  {} lb left", number(pounds(left_kg(frame)), 0)),
            format!(
                "{} lb/ft laid, target {}",
                number(pounds_foot(frame.laid_kg_m), 1),
                number(f64::from(frame.view.target.to_milli()) / 1e3 / 1.488_164, 1)
            ),
            format!(
                "rollers {} rpm, {} mph",
                number(sample.roller_turns_s * super::words::RPM, 0),
                number(mph(sample.ground_speed_m_s), 1)
            ),
        ];
        for (line, text) in lines.iter().enumerate() {
            let at = self.rect.left_top() + vec2(8.0, 32.0 + 15.0 * line as f32);
            self.small(at, Align2::LEFT_TOP, text.trim(), self.look.ink);
        }
    }

    fn small(&self, at: Pos2, anchor: Align2, text: &str, color: Color32) {
        self.painter.text(at, anchor, text, FontId::proportional(12.0), color);
    }
}

/// Where a density lies between the loosest and the densest hay.
fn density_share(spec: &BaleSpec, radius_m: f64) -> f64 {
    let whole_m = spec.diameter_m / 2.0;
    let mean = spec.mass_kg / volume_m3(spec.diameter_m, spec.width_m);
    let density = mean / spec.profile.mean() * spec.profile.relative_density(radius_m / whole_m);
    (density - DENSITIES.0) / (DENSITIES.1 - DENSITIES.0)
}

/// What the colours of the row mean.
pub(super) fn legend(ui: &mut Ui) {
    let look = Look::of(ui);
    let words = ["under 1/4", "1/2", "3/4", "0.9", "right", "1.25", "1.5", "2", "above twice"];
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 3.0;
        ui.small("row, laid over target:");
        for (colour, words) in look.heat.into_iter().zip(words) {
            let (rect, _) = ui.allocate_exact_size(vec2(14.0, 10.0), Sense::hover());
            ui.painter().rect(
                rect,
                1.0,
                colour,
                Stroke::new(0.7, look.soft),
                egui::StrokeKind::Inside,
            );
            ui.small(words);
        }
        ui.add_space(10.0);
        ui.small("bale: loose");
        for step in 0..5 {
            let (rect, _) = ui.allocate_exact_size(vec2(10.0, 10.0), Sense::hover());
            ui.painter().rect_filled(rect, 1.0, look.hay_of(f64::from(step) / 4.0));
        }
        ui.small("dense");
    });
}
