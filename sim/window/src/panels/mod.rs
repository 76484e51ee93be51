//! Panels: each draws a part of the model and hands acts back to it; none keeps truth of its own.

mod cab;
mod field;
mod files;
mod glass;
mod knobs;
pub mod look;
mod marks;
mod picture;
mod plugs;
mod ribbon;
mod scene;
mod time;
mod top;
mod traces;
mod words;

use crate::model::Feeding;
use egui::{CentralPanel, Key, Panel, ScrollArea, Ui};
use glass::Glass;
pub use picture::Picture;
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// Below this width, points, the panels take turns instead of standing side by side.
const NARROW: f32 = 900.0;
/// Below this height, points, cab and tabs scroll together.
const LOW: f32 = 570.0;
/// Time that ticks may take between two pictures.
const TICKING: Duration = Duration::from_millis(12);
/// Time over which pace and pictures are measured, s.
const MEASURING_S: f64 = 1.0;
/// Text sizes, as shares of the usual one.
const SIZES: [f32; 4] = [1.0, 1.25, 1.5, 2.0];

/// What lies under the cab at the side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The scene, where it has no place of its own.
    Scene,
    /// The traces, likewise.
    Traces,
    /// The cab, likewise.
    Cab,
    /// Faults on wires.
    Wires,
    /// The controller's settings.
    Settings,
    /// The world.
    World,
    /// Files.
    Files,
}

