//! A run that is stepped tick by tick is the run that `strewn feed` makes, and stays one that can be
//! replayed while it is meddled with.

use std::path::Path;
use strewn::bench::scenario::Scenario;
use strewn::bench::{Hands, Live, MachineFile, contest, replay};
use strewn::faults::{Kind, Wire};
use strewn::instruments::Panel;
use strewn::rivals::Law;
use strewn_controller::safety::{Condition, Phase};
use strewn_controller::wires::SwitchBits;

/// A light bale, soon fed.
const SHORT: &str = "[[ticket]]\nweight_lb = 400\n";

fn live(scenario: &Scenario, law: Law) -> Live {
    Live::new(scenario, law, &MachineFile::default(), 1).expect("it can be fed")
}

fn saved(live: &mut Live, folder: &Path) -> (Vec<u8>, Option<f64>) {
    let path = folder.join("run.log");
    let ends_s = live.save_log(&path).expect("a log");
    (std::fs::read(path).expect("a file"), ends_s)
}

#[test]
fn stepping_gives_the_bytes_of_a_contest() {
    let scenario = Scenario::parse(SHORT).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let mut run = live(&scenario, Law::Controller);
    let mut half = None;
    while !run.is_over() {
        run.tick(None);
        if run.ticks() == 3_000 {
            half = Some(saved(&mut run, folder.path()));
        }
    }
    let contest = contest(&scenario, None, 1, &mut |_| {}).unwrap();
    assert!(saved(&mut run, folder.path()) == (contest.log, None), "the logs differ");
    let (half, _) = half.expect("longer than half a minute");
    assert_eq!(replay(&half).unwrap().ticks, 3_000, "a log of the first part is whole");
    let rival = Law::SetByHand;
    let mut run = live(&scenario, rival);
    while !run.is_over() {
        run.tick(None);
    }
    let beside = contest.runs.iter().find(|run| run.contender == rival.name()).unwrap();
    let samples = beside.samples.clone();
    assert!(run.run(samples) == *beside, "the rival's runs differ");
}

#[test]
fn another_world_stays_in_the_log_and_other_settings_end_it() {
    let scenario = Scenario::parse(SHORT).unwrap();
    let sticky = Scenario::parse(&format!("{SHORT}[machine]\nhysteresis_percent = 12\n")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let mut run = live(&scenario, Law::Controller);
    (0..2_000).for_each(|_| run.tick(None));
    run.refit(&sticky, &MachineFile::default()).unwrap();
    (0..500).for_each(|_| run.tick(None));
    let (log, ends_s) = saved(&mut run, folder.path());
    assert_eq!((replay(&log).unwrap().ticks, ends_s), (2_500, None));

    let mut machine = MachineFile::default();
    let knobs = MachineFile::knobs(run.config());
    let hold = knobs.iter().find(|knob| knob.field.name == "hold_g").unwrap();
    machine.set(hold, 9_000);
    run.refit(&sticky, &machine).unwrap();
    assert_eq!(run.config().metering.hold_g, 9_000);
    (0..500).for_each(|_| run.tick(None));
    let (log, ends_s) = saved(&mut run, folder.path());
    assert_eq!((replay(&log).unwrap().ticks, ends_s), (2_500, Some(25.0)));
}

#[test]
fn hands_work_the_switches_and_give_them_back() {
    let scenario = Scenario::parse(SHORT).unwrap();
    let mut run = live(&scenario, Law::Controller);
    while run.outputs().view.phase != Phase::Laying {
        run.tick(None);
    }
    // Whoever stands up has let go of everything.
    let up = Hands { panel: Panel { switches: SwitchBits(0), ticket: 0 }, ..Hands::default() };
    (0..10).for_each(|_| run.tick(Some(up)));
    assert_eq!(run.outputs().view.phase, Phase::Latched);
    assert_eq!(run.outputs().view.cause, Some(Condition::StopSwitch));
    (0..3_000).for_each(|_| run.tick(None));
    assert_eq!(run.outputs().view.phase, Phase::Laying, "the driver has armed and held anew");
}

#[test]
fn a_plug_is_pulled_and_put_back() {
    let scenario = Scenario::parse(SHORT).unwrap();
    let mut run = live(&scenario, Law::Controller);
    while run.outputs().view.phase != Phase::Laying {
        run.tick(None);
    }
    (0..200).for_each(|_| run.tick(None));
    run.plug(&[(Wire::RollerA, Kind::Off), (Wire::RollerB, Kind::Off)]);
    let stops = (0..300).any(|_| {
        run.tick(None);
        run.outputs().view.phase == Phase::Latched
    });
    assert!(stops);
    run.plug(&[]);
    let lays_again = (0..6_000).any(|_| {
        run.tick(None);
        run.outputs().view.phase == Phase::Laying
    });
    assert!(lays_again, "the driver has armed and held anew");
}
