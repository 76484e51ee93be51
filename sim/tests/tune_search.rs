//! The search for settings: bounds, the method, what is remembered, the front.

use proptest::prelude::*;
use std::cell::{Cell, RefCell};
use strewn::study::population::Population;
use strewn::tune::front::{betters, front};
use strewn::tune::knobs::Knobs;
use strewn::tune::progress::{Progress, ProgressError};
use strewn::tune::search::{CovarianceSearch, Search, Step};
use strewn::tune::trial::Objectives;
use strewn::tune::{TRAINING, Watch, tune};

fn worth(unevenness: f64) -> Objectives {
    Objectives { unevenness, clumps: 0.0, time: 1.0 }
}

proptest! {
    /// Wherever a search looks, every setting is within its declared range.
    #[test]
    fn any_place_is_a_machine_file(place in proptest::collection::vec(-50.0..50.0f64, 64)) {
        let knobs = Knobs::default();
        let values = knobs.values(&place);
        prop_assert_eq!(values.len(), knobs.0.len());
        for (knob, value) in knobs.0.iter().zip(&values) {
            prop_assert!((knob.field.low..=knob.field.high).contains(value));
        }
        let file = knobs.machine(&values).unwrap();
        for (_, field, value) in file.values() {
            let place = knobs.0.iter().position(|knob| knob.field.name == field.name).unwrap();
            prop_assert_eq!(values[place], value);
        }
    }

    /// What nothing betters is on the front, and nothing else is.
    #[test]
    fn the_front_is_what_nothing_betters(all in proptest::collection::vec((0u8..5, 0u8..5, 0u8..5), 1..40)) {
        let tried: Vec<_> = all
            .iter()
            .map(|(unevenness, clumps, time)| Objectives {
                unevenness: f64::from(*unevenness),
                clumps: f64::from(*clumps),
                time: f64::from(*time),
            })
            .collect();
        let places = front(&tried);
        for (place, objectives) in tried.iter().enumerate() {
            let bettered = tried.iter().any(|other| betters(other, objectives));
            let among = places.iter().any(|member| tried[*member] == *objectives);
            prop_assert_eq!(among, !bettered);
            prop_assert!(!bettered || !places.contains(&place));
        }
    }
}

#[test]
fn the_search_begins_at_the_usual_values_and_leaves_the_machines_own_alone() {
    let knobs = Knobs::default();
    let near = |(value, usual): (i32, i32)| (value - usual).abs() <= 1 + usual / 1_000;
    assert!(knobs.values(&knobs.start()).into_iter().zip(knobs.usual()).all(near));
    assert!(knobs.0.len() >= 10);
    for measured in ["target_g_per_m", "fall_ms", "dead_band_permille", "gauge_axis_mm"] {
        assert!(knobs.0.iter().all(|knob| knob.field.name != measured), "{measured}");
    }
    let file = knobs.machine_file(&knobs.usual());
    assert!(!file.contains(" = "), "{file}");
}

#[test]
fn the_training_population_is_not_the_evaluations() {
    let training = Population::parse(TRAINING).unwrap();
    let usual = Population::parse(Population::USUAL).unwrap();
    assert_ne!(training.lot(1, 0), usual.lot(1, 0));
}

/// Rosenbrock's valley, 1960: least at 1, 1; hard for methods that do not learn which numbers go together.
#[test]
fn the_search_finds_the_bottom_of_a_bent_valley_and_the_same_way_each_time() {
    let valley = |place: &[f64]| {
        let [x, y] = [place[0], place[1]];
        (1.0 - x) * (1.0 - x) + 100.0 * (y - x * x) * (y - x * x)
    };
    let look = || {
        let mut seen: Vec<Vec<f64>> = Vec::new();
        let search = CovarianceSearch { seed: 3, spread: 0.3 };
        search.minimise(&[-1.2, 1.0], &mut |place| {
            seen.push(place.to_vec());
            if seen.len() > 900 { Step::End } else { Step::Value(valley(place)) }
        });
        seen
    };
    let seen = look();
    assert_eq!(seen[0], [-1.2, 1.0]);
    assert!(seen.len() > 100 && seen.len() <= 901, "{}", seen.len());
    let best = seen.iter().min_by(|a, b| valley(a).total_cmp(&valley(b))).unwrap();
    assert!(best.iter().all(|value| (value - 1.0).abs() < 1e-3), "{best:?}");
    assert_eq!(seen, look());
}

#[test]
fn a_search_of_nothing_or_that_nobody_answers_ends() {
    let search = CovarianceSearch { seed: 1, spread: 0.1 };
    search.minimise(&[], &mut |_| Step::Value(0.0));
    let asked = Cell::new(0);
    search.minimise(&[0.5, 0.5], &mut |_| {
        asked.set(asked.get() + 1);
        Step::End
    });
    assert_eq!(asked.get(), 1);
}

/// A made-up worth with its best away from the usual values.
fn made_up(values: &[i32]) -> Objectives {
    let knobs = Knobs::default();
    let error = |(place, value): (usize, &i32)| {
        let field = knobs.0[place].field;
        let share = f64::from(*value - field.low) / f64::from(field.high - field.low);
        (share - 0.4) * (share - 0.4)
    };
    worth(1.0 + values.iter().enumerate().map(error).sum::<f64>())
}

/// Runs a made-up search; gives what it knows at its end and how often settings were tried out.
fn searched(progress: Progress, trials: usize, breaks_off: usize) -> (Progress, usize, bool) {
    let (mut progress, tried) = (progress, Cell::new(0));
    let kept = RefCell::new(0);
    let try_out = |values: &[i32]| {
        tried.set(tried.get() + 1);
        Some(made_up(values))
    };
    let mut watch =
        Watch { trial: &mut |done, _| done < breaks_off, keep: &mut |_| *kept.borrow_mut() += 1 };
    let search = CovarianceSearch { seed: 5, spread: 0.1 };
    let all = tune(&Knobs::default(), &search, trials, &try_out, &mut progress, &mut watch);
    assert!(*kept.borrow() > 0);
    (progress, tried.get(), all)
}

#[test]
fn a_search_that_is_broken_off_and_gone_on_with_ends_as_if_it_had_not_been() {
    let (whole, tried, all) = searched(Progress::new("x"), 120, usize::MAX);
    assert!(all && tried == whole.count());
    assert!(whole.best().unwrap().1.merit() < made_up(&Knobs::default().usual()).merit());
    let (part, _, all) = searched(Progress::new("x"), 120, 47);
    assert!(!all && part.count() <= 47);
    let mut resumed = Progress::new("x");
    resumed.resume(&part.write().unwrap()).unwrap();
    let (resumed, tried, all) = searched(resumed, 120, usize::MAX);
    assert!(all);
    assert_eq!(resumed, whole);
    assert_eq!(tried, whole.count() - part.count());
}

#[test]
fn what_is_kept_is_refused_when_damaged_or_of_another_search() {
    let (kept, ..) = searched(Progress::new("one"), 20, usize::MAX);
    let bytes = kept.write().unwrap();
    assert_eq!(Progress::new("other").resume(&bytes), Err(ProgressError::Other));
    for place in [0, bytes.len() / 2, bytes.len() - 1] {
        let mut damaged = bytes.clone();
        damaged[place] ^= 4;
        assert_eq!(Progress::new("one").resume(&damaged), Err(ProgressError::Damaged));
    }
    assert_eq!(Progress::new("one").resume(&bytes[..3]), Err(ProgressError::Damaged));
}
