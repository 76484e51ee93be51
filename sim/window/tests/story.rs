//! What a person does at the window, by the names that a screen reader tells.

mod common;

use common::{HALF, SCREEN, click, demo, harness, says, until, window, write};
use egui::Key;
use egui::accesskit::Role;
use egui_kittest::kittest::{NodeT, Queryable};
use strewn_controller::safety::{Condition, Phase};
use strewn_window::panels::Side;

#[test]
fn from_the_start_over_the_core_and_a_lost_speed_to_a_log_opened_again() {
    let mut harness = harness(demo(), SCREEN);
    click(&mut harness, "Run [P]");
    until(&mut harness, |frame| frame.sample.time_s > 0.3);
    click(&mut harness, "fastest");
    until(&mut harness, |frame| frame.sample.phase == Phase::Laying);
    click(&mut harness, "To the core [C]");
    until(&mut harness, |frame| frame.sample.core_near);
    harness.run_steps(2);
    assert!(!harness.state().feeding.clock.running, "time stands at the core");
    assert!(says(&harness, "slow for the core"));

    click(&mut harness, "Pull every speed plug");
    click(&mut harness, "10x");
    click(&mut harness, "Run [P]");
    until(&mut harness, |frame| frame.sample.phase == Phase::Latched);
    until(&mut harness, |frame| frame.sample.cause == Some(Condition::GroundSpeedLost));
    assert!(says(&harness, "stopped: ground speed lost"));
    let stopped_s = harness.state().feeding.now_s();
    until(&mut harness, |frame| frame.sample.time_s > stopped_s + 1.0);

    click(&mut harness, "Pause [P]");

    // The plug is back and the tractor rolls; the second act alone starts nothing.
    click(&mut harness, "Pull every speed plug");
    click(&mut harness, "Keep run held");
    assert!(says(&harness, "You have the switches."));
    let slider = harness.get_by_role_and_label(Role::Slider, "Drive at");
    slider.set_value_accesskit(3.0);
    click(&mut harness, "Run [P]");
    let mut rolls = 0;
    let begin_s = harness.state().feeding.now_s();
    while harness.state().feeding.now_s() < begin_s + 8.0 {
        harness.step();
        rolls += usize::from(harness.state().feeding.frame(0).sample.roller_turns_s > 0.0);
    }
    assert_eq!(rolls, 0, "one act turned the rollers");
    click(&mut harness, "Keep run held");
    click(&mut harness, "1x");
    harness.run_steps(6);
    click(&mut harness, "Arm [A]");
    until(&mut harness, |frame| frame.sample.phase == Phase::Armed);
    click(&mut harness, "Keep run held");
    until(&mut harness, |frame| frame.sample.phase == Phase::Laying);
    click(&mut harness, "Pause [P]");

    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name).display().to_string();
    let ticks = harness.state().feeding.lanes()[0].live().expect("a feeding").ticks();
    click(&mut harness, "Files");
    write(&mut harness, "Name without ending", &path("one"));
    for (button, end) in [
        ("Save log", "log"),
        ("Save scenario", "toml"),
        ("Save page", "html"),
        ("Save settings", "toml"),
    ] {
        click(&mut harness, button);
        assert!(says(&harness, "Done:") && says(&harness, end), "{button}");
    }
    write(&mut harness, "File", &path("one.log"));
    click(&mut harness, "Open log");
    assert!(says(&harness, &format!("{ticks} ticks replay bit for bit")));
    let slider = harness.get_by_role_and_label(Role::Slider, "Look back, seconds");
    slider.set_value_accesskit(stopped_s);
    harness.run_steps(2);
    assert!(says(&harness, "log one.log from the side: stopped: ground speed lost"));

    write(&mut harness, "File", &path("one.toml"));
    click(&mut harness, "Open scenario");
    assert!(says(&harness, "Opened \"Three bales on an invented farm\"."));
    assert!(harness.state().feeding.now_s() < 0.1, "a scenario begins at its beginning");
}

#[test]
fn looking_back_changes_nothing() {
    let mut harness = harness(demo(), SCREEN);
    click(&mut harness, "fastest");
    click(&mut harness, "Run [P]");
    until(&mut harness, |frame| frame.sample.time_s > 30.0);
    click(&mut harness, "Pause [P]");
    let now = harness.state().feeding.frame(0);
    let slider = harness.get_by_role_and_label(Role::Slider, "Look back, seconds");
    slider.set_value_accesskit(12.0);
    harness.run_steps(2);
    assert!((harness.state().feeding.frame(0).sample.time_s - 12.0).abs() < 0.11);
    assert!(says(&harness, "looking back"));
    click(&mut harness, "Back to now");
    assert_eq!(harness.state().feeding.frame(0), now);
    click(&mut harness, "Tick [T]");
    let ticked = harness.state().feeding.frame(0).sample.time_s - now.sample.time_s;
    assert!((ticked - 0.01).abs() < 1e-9, "a tick took {ticked} s");
}

