//! The measuring stick: its file, its bales, its command, and that threads change nothing.

mod desk;

use desk::Desk;
use std::sync::atomic::{AtomicBool, Ordering};
use strewn::bench::MachineFile;
use strewn::study::evaluation::Evaluation;
use strewn::study::pool;
use strewn::study::population::Population;
use strewn::study::sensors::{Trial, feed, tasks};
use strewn::study::standing::Standing;

/// Small bales laid thick: a few seconds each.
const SMALL: &str = "name = \"small\"\nleast_target_lb_per_ft = 15\nmost_target_lb_per_ft = 25\n\
    [size]\nleast_diameter_ft = 3\nmost_diameter_ft = 3\nleast_width_ft = 3\nmost_width_ft = 3\n";

fn built_in() -> Evaluation {
    Evaluation::parse(Evaluation::TEXT).unwrap()
}

fn small(bales: u32) -> Evaluation {
    Evaluation { population: Population::parse(SMALL).unwrap(), bales, ..built_in() }
}

#[test]
fn the_evaluation_has_the_five_sets_and_keeps_its_seeds() {
    let evaluation = built_in();
    let fitted: Vec<_> = evaluation
        .sets
        .iter()
        .map(|set| (set.weigh, set.pressure, set.gauge, set.fed_before))
        .collect();
    let expected = [
        (true, true, true, 0),
        (true, true, false, 0),
        (true, false, false, 0),
        (false, true, true, 0),
        (false, false, false, 5),
    ];
    assert_eq!(fitted, expected);
    assert!(Evaluation::keeps(*evaluation.seeds.start()).unwrap());
    assert!(Evaluation::keeps(*evaluation.seeds.end()).unwrap());
    assert!(!Evaluation::keeps(evaluation.seeds.end() + 1).unwrap());
    // The bales are those of the usual population, spelled out.
    let usual = Population::parse(Population::USUAL).unwrap();
    assert_eq!(evaluation.population.lot(7, 3), usual.lot(7, 3));
}

#[test]
fn an_evaluation_that_is_wrong_is_refused_by_name() {
    let refusal = |text: &str| Evaluation::parse(text).unwrap_err().to_string();
    assert!(refusal("").contains("`evaluation` is missing"));
    let head = "[evaluation]\nfirst_seed = 5\nlast_seed = 4\nbales = 1\n";
    assert!(refusal(head).contains("`last_seed` in [evaluation] is 4; allowed is 5 to"));
    let head = "[evaluation]\nfirst_seed = 5\nlast_seed = 5\nbales = 1\n";
    assert!(refusal(head).contains("`set` is missing"));
    assert!(refusal(&format!("{head}[[set]]\nname = \"x\"\n")).contains("goal_even_and_soft"));
    let set = "[[set]]\ngoal_even_and_soft = 2\ngoal_dense = 2\n";
    assert!(Evaluation::parse(&format!("{head}{set}")).is_ok());
    assert!(refusal(&format!("{head}{set}weight = true\n")).contains("did you mean `weigh`?"));
    assert!(refusal(&format!("{head}{set}[core]\neven = 1\n")).contains("[core]"));
}

#[test]
fn results_keep_their_order_on_any_number_of_threads() {
    let stop = AtomicBool::new(false);
    let work = |piece: usize| piece * piece;
    let expected: Vec<_> = (0..50).map(work).collect();
    for threads in [0, 1, 3, 8] {
        let mut told = Vec::new();
        let results = pool::map(50, threads, &stop, &work, &mut |done| told.push(done));
        assert_eq!(results.as_ref(), Some(&expected));
        assert_eq!(told, Vec::from_iter(1..=50));
    }
    assert_eq!(pool::map(0, 2, &stop, &work, &mut |_| {}), Some(Vec::new()));
    let stopped = |piece: usize| stop.store(piece == 7, Ordering::Relaxed);
    assert_eq!(pool::map(50, 1, &stop, &stopped, &mut |_| {}), None);
}

fn all_trials(evaluation: &Evaluation) -> Vec<Trial> {
    let feed = |task| feed(evaluation, &MachineFile::default(), 3, task).unwrap();
    tasks(evaluation).into_iter().map(feed).collect()
}

