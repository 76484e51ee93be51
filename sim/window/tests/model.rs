//! The model without a window.

use std::path::Path;
use strewn::bench::scenario::Scenario;
use strewn::faults::{Kind, Wire};
use strewn::rivals::Law;
use strewn_controller::safety::{Condition, Phase};
use strewn_window::model::{Against, FASTEST, Feeding, Frame, Goal, Job, Tone, WORLD};

/// The smallest and lightest bale that a scenario takes.
const SMALL: &str = "[[ticket]]\ndiameter_ft = 3\nwidth_ft = 3\nweight_lb = 200\n";

fn feeding(text: &str) -> Feeding {
    Feeding::new(Job::parse(text, None).expect("a scenario"), 1).expect("a feeding")
}

/// Lets time run until it stands by itself or a moment is as wanted.
fn run(feeding: &mut Feeding, is: impl Fn(&Frame) -> bool) {
    feeding.clock.pace = FASTEST;
    feeding.clock.running = true;
    while feeding.clock.running && !is(&feeding.frame(0)) {
        // One look is enough: time stops between two of them, not within.
        feeding.advance(0.01, &mut || false);
    }
}

#[test]
fn both_lanes_feed_the_same_bales() {
    let mut feeding = feeding(Scenario::DEMO);
    feeding.compare(Against::Rival(Law::SetByHand)).unwrap();
    run(&mut feeding, |_| false);
    assert!(feeding.is_over());
    let [own, beside] = feeding.lanes() else { panic!("two lanes") };
    assert_eq!(own.bales().len(), 3);
    for (own, beside) in own.bales().iter().zip(beside.bales()) {
        assert_eq!((&own.name, own.mass_kg), (&beside.name, beside.mass_kg));
    }
    assert_ne!(own.ground_kg(), beside.ground_kg());
    let clumps: usize = beside.bales().iter().map(|bale| bale.clumps.len()).sum();
    assert!(beside.clumps().len() >= clumps, "clumps of every bale are kept");
}

#[test]
fn time_goes_to_the_core_and_stands_there() {
    let mut feeding = feeding(Scenario::DEMO);
    feeding.clock.run_to(Goal::Core);
    while feeding.clock.running {
        feeding.advance(0.0, &mut || true);
    }
    let sample = feeding.frame(0).sample;
    assert!(sample.core_near && sample.phase == Phase::Laying);
    assert_eq!(
        feeding.job.scenario.bales[usize::from(feeding.frame(0).bale.unwrap())].name,
        "dense-core bale"
    );
}

#[test]
fn the_same_acts_give_the_same_moments() {
    let acts = || {
        let mut feeding = feeding(Scenario::DEMO);
        run(&mut feeding, |frame| frame.sample.time_s > 30.0);
        feeding.plug(Wire::Pressure, Kind::Noise, true);
        let hysteresis = WORLD.iter().find(|knob| knob.key == "hysteresis_percent").unwrap();
        feeding.set_world(hysteresis, 9.0);
        run(&mut feeding, |frame| frame.sample.time_s > 45.0);
        feeding.frame(0)
    };
    let (once, again) = (acts(), acts());
    assert_eq!(format!("{once:?}"), format!("{again:?}"));
}

#[test]
fn a_plug_stops_both_lanes_and_is_mended() {
    let mut feeding = feeding(Scenario::DEMO);
    feeding.compare(Against::AsGiven).unwrap();
    run(&mut feeding, |frame| frame.sample.time_s > 20.0);
    feeding.plug(Wire::StopA, Kind::Off, true);
    run(&mut feeding, |frame| frame.sample.time_s > 21.0);
    for lane in 0..2 {
        let sample = feeding.frame(lane).sample;
        assert_eq!(
            (sample.phase, sample.cause),
            (Phase::Latched, Some(Condition::StopSwitchBroken))
        );
    }
    feeding.mend_all();
    assert!(feeding.plugs().is_empty());
    // A switch whose channels contradicted each other is believed again once both have opened.
    feeding.take_switches();
    feeding.grip.stopped = true;
    run(&mut feeding, |frame| frame.sample.time_s > 23.0);
    feeding.give_back_switches();
    run(&mut feeding, |frame| frame.sample.phase == Phase::Laying);
    assert_eq!(feeding.frame(1).sample.phase, Phase::Laying);
}

