//! A scenario file: what it means, what may be left out, what is refused.

use proptest::prelude::*;
use strewn::bench::scenario::{Core, Leg, Scenario};
use strewn::units::{KG_M_PER_LB_FT, KG_PER_LB, M_PER_FT, M_S_PER_MPH};
use strewn::world::spec::{Hay, Profile};

fn parse(text: &str) -> Scenario {
    Scenario::parse(text).unwrap()
}

fn refusal(text: &str) -> String {
    Scenario::parse(text).unwrap_err().to_string()
}

#[test]
fn the_demonstration_is_what_it_says() {
    let demo = parse(Scenario::DEMO);
    assert!((demo.target_kg_m / KG_M_PER_LB_FT - 3.0).abs() < 1e-12);
    let profiles: Vec<_> = demo.bales.iter().map(|bale| bale.spec.profile).collect();
    let soft = Profile::SoftCore { centre: 0.5, exponent: 1.0 };
    let dense = Profile::DenseCore { ratio: 3.0, radius: 0.3 };
    assert_eq!(profiles, [Profile::Even, soft, dense]);
    let numbers: Vec<_> = demo.bales.iter().map(|bale| bale.ticket).collect();
    assert_eq!(numbers, [0, 1, 2]);
    assert_eq!(demo.drive.first().map(|leg| leg.feed), Some(false));
    assert_eq!(demo.drive.iter().filter(|leg| leg.speed_m_s == 0.0).count(), 3);
    let mass_kg: f64 = demo.bales.iter().map(|bale| bale.spec.mass_kg).sum();
    let laid_kg: f64 =
        demo.drive.iter().filter(|leg| leg.feed).map(|leg| laid_kg(leg, &demo)).sum();
    assert!(laid_kg > 1.1 * mass_kg, "the drive is long enough, with pauses between bales");
}

/// Hay that a leg takes at the target.
fn laid_kg(leg: &Leg, scenario: &Scenario) -> f64 {
    leg.speed_m_s * leg.duration_s * scenario.target_kg_m
}

#[test]
fn the_demonstration_shows_the_usual_values() {
    let (demo, usual) = (parse(Scenario::DEMO), parse(""));
    for (shown, usual) in numbers(&demo).into_iter().zip(numbers(&usual)) {
        assert!((shown / usual - 1.0).abs() < 0.005, "{shown} is shown, {usual} is usual");
    }
    assert_eq!(demo.sensors, usual.sensors);
    assert_eq!((demo.heed, demo.between_bales_s), (usual.heed, usual.between_bales_s));
}

fn numbers(scenario: &Scenario) -> [f64; 11] {
    let (machine, tractor) = (&scenario.machine, &scenario.tractor);
    [
        machine.roller_diameter_m,
        machine.displacement_m3,
        machine.remote_flow_m3_s,
        machine.relief_pa,
        machine.dead_band,
        machine.hysteresis,
        machine.valve_lag_s,
        machine.fall_s,
        tractor.engine_turns_s,
        tractor.wander,
        tractor.acceleration_m_s2,
    ]
}

#[test]
fn a_short_file_is_enough() {
    let scenario = parse("target_lb_per_ft = 5\n[[ticket]]\nweight_lb = 1200\n");
    assert_eq!(scenario.bales.len(), 1);
    assert!((scenario.bales[0].spec.mass_kg - 1_200.0 * KG_PER_LB).abs() < 1e-9);
    let drive_kg = laid_kg(&scenario.drive[0], &scenario);
    assert!(drive_kg > scenario.bales[0].spec.mass_kg);
}

#[test]
fn a_bale_may_differ_from_its_ticket() {
    let scenario = parse(
        "[[ticket]]\nname = \"a\"\nweight_lb = 1100\n[[ticket]]\nname = \"b\"\nhay = \"wrapped\"\n\
         [[bale]]\nticket = \"b\"\n[[bale]]\nticket = \"a\"\nweight_lb = 900\ncore = \"dense\"\n",
    );
    let [wrapped, lighter] = &scenario.bales[..] else { panic!("two bales") };
    assert_eq!((wrapped.ticket, wrapped.spec.hay, wrapped.spec.moisture), (1, Hay::Wrapped, 0.5));
    assert!((lighter.spec.mass_kg - 900.0 * KG_PER_LB).abs() < 1e-9);
    assert_eq!(lighter.spec.profile, Core::Dense.usual_profile());
    assert_eq!(scenario.tickets[0].core, Core::Even, "the ticket does not know");
}

/// Typical weights as fed, diameter and length in ft. Source: Alberta Agriculture, Bale moisture,
/// Table 1, adapted from Collins, University of Kentucky, 2004. A quarter either way, since crops and
/// balers differ by as much.
#[test]
fn the_usual_weight_is_near_published_ones() {
    for (diameter, width, pounds) in
        [(4, 4, 500.0), (4, 5, 850.0), (5, 4, 1_000.0), (5, 5, 1_300.0), (6, 5, 1_900.0)]
    {
        let text = format!("[[ticket]]\ndiameter_ft = {diameter}\nwidth_ft = {width}");
        let weight_lb = parse(&text).tickets[0].mass_kg / KG_PER_LB;
        assert!((weight_lb / pounds - 1.0).abs() < 0.25, "{diameter} x {width}: {weight_lb}");
    }
}

