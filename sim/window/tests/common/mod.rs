//! A window without a display, for the tests.
#![allow(dead_code, unreachable_pub)]

pub mod painter;

use egui::accesskit::Role;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use strewn::bench::scenario::Scenario;
use strewn_window::model::{Feeding, Frame, Job};
use strewn_window::panels::Window;

/// A screen of 1366 x 768 without the edges of a window, points.
pub const SCREEN: [f32; 2] = [1366.0, 720.0];
/// What is left of it at twice the size.
pub const HALF: [f32; 2] = [683.0, 360.0];

/// A window on the demonstration.
pub fn demo() -> Window {
    window(Scenario::DEMO)
}

/// A window on a scenario.
pub fn window(text: &str) -> Window {
    let job = Job::parse(text, None).expect("a scenario");
    Window::new(Feeding::new(job, 1).expect("a feeding"))
}

/// It in a frame of so many points. Every picture is checked for widgets without a name.
pub fn harness(window: Window, size: [f32; 2]) -> Harness<'static, Window> {
    Harness::builder()
        .with_size(size)
        .with_step_dt(0.05)
        .with_max_steps(12)
        .renderer(painter::Painter::default())
        .build_ui_state(|ui, window: &mut Window| window.ui(ui), window)
}

/// Clicks what has this name, as a screen reader does.
pub fn click(harness: &mut Harness<'_, Window>, name: &str) {
    harness.get_by_label(name).click_accesskit();
    harness.run_steps(2);
}

/// Writes into the field of this name.
pub fn write(harness: &mut Harness<'_, Window>, name: &str, text: &str) {
    harness.get_by_role_and_label(Role::TextInput, name).set_text_value_accesskit(text);
    harness.run_steps(2);
}

/// Draws pictures until the first lane is as wanted.
pub fn until(harness: &mut Harness<'_, Window>, is: impl Fn(&Frame) -> bool) {
    for _ in 0..20_000 {
        if is(&harness.state().feeding.frame(0)) {
            return;
        }
        harness.step();
    }
    panic!("never so; at the end: {:?}", harness.state().feeding.frame(0));
}

/// Whether a text is on the window, as part of anything's name or value.
pub fn says(harness: &Harness<'_, Window>, text: &str) -> bool {
    let mut nodes = harness.root().children_recursive();
    nodes.any(|node| {
        let node = node.accesskit_node();
        let told = [node.label(), node.value()];
        told.into_iter().flatten().any(|told| told.contains(text))
    })
}
