//! Populations: every draw is a scenario that can be fed, shares come out as asked, nonsense is refused.

use proptest::prelude::*;
use strewn::bench::scenario::Scenario;
use strewn::bench::{MachineFile, runs};
use strewn::study::campaign::Plan;
use strewn::study::population::Population;
use strewn::study::statistics::share_interval;
use strewn::world::spec::{BaleSpec, Condition, Hay, Profile, Winding};

fn usual() -> Population {
    Population::parse(Population::USUAL).expect("the usual population is allowed")
}

fn scenario(population: &Population, seed: u64, lot: u32) -> Scenario {
    let text = population.lot(seed, lot).text;
    Scenario::parse(&text).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

/// Every limit at once: the heaviest and lightest hay, the largest and smallest bales.
const EXTREME: &str = "least_target_lb_per_ft = 0.5\nmost_target_lb_per_ft = 40\nbales_per_lot = 3\n\
    [core]\nleast_dense_ratio = 1\nleast_dense_radius_percent = 10\nmost_dense_radius_percent = 60\n\
    least_soft_ratio = 0.2\nmost_soft_ratio = 1\n\
    [hay]\nwrapped_percent = 50\nleast_wrapped_moisture_percent = 30\n\
    most_wrapped_moisture_percent = 70\n\
    [size]\nleast_diameter_ft = 3\nmost_diameter_ft = 7\nleast_width_ft = 3\nmost_width_ft = 6\n\
    [weight]\nleast_dry_lb_per_ft3 = 6\nmost_dry_lb_per_ft3 = 14\ndeviation_percent = 30\n\
    [drive]\nleast_speed_mph = 0.5\nmost_speed_mph = 10\nmost_speed_wander_percent = 30\n\
    least_engine_rpm = 800\nmost_engine_rpm = 2600\n\
    [rough]\nmost_off_centre_percent = 15\nmost_out_of_round_percent = 15\n\
    wet_bales_percent = 100\nmost_wet_percent = 50\nfrozen_bales_percent = 100\n\
    most_frozen_percent = 50\nwrap_bales_percent = 100\nagainst_bales_percent = 50\n\
    most_hill_percent = 20\nmost_mud_percent = 100\ngeared_percent = 50\n";

proptest! {
    #[test]
    fn every_lot_can_be_fed(seed: u64, lot in 0u32..100_000) {
        for population in [usual(), Population::parse(EXTREME).expect("allowed")] {
            let scenario = scenario(&population, seed, lot / population.bales_per_lot);
            prop_assert_eq!(scenario.bales.len(), population.bales_per_lot as usize);
            // No contender: only whether the controller can be set to it.
            prop_assert!(runs(&scenario, &MachineFile::default(), &[], seed, false).is_ok());
        }
    }
}

#[test]
fn a_file_without_keys_is_the_usual_population() {
    let name_alone = format!("name = \"{}\"\n", usual().name);
    let population = Population::parse(&name_alone).expect("every other key may be left out");
    assert_eq!(population, usual());
}

#[test]
fn shares_come_out_as_asked() {
    const LOTS: u32 = 4_000;
    let population = usual();
    let (mut dense, mut wrapped, mut weigh) = (0, 0, 0);
    for lot in 0..LOTS {
        let scenario = scenario(&population, 1, lot);
        let spec = &scenario.bales[0].spec;
        if let Profile::DenseCore { ratio, .. } = spec.profile {
            dense += 1;
            assert!((1.5..=4.0).contains(&ratio), "{ratio}");
        }
        wrapped += u64::from(spec.hay == Hay::Wrapped);
        weigh += u64::from(scenario.sensors.weigh);
    }
    for (seen, asked) in [(dense, 0.3), (wrapped, 0.25), (weigh, 0.7)] {
        // One chance in a million that a right program fails.
        let (low, high) = share_interval(seen, LOTS.into(), 1.0 - 1e-6);
        assert!((low..=high).contains(&asked), "{seen} of {LOTS}, asked {asked}");
    }
}

#[test]
fn a_rough_winter_has_its_flaws_and_changes_nothing_else() {
    const LOTS: u32 = 2_000;
    let rough = "[rough]\nmost_out_of_round_percent = 10\nwet_bales_percent = 20\n\
        wrap_bales_percent = 10\nagainst_bales_percent = 30\ngeared_percent = 40\n\
        most_hill_percent = 8\n";
    let rough = Population::parse(rough).expect("allowed");
    let (mut wet, mut wrap, mut against, mut geared) = (0, 0, 0, 0);
    for lot in 0..LOTS {
        let (smooth, found) = (scenario(&usual(), 1, lot), scenario(&rough, 1, lot));
        let spec = &found.bales[0].spec;
        let condition = spec.condition;
        assert!(condition.out_of_round <= 0.1 && condition.off_centre == 0.0);
        assert!(condition.wet_share <= 0.3 && condition.wrap_bands <= 3);
        wet += u64::from(condition.wet_share > 0.0);
        wrap += u64::from(condition.wrap_bands > 0);
        against += u64::from(condition.winding == Winding::Against);
        geared += u64::from(found.tractor.gear_m.is_some());
        assert_eq!(BaleSpec { condition: Condition::SOUND, ..spec.clone() }, smooth.bales[0].spec);
        assert_eq!(found.sensors, smooth.sensors);
    }
    for (seen, asked) in [(wet, 0.2), (wrap, 0.1), (against, 0.3), (geared, 0.4)] {
        let (low, high) = share_interval(seen, LOTS.into(), 1.0 - 1e-6);
        assert!((low..=high).contains(&asked), "{seen} of {LOTS}, asked {asked}");
    }
}

#[test]
fn a_kind_without_a_share_never_comes() {
    let only_dense = "[core]\neven_percent = 0\nsoft_percent = 0\ndense_percent = 1\n";
    let population = Population::parse(only_dense).expect("allowed");
    for lot in 0..300 {
        let profile = scenario(&population, 1, lot).bales[0].spec.profile;
        assert!(matches!(profile, Profile::DenseCore { .. }), "{profile:?}");
    }
}

#[track_caller]
fn refuses(text: &str, words: &[&str]) {
    let told = Population::parse(text).expect_err("it must be refused").to_string();
    for word in words {
        assert!(told.contains(word), "no {word:?} in: {told}");
    }
}

#[test]
fn nonsense_is_refused_by_line_and_name() {
    refuses(
        "bales_per_lots = 2\n",
        &["line 1", "`bales_per_lots`", "did you mean `bales_per_lot`?"],
    );
    refuses("bales_per_lot = 1.5\n", &["line 1", "1.5", "a whole number, 1 to 50"]);
    refuses("bales_per_lot = 51\n", &["51", "1 to 50"]);
    refuses("[core]\nevn_percent = 4\n", &["line 2", "did you mean `even_percent`?"]);
    refuses("[core]\ndense_percent = 101\n", &["line 2", "in [core]", "0 to 100"]);
    refuses(
        "[drive]\nleast_speed_mph = 5\n",
        &["line 2", "`least_speed_mph`", "is 5", "`most_speed_mph`, which is 4"],
    );
    refuses("[drive]\nmost_speed_mph = 1\n", &["line 2", "`least_speed_mph`, which is 2, to 10"]);
    refuses(
        "[core]\neven_percent = 0\nsoft_percent = 0\ndense_percent = 0\n",
        &["line 2", "above 0 in one of"],
    );
    refuses("[hay\n", &["line 1"]);
}

#[test]
fn a_number_of_bales_must_make_whole_lots() {
    let plan = |bales| {
        let population = Population::parse("bales_per_lot = 4\n").expect("allowed");
        Plan::new(population, "", 1, bales)
    };
    assert!(plan(4).is_ok() && plan(100_000).is_ok());
    for bales in [0, 2, 5, 100_004] {
        let told = plan(bales).expect_err("not whole lots").to_string();
        assert!(told.contains("1 to 100000, in whole lots of 4"), "{told}");
    }
}