#[test]
fn what_is_wrong_is_told_with_its_place() {
    let cases = [
        (
            "name = \"a\"\n[[ticket]]\nweigth_lb = 9",
            "line 3: unknown key `weigth_lb` in [[ticket]] 1; did you mean `weight_lb`?",
        ),
        ("colour = 3", "line 1: unknown key `colour`; known keys are `name`, `target_lb_per_ft`"),
        ("\ntarget_lb_per_ft = 0", "line 2: `target_lb_per_ft` is 0; allowed is 0.5 to 40"),
        ("target_lb_per_ft = 500", "`target_lb_per_ft` is 500; allowed is 0.5 to 40"),
        ("target_lb_per_ft = nan", "is nan; allowed is 0.5 to 40"),
        ("target_lb_per_ft = \"3\"", "is a text; allowed is a number, 0.5 to 40"),
        ("heed = \"soon\"", "is \"soon\"; allowed is \"promptly\", \"late\", \"never\""),
        ("[sensors]\nweigh = 1", "line 2: `weigh` in [sensors] is 1; allowed is true or false"),
        ("ticket = 3", "`ticket` is a number; allowed is 1 to 4 tables [[ticket]]"),
        (
            "[[ticket]]\nweight_lb = 210",
            "a density of 2.7 lb/ft3; allowed is 5 to 30 lb/ft3, at this size 393 to 2356",
        ),
        (
            "[[ticket]]\nname = \"a\"\n[[ticket]]\nname = \"a\"",
            "line 4: `name` in [[ticket]] 2 is \"a\" once more",
        ),
        ("[[bale]]\nticket = \"b\"", "`ticket` in [[bale]] 1 is \"b\"; allowed is \"ticket 1\""),
        ("[[bale]]\ncore_ratio = 2", "allowed is no value with an even core"),
        ("[[bale]]\ncore = \"soft\"\ncore_ratio = 2", "is 2; allowed is 0.2 to 1 with a soft core"),
        (
            "[[bale]]\ncore = \"soft\"\ncore_radius_percent = 20",
            "allowed is a value with a dense core only",
        ),
        (
            "[[drive]]\nfor_s = 7000\n[[drive]]\nfor_s = 201",
            "line 4: `for_s` in [[drive]] 2 is 201, in all 7201",
        ),
        ("name = \"\"", "allowed is a text of 1 to 60 characters"),
        ("name = 3 4", "line 1: "),
    ];
    for (text, expected) in cases {
        let told = refusal(text);
        assert!(told.contains(expected), "{text:?} gave: {told}");
        assert!(!told.contains('\n'), "one sentence: {told}");
    }
}

/// Each key of the demonstration with a letter lost leads back to the key.
#[test]
fn a_misspelt_key_is_recognised() {
    let mut tried = 0;
    for (index, line) in Scenario::DEMO.lines().enumerate() {
        let Some((key, value)) = line.split_once(" = ") else { continue };
        if key.starts_with('#') {
            continue;
        }
        let misspelt = format!("{}{}", &key[..1], &key[2..]);
        let mut lines: Vec<_> = Scenario::DEMO.lines().map(str::to_owned).collect();
        lines[index] = format!("{misspelt} = {value}");
        let told = refusal(&lines.join("\n"));
        let hint = format!("did you mean `{key}`?");
        // A bale whose ticket has lost its name or core is refused for that.
        let later = told.contains("[[bale]]") && matches!(key, "name" | "core");
        assert!(told.contains(&hint) || later, "{misspelt}: {told}");
        tried += 1;
    }
    assert!(tried > 40);
}

proptest! {
    #[test]
    fn a_size_is_taken_exactly_within_its_range(diameter_ft in -10.0..110.0f64) {
        let text = format!("[[ticket]]\ndiameter_ft = {diameter_ft:?}");
        match Scenario::parse(&text) {
            Ok(scenario) => {
                prop_assert!((3.0..=7.0).contains(&diameter_ft));
                prop_assert_eq!(scenario.bales[0].spec.diameter_m, diameter_ft * M_PER_FT);
            }
            Err(error) => {
                prop_assert!(!(3.0..=7.0).contains(&diameter_ft));
                prop_assert_eq!(error.line, Some(2));
            }
        }
    }

    #[test]
    fn a_speed_is_taken_exactly_within_its_range(speed_mph in -1.0..12.0f64) {
        let text = format!("[[drive]]\nspeed_mph = {speed_mph:?}");
        match Scenario::parse(&text) {
            Ok(scenario) => prop_assert_eq!(scenario.drive[0].speed_m_s, speed_mph * M_S_PER_MPH),
            Err(_) => prop_assert!(!(0.0..=10.0).contains(&speed_mph)),
        }
    }

    #[test]
    fn any_text_is_read_or_refused_in_one_sentence(text in "[ -~\n\u{e9}]{0,120}") {
        if let Err(error) = Scenario::parse(&text) {
            prop_assert!(!error.to_string().contains('\n'));
        }
    }
}