#[test]
fn every_set_is_judged_on_every_bale_beside_the_same_rivals() {
    let evaluation = small(2);
    let trials = all_trials(&evaluation);
    let sets: Vec<Vec<_>> =
        trials.iter().map(|trial| trial.sets.iter().map(|(set, ..)| *set).collect()).collect();
    assert_eq!(sets, [vec![0, 1, 2, 3], vec![0, 1, 2, 3], vec![4], vec![4]]);
    for (_, outcome, known) in trials.iter().flat_map(|trial| &trial.sets) {
        assert!(outcome.laid_lb > 0.0 && outcome.unevenness_10_ft.is_finite());
        assert!(known.moments > 10 && known.inside <= known.moments);
        assert!(known.account_error.abs() < 0.5, "{known:?}");
    }
    let standing = Standing::new(&evaluation, &trials);
    for (number, set) in standing.sets.iter().enumerate() {
        // Bales that perfect knowledge came to count, no others.
        let fed = |trial: &&Trial| trial.sets.iter().any(|(set, ..)| *set == number);
        let told = |trial: &&Trial| trial.perfect.unevenness_10_ft.is_finite();
        let expected = trials.iter().filter(fed).filter(told).count();
        assert!(expected > 0);
        assert_eq!(set.kinds[0].bales + set.kinds[1].bales, expected);
        let dense: usize = set.clumps.iter().map(|clumps| clumps.bales).sum();
        assert_eq!(dense, set.kinds[1].bales);
    }
}

/// What the controller is compared with divides by itself to 1, and a clump that perfect knowledge makes
/// too is not counted among the reachable.
#[test]
fn quotients_and_clumps_are_those_of_their_bales() {
    let evaluation = small(3);
    let mut trials = all_trials(&evaluation);
    for trial in &mut trials {
        let (perfect, facts) = (trial.perfect.clone(), &mut trial.facts);
        facts.core = strewn::study::results::CoreKind::Dense;
        facts.heed = strewn::bench::scenario::Heed::Late;
        trial.sets.iter_mut().for_each(|(_, own, _)| own.clone_from(&perfect));
        trial.hand.unevenness_10_ft = 2.0 * perfect.unevenness_10_ft;
    }
    trials[0].perfect.clumps = 1;
    trials[0].sets.iter_mut().for_each(|(_, own, _)| own.clumps = 2);
    trials[1].perfect.clumps = 0;
    trials[2].perfect.clumps = 0;
    for place in [1, 2] {
        trials[place].sets.iter_mut().for_each(|(_, own, _)| own.clumps = 0);
    }
    let set = &Standing::new(&evaluation, &trials).sets[0];
    assert!((set.kinds[1].of_perfect.value - 1.0).abs() < 1e-6);
    assert!((set.kinds[1].of_hand.value - 0.5).abs() < 1e-6);
    let clumps = &set.clumps[0];
    assert!((clumps.controller.value - 1000.0 / 3.0).abs() < 1e-9);
    assert!((clumps.clumps - 2000.0 / 3.0).abs() < 1e-9);
    assert_eq!((clumps.bales, clumps.reachable.value), (3, 0.0));
}

#[test]
fn the_command_gives_the_same_files_on_one_and_on_eight_threads() {
    let desk = Desk::with("small.toml", SMALL);
    let common = ["many", "--sensors", "--population", "small.toml", "--bales", "3"];
    let with = |more: &[&'static str]| [&common[..], more].concat();
    let table = desk.told(&with(&["--threads", "1", "--out", "one"]));
    assert!(table.contains("weigh cells and pressure") && table.contains("small, seed 910000"));
    assert!(table.lines().all(|line| line.chars().count() <= 105), "{table}");
    desk.told(&with(&["--threads", "8", "--out", "eight"]));
    for file in ["sensors.html", "sensors.json"] {
        assert_eq!(
            desk.read(&format!("one/{file}")),
            desk.read(&format!("eight/{file}")),
            "{file}"
        );
    }
    let json: serde_json::Value = serde_json::from_str(&desk.read("one/sensors.json")).unwrap();
    assert_eq!(json["is_evaluation"], false);
    assert_eq!(json["sets"].as_array().unwrap().len(), 5);
}

#[test]
fn wrong_use_is_told() {
    let desk = Desk::new();
    desk.refuses(&["many", "--sensors", "--resume"], &["--resume", "--sensors"]);
    desk.refuses(&["many", "--sensors", "--bales", "0"], &["--bales is 0; allowed is 1 to 100000"]);
    desk.refuses(&["many", "--sensors", "--machine", "no.toml"], &["no.toml"]);
}