#[test]
fn a_setting_is_moved_while_it_feeds_saved_and_opened_beside() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("slow.toml");
    let mut feeding = feeding(Scenario::DEMO);
    run(&mut feeding, |frame| frame.sample.time_s > 20.0);
    let most = |feeding: &Feeding| {
        let knobs = feeding.knobs();
        *knobs.iter().find(|knob| knob.field.name == "most_rate_milliturns_s").unwrap()
    };
    feeding.set_setting(&most(&feeding), 900);
    assert_eq!(most(&feeding).value, 900);
    run(&mut feeding, |frame| frame.sample.time_s > 25.0);
    let turns_s = feeding.frame(0).sample.roller_turns_s;
    assert!(turns_s < 1.0, "{turns_s} turns/s although 0.9 are the most");
    feeding.save_settings(&path);
    feeding.open_rival(&path);
    assert_eq!(feeding.note.as_ref().unwrap().tone, Tone::Good, "{:?}", feeding.note);
    assert!(matches!(feeding.against(), Against::File(..)));
    assert_eq!(feeding.lanes().len(), 2);
}

#[test]
fn the_target_is_told_to_the_controller_and_kept_with_the_row() {
    let mut feeding = feeding(Scenario::DEMO);
    run(&mut feeding, |frame| frame.sample.time_s > 20.0);
    let here_m = feeding.frame(0).sample.odometer_m;
    let before = feeding.lanes()[0].target_at(here_m - 1.0);
    feeding.set_world(&WORLD[0], 6.0);
    run(&mut feeding, |frame| frame.sample.time_s > 30.0);
    let after = feeding.lanes()[0].target_at(feeding.frame(0).sample.odometer_m);
    assert!((after / before - 2.0).abs() < 1e-9);
    let laid = feeding.frame(0).laid_kg_m / after;
    assert!((0.7..1.3).contains(&laid), "{laid} of the new target after ten seconds");
}

#[test]
fn by_hand_a_whole_bale_is_fed() {
    let mut feeding = feeding(SMALL);
    feeding.take_switches();
    assert_eq!(feeding.next_bale(), Some(0));
    feeding.grip.press_new_bale();
    run(&mut feeding, |frame| frame.sample.time_s > 2.0);
    assert_eq!(feeding.frame(0).bale, Some(0));
    feeding.grip.wanted_m_s = 1.3;
    run(&mut feeding, |frame| frame.sample.time_s > 6.0);
    feeding.grip.press_arm();
    run(&mut feeding, |frame| frame.sample.phase == Phase::Armed);
    feeding.grip.run_kept = true;
    run(&mut feeding, |frame| frame.sample.phase == Phase::Laying);
    run(&mut feeding, |frame| frame.sample.left_kg < 0.5 || frame.sample.time_s > 200.0);
    assert!(feeding.frame(0).sample.left_kg < 0.5);
    feeding.give_back_switches();
    run(&mut feeding, |_| false);
    assert!(feeding.is_over(), "the driver finds nothing left to do");
}

#[test]
fn a_log_of_another_feeding_is_looked_through() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("run.log");
    let mut feeding = feeding(Scenario::DEMO);
    run(&mut feeding, |frame| frame.sample.time_s > 40.0);
    let live = feeding.frame(0);
    feeding.save_log(&path);
    feeding.open_log(&path);
    assert!(feeding.is_log());
    feeding.look_at(Some(f64::MAX));
    let recalled = feeding.frame(0);
    // A picture of now is one tick younger than the last moment kept.
    assert!((recalled.sample.time_s - live.sample.time_s).abs() < 0.11);
    assert_eq!(recalled.sample.phase, live.sample.phase);
    assert!((recalled.sample.odometer_m - live.sample.odometer_m).abs() < 3.0);
    let told = recalled.sample.pressure_pa / live.sample.pressure_pa;
    assert!((0.9..1.1).contains(&told), "{told} of the pressure");
    assert!(recalled.sample.left_kg.is_nan(), "a log holds no truth");
    feeding.save_page(Path::new("unused"));
    assert_eq!(feeding.note.as_ref().unwrap().tone, Tone::Bad);
    feeding.start().unwrap();
    assert!(!feeding.is_log());
}