#[test]
fn wrong_files_are_told_in_place_and_nothing_is_lost() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name).display().to_string();
    let put =
        |name: &str, bytes: &[u8]| std::fs::write(folder.path().join(name), bytes).expect(name);
    let mut harness = harness(demo(), SCREEN);
    click(&mut harness, "fastest");
    click(&mut harness, "Run [P]");
    until(&mut harness, |frame| frame.sample.time_s > 5.0);
    click(&mut harness, "Pause [P]");
    click(&mut harness, "Files");
    write(&mut harness, "Name without ending", &path("whole"));
    click(&mut harness, "Save log");
    let log = std::fs::read(folder.path().join("whole.log")).expect("a log");
    put("cut.log", &log[..log.len() / 2]);
    put("bent.log", &[&log[..400], &[!log[400]], &log[401..]].concat());
    put("wrong.toml", b"target_lb_per_ft = 900\n");
    put("bytes.toml", &[0xFF, 0xFE, 0x00]);
    let now = harness.state().feeding.frame(0);
    for (file, button, told) in [
        ("none.toml", "Open scenario", "there is no such file"),
        ("wrong.toml", "Open scenario", "line 1: `target_lb_per_ft` is 900"),
        ("wrong.toml", "Open settings", "unknown key"),
        ("wrong.toml", "Feed beside with settings", "unknown key"),
        ("bytes.toml", "Open scenario", "is not text"),
        ("", "Open scenario", "it is a folder"),
        ("cut.log", "Open log", "cut off in tick"),
        ("bent.log", "Open log", "damaged"),
        ("wrong.toml", "Open log", "not a log of strewn"),
    ] {
        write(&mut harness, "File", &path(file));
        click(&mut harness, button);
        assert!(says(&harness, "Not done:") && says(&harness, told), "{button} {file}");
        assert_eq!(harness.state().feeding.frame(0), now, "{button} {file} changed something");
    }
    for button in ["Save log", "Save scenario", "Save settings", "Save page", "Save picture"] {
        write(&mut harness, "Name without ending", &path("no/such/folder/one"));
        click(&mut harness, button);
        if button != "Save picture" {
            assert!(says(&harness, "cannot write"), "{button}");
        }
    }
    write(&mut harness, "Name without ending", &path("whole"));
    click(&mut harness, "Save log");
    assert!(says(&harness, "is there already; press again to replace it"));
    click(&mut harness, "Save log");
    assert!(says(&harness, "The log is in"));
    click(&mut harness, "Run [P]");
    until(&mut harness, |frame| frame.sample.time_s > 6.0);
}

#[test]
fn held_is_held_by_pointer_by_key_and_by_the_focused_button() {
    let mut harness = harness(window(""), SCREEN);
    let runs = |harness: &egui_kittest::Harness<'_, strewn_window::panels::Window>| {
        harness.state().feeding.grip.run
    };
    harness.key_down(Key::R);
    harness.run_steps(2);
    assert!(runs(&harness) && harness.state().feeding.grip.taken);
    harness.key_up(Key::R);
    harness.run_steps(2);
    assert!(!runs(&harness));
    let middle = harness.get_by_label("Hold to run [R]").rect().center();
    harness.drag_at(middle);
    harness.run_steps(3);
    assert!(runs(&harness));
    harness.drop_at(middle);
    harness.run_steps(2);
    assert!(!runs(&harness));
    harness.get_by_label("Hold to run [R]").focus();
    harness.run_steps(2);
    harness.key_down(Key::Space);
    harness.run_steps(2);
    assert!(runs(&harness));
    harness.key_up(Key::Space);
    harness.run_steps(2);
    assert!(!runs(&harness));
    // Whoever writes does not work switches.
    click(&mut harness, "Files");
    harness.get_by_role_and_label(Role::TextInput, "File").focus();
    harness.run_steps(2);
    harness.key_down(Key::R);
    harness.run_steps(2);
    assert!(!runs(&harness));
}

/// Names of everything that acts, as they stand.
fn acting(harness: &egui_kittest::Harness<'_, strewn_window::panels::Window>) -> Vec<String> {
    let acts = [
        Role::Button,
        Role::CheckBox,
        Role::Slider,
        Role::TextInput,
        Role::ComboBox,
        Role::SpinButton,
    ];
    let nodes = harness.root().children_recursive();
    let nodes = nodes.map(|node| node.accesskit_node());
    nodes
        .filter(|node| acts.contains(&node.role()) && !node.is_disabled())
        .map(|node| node.label().or(node.value()).unwrap_or_default())
        .collect()
}

#[test]
fn every_control_can_be_walked_to_by_keyboard() {
    for side in [Side::Wires, Side::Settings, Side::World, Side::Files] {
        let mut window = demo();
        window.desk.side = side;
        let mut harness = harness(window, SCREEN);
        harness.run_steps(3);
        let controls = acting(&harness).len();
        assert!(controls > 20, "{side:?} has {controls} controls");
        let mut walked = std::collections::BTreeSet::new();
        for _ in 0..controls + 30 {
            harness.key_press(Key::Tab);
            harness.run_steps(2);
            let nodes = harness.root().children_recursive();
            let focused = nodes.map(|node| node.accesskit_node()).find(|node| node.is_focused());
            walked.extend(focused.map(|node| format!("{:?}", node.id())));
        }
        assert!(walked.len() >= controls, "{side:?}: {} of {controls}", walked.len());
    }
}

#[test]
fn nothing_is_cut_off_at_the_sides() {
    let sides = [
        Side::Scene,
        Side::Traces,
        Side::Cab,
        Side::Wires,
        Side::Settings,
        Side::World,
        Side::Files,
    ];
    for (size, sides) in [(SCREEN, &sides[3..]), (HALF, &sides[..])] {
        for side in sides {
            let mut window = demo();
            window.desk.side = *side;
            let mut harness = harness(window, size);
            harness.run_steps(3);
            for node in harness.root().children_recursive() {
                let inner = node.accesskit_node();
                let wide =
                    matches!(inner.role(), Role::Window | Role::GenericContainer | Role::Unknown);
                let Some(name) = inner.label().or(inner.value()).filter(|_| !wide) else {
                    continue;
                };
                let rect = node.rect();
                assert!(
                    rect.left() >= -1.0 && rect.right() <= size[0] + 1.0,
                    "{side:?} at {size:?}: \"{name}\" lies at {rect:?}"
                );
            }
        }
    }
}
