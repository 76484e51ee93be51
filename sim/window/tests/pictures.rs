//! Pictures of the window, of moments that no tuning of the controller changes.
//!
//! `UPDATE_SNAPSHOTS=1 cargo test -p strewn-window --test pictures` draws them anew; look at each.

mod common;

use common::{HALF, harness, window};
use egui_kittest::SnapshotOptions;
use strewn_window::model::Against;
use strewn_window::panels::{Side, Window};

/// A dense-core bale lies on a tractor that stands.
const STANDING: &str = "name = \"A bale to look at\"\n[[ticket]]\ncore = \"dense\"\n\
    [[drive]]\nspeed_mph = 0\nfor_s = 60\nfeed = false\n";

/// Another Rust or another processor may round a pixel's colour otherwise, not a whole letter.
fn compare(window: Window, size: [f32; 2], name: &str) {
    let options = SnapshotOptions::new()
        .output_path(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/pictures"))
        .threshold(1.0)
        .max_failed_pixels(60_usize);
    let mut harness = harness(window, size);
    harness.run_steps(3);
    harness.snapshot_options(name, &options);
}

fn after(mut window: Window, ticks: u32) -> Window {
    for _ in 0..ticks {
        window.feeding.tick();
    }
    window
}

#[test]
fn a_bale_to_begin_with() {
    compare(after(window(STANDING), 300), [1000.0, 600.0], "begin");
}

#[test]
fn two_lanes_stopped_in_the_dark() {
    let mut window = window(STANDING);
    window.desk.dark = true;
    window.desk.side = Side::World;
    window.feeding.compare(Against::AsGiven).expect("two lanes");
    let mut window = after(window, 300);
    window.feeding.take_switches();
    window.feeding.grip.stopped = true;
    window.feeding.grip.press_arm();
    compare(after(window, 100), [1000.0, 600.0], "stopped");
}

#[test]
fn the_cab_at_twice_the_size() {
    let mut window = window(STANDING);
    window.desk.side = Side::Cab;
    compare(after(window, 300), HALF, "half");
}