impl Side {
    const WIDE: [(Self, &'static str); 4] = [
        (Self::Wires, "Wires"),
        (Self::Settings, "Settings"),
        (Self::World, "World"),
        (Self::Files, "Files"),
    ];
    const NARROW: [(Self, &'static str); 7] = [
        (Self::Scene, "Scene"),
        (Self::Traces, "Traces"),
        (Self::Cab, "Cab"),
        (Self::Wires, "Wires"),
        (Self::Settings, "Settings"),
        (Self::World, "World"),
        (Self::Files, "Files"),
    ];
}

/// How the desk is laid out: nothing here changes what is fed.
#[derive(Debug)]
pub struct Desk {
    /// What lies at the side.
    pub side: Side,
    /// Whether traces follow time.
    pub follow: bool,
    /// Time in sight while they do, s.
    pub span_s: f64,
    /// Time in sight while they do not, s.
    pub zoomed_s: (f64, f64),
    /// Every kind of fault instead of the four common ones.
    pub all_kinds: bool,
    /// The file to open.
    pub path: String,
    /// The name of files to save, without its ending.
    pub stem: String,
    /// The file that a second press replaces.
    pub replace: Option<PathBuf>,
    /// The picture that is about to be taken.
    pub picture: Picture,
    /// A picture to be taken once time stands; then the window shuts.
    pub last_picture: Option<PathBuf>,
    shut: bool,
    /// Size of everything, as a share of the usual one.
    pub size: f32,
    /// Dark instead of light.
    pub dark: bool,
    /// Machine time to a person's, as measured.
    pub measured_pace: f64,
    /// Pictures a second, as measured.
    pub measured_pictures: f64,
    /// When that was measured, s, machine time then, s, and pictures since.
    measured: (f64, f64, u32),
}

impl Default for Desk {
    fn default() -> Self {
        Self {
            side: Side::Wires,
            follow: true,
            span_s: 60.0,
            zoomed_s: (0.0, 60.0),
            all_kinds: false,
            path: String::new(),
            stem: "feeding".to_owned(),
            replace: None,
            picture: Picture::default(),
            last_picture: None,
            shut: false,
            size: 1.0,
            dark: false,
            measured_pace: 0.0,
            measured_pictures: 0.0,
            measured: (0.0, 0.0, 0),
        }
    }
}

/// The window: the model, the desk and the picture of the cab screen.
pub struct Window {
    /// What is fed.
    pub feeding: Feeding,
    /// How it is laid out.
    pub desk: Desk,
    glass: Glass,
}

impl Window {
    /// A window on a feeding.
    #[must_use]
    pub fn new(feeding: Feeding) -> Self {
        Self { feeding, desk: Desk::default(), glass: Glass::default() }
    }

    /// One picture: time goes on, then everything is drawn.
    pub fn ui(&mut self, ui: &mut Ui) {
        self.dress(ui);
        self.advance(ui);
        self.hands(ui);
        let narrow = ui.available_width() < NARROW;
        Panel::top("top").show(ui, |ui| top::show(ui, &mut self.feeding, &mut self.desk));
        if narrow {
            self.narrow(ui);
        } else {
            self.wide(ui);
        }
        self.take_pictures(ui);
    }

    fn take_pictures(&mut self, ui: &Ui) {
        // The first pictures of a window are drawn before its sizes are known.
        let settled = !self.feeding.clock.running && ui.ctx().cumulative_frame_nr() > 5;
        if settled && let Some(path) = self.desk.last_picture.take() {
            self.desk.picture.want(path);
            self.desk.shut = true;
        }
        if self.desk.last_picture.is_some() {
            ui.ctx().request_repaint();
        }
        if let Some(note) = self.desk.picture.take(ui) {
            self.feeding.note = Some(note);
            if self.desk.shut {
                ui.ctx().send_viewport_cmd(egui::ViewportCommand::Close);
            }
        }
    }

    fn dress(&self, ui: &Ui) {
        let theme = if self.desk.dark { egui::Theme::Dark } else { egui::Theme::Light };
        let context = ui.ctx();
        context.set_theme(theme);
        context.set_visuals_of(theme, look::Look::visuals(self.desk.dark));
        if context.zoom_factor() != self.desk.size {
            context.set_zoom_factor(self.desk.size);
        }
    }

    fn advance(&mut self, ui: &Ui) {
        let (now_s, elapsed_s) = ui.input(|input| (input.time, f64::from(input.stable_dt)));
        let begin = Instant::now();
        let was_running = self.feeding.clock.running;
        self.feeding.advance(elapsed_s, &mut || begin.elapsed() < TICKING);
        let machine_s = self.feeding.now_s();
        let desk = &mut self.desk;
        let (then_s, machine_then_s, pictures) = desk.measured;
        if !was_running {
            desk.measured = (now_s, machine_s, 0);
            (desk.measured_pace, desk.measured_pictures) = (0.0, 0.0);
        } else if now_s - then_s > MEASURING_S {
            desk.measured_pace = (machine_s - machine_then_s) / (now_s - then_s);
            desk.measured_pictures = f64::from(pictures + 1) / (now_s - then_s);
            desk.measured = (now_s, machine_s, 0);
        } else {
            desk.measured.2 += 1;
        }
        if self.feeding.clock.running || self.feeding.grip.taken {
            ui.ctx().request_repaint();
        }
    }

    /// Hands rest unless a control that is in sight says otherwise; the stop can be pressed from anywhere.
    fn hands(&mut self, ui: &Ui) {
        let feeding = &mut self.feeding;
        let grip = &mut feeding.grip;
        (grip.arm, grip.run, grip.new_bale) = (false, false, false);
        if !feeding.is_log() && pressed(ui, Key::X) {
            cab::press_stop(feeding);
        }
    }

    /// Everything side by side.
    fn wide(&mut self, ui: &mut Ui) {
        let Self { feeding, desk, glass } = self;
        if Side::WIDE.iter().all(|(side, _)| *side != desk.side) {
            desk.side = Side::Wires;
        }
        Panel::bottom("time").show(ui, |ui| time::show(ui, feeding, desk));
        Panel::right("side").exact_size(348.0).resizable(false).show(ui, |ui| {
            let mut content = |ui: &mut Ui| {
                cab::show(ui, feeding, glass);
                ui.separator();
                tabs(ui, desk, &Side::WIDE);
                side(ui, feeding, desk, glass);
            };
            if ui.available_height() < LOW {
                ScrollArea::vertical().id_salt("low").show(ui, content);
            } else {
                content(ui);
            }
        });
        CentralPanel::default().show(ui, |ui| {
            let height = ui.available_height();
            ScrollArea::vertical()
                .id_salt("wide")
                .auto_shrink(false)
                .show(ui, |ui| pictures(ui, feeding, desk, height));
        });
    }

    /// One panel at a time, each scrolling.
    fn narrow(&mut self, ui: &mut Ui) {
        let Self { feeding, desk, glass } = self;
        Panel::top("tabs").show(ui, |ui| tabs(ui, desk, &Side::NARROW));
        Panel::bottom("time").show(ui, |ui| time::brief(ui, feeding));
        CentralPanel::default().show(ui, |ui| {
            ScrollArea::vertical().id_salt("narrow").show(ui, |ui| {
                side(ui, feeding, desk, glass);
                ui.separator();
                time::rest(ui, feeding, desk);
            });
        });
    }
}

/// Scenes, fields and traces, filling a height if it is enough for them.
fn pictures(ui: &mut Ui, feeding: &Feeding, desk: &mut Desk, height: f32) {
    let top = ui.cursor().top();
    let lanes = feeding.lanes().len();
    let scene = (height * 0.3).max(120.0) / if lanes > 1 { 1.4 } else { 1.0 };
    for lane in 0..lanes {
        scene::show(ui, feeding, lane, scene);
    }
    scene::legend(ui);
    for lane in 0..lanes {
        field::show(ui, feeding, lane, if lanes > 1 { 44.0 } else { 72.0 });
    }
    let columns = if lanes > 1 && ui.available_width() > NARROW { 3 } else { 2 };
    let rest = height - (ui.cursor().top() - top);
    traces::show(ui, feeding, desk, columns, rest);
}

fn tabs(ui: &mut Ui, desk: &mut Desk, sides: &[(Side, &str)]) {
    ui.horizontal_wrapped(|ui| {
        for (side, words) in sides {
            ui.selectable_value(&mut desk.side, *side, *words);
        }
    });
}

fn side(ui: &mut Ui, feeding: &mut Feeding, desk: &mut Desk, glass: &mut Glass) {
    match desk.side {
        Side::Scene => {
            for lane in 0..feeding.lanes().len() {
                scene::show(ui, feeding, lane, 150.0);
                field::show(ui, feeding, lane, 60.0);
            }
            scene::legend(ui);
        }
        Side::Traces => traces::tall(ui, feeding, desk),
        Side::Cab => cab::show(ui, feeding, glass),
        Side::Wires => plugs::show(ui, feeding, desk),
        Side::Settings => knobs::settings(ui, feeding),
        Side::World => knobs::world(ui, feeding),
        Side::Files => files::show(ui, feeding, desk),
    }
}

/// Whether a key was pressed, unless somebody is writing.
fn pressed(ui: &Ui, key: Key) -> bool {
    !ui.ctx().text_edit_focused() && ui.input(|input| input.key_pressed(key))
}

/// Whether a key is held, unless somebody is writing.
fn down(ui: &Ui, key: Key) -> bool {
    !ui.ctx().text_edit_focused() && ui.input(|input| input.key_down(key))
}

impl eframe::App for Window {
    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        Self::ui(self, ui);
    }
}
