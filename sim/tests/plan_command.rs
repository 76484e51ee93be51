//! `strewn plan` as a person uses it: from a farm to a scenario that feeds, and wrong farms refused.

mod desk;

use desk::Desk;
use proptest::prelude::*;
use serde_json::Value;
use std::io::Cursor;
use strewn::bench::scenario::Scenario;
use strewn::plan::ask::{Answers, QUESTIONS, ask, file};
use strewn::plan::caution::cautions;
use strewn::plan::{Farm, make};

#[test]
fn the_example_is_planned_and_fed() {
    let desk = Desk::new();
    let example = desk.told(&["plan", "--example"]);
    assert_eq!(example, Farm::EXAMPLE);
    std::fs::write(desk.path("farm.toml"), &example).unwrap();
    let text = desk.told(&["plan", "farm.toml"]);
    assert!(text.contains("lb/ft") && text.contains("Mind") && text.contains("out/scenario.toml"));
    assert!(text.lines().all(|line| line.chars().count() <= 110), "{text}");
    let page = desk.read("out/plan.html");
    assert!(page.starts_with("<!DOCTYPE html>") && page.contains("Axle loads"));
    let plan: Value =
        serde_json::from_str(&desk.told(&["plan", "farm.toml", "--json", "--out", "again"]))
            .unwrap();
    let target = plan["target_lb_per_ft"].as_f64().unwrap();
    assert_eq!(desk.read("again/plan.html"), page);
    // What was planned is fed: the same target, the bales of one trip, all of them laid.
    let fed: Value =
        serde_json::from_str(&desk.told(&["feed", "out/scenario.toml", "--json", "--out", "fed"]))
            .unwrap();
    let controller = &fed["contenders"][0];
    assert_eq!(controller["bales"].as_array().unwrap().len(), 2);
    for bale in controller["bales"].as_array().unwrap() {
        assert!((bale["target_lb_ft"].as_f64().unwrap() - target).abs() < 1e-4);
    }
    let (loaded, laid) =
        (controller["whole"]["loaded_lb"].as_f64(), controller["whole"]["laid_lb"].as_f64());
    assert!(laid.unwrap() > 0.97 * loaded.unwrap(), "{laid:?} of {loaded:?} lb");
}

#[test]
fn options_stand_for_a_file_and_leave_one() {
    let desk = Desk::new();
    let options = ["plan", "--head", "100", "--weight-lb", "1300", "--class", "lactating cow"];
    let text = desk.told(&options);
    assert!(text.contains("100 lactating cows of 1,300 lb"), "{text}");
    // The file that it leaves gives the same plan.
    let again = desk.told(&["plan", "out/farm.toml", "--out", "again"]);
    let plan = |text: &str| text.split("Page with").next().map(str::to_owned);
    assert_eq!(plan(&text), plan(&again));
}

#[test]
fn wrong_farms() {
    let herd = "[[herd]]\nhead = 100\nweight_lb = 1300\n";
    let refuses = |text: &str, words: &[&str]| {
        let words = [&["farm.toml"], words].concat();
        Desk::with("farm.toml", text).refuses(&["plan", "farm.toml"], &words);
    };
    refuses("", &["`herd` is missing", "weight_lb"]);
    refuses(
        "[[herd]]\nhead = 10\n",
        &["line 1", "`weight_lb` in [[herd]] 1 is missing", "100 to 3000"],
    );
    refuses(
        "[[herd]]\nhead = 0\nweight_lb = 1300\n",
        &["line 2", "`head`", "is 0;", "1 to 100000"],
    );
    refuses("[[herd]]\nhead = nan\nweight_lb = 1300\n", &["`head`", "nan"]);
    refuses(&format!("{herd}class = \"goat\"\n"), &["line 4", "\"goat\"", "\"dry cow\""]);
    refuses(&format!("{herd}wieght_lb = 1\n"), &["did you mean `weight_lb`?"]);
    refuses(&format!("{herd}[hay]\ntdn_percent = 90\n"), &["`tdn_percent` in [hay]", "30 to 80"]);
    let bale = "[[bales]]\nweight_lb = 3000\nwidth_ft = 4\ndiameter_ft = 4\n";
    refuses(&format!("{herd}{bale}"), &["`weight_lb` in [[bales]] 1", "density"]);
    let looked_up = bale.replace("weight_lb", "table_weight_lb");
    refuses(&format!("{herd}{looked_up}"), &["`table_weight_lb` in [[bales]] 1", "density"]);
    refuses(
        &format!("{herd}[hitch]\nfront_axle_lb = 5000\n"),
        &["`rear_axle_lb` in [hitch] is missing"],
    );
    refuses(
        &format!("{herd}[place]\nsides = 1.5\n"),
        &["line 5", "`sides`", "a whole number, 1 to 2"],
    );
    refuses(
        &format!("{herd}[storage]\nmonths = 5\n"),
        &["`stored` in [storage] is missing", "barn"],
    );
    refuses(&format!("{herd}[storage]\nstored = \"shed\"\n"), &["line 5", "\"shed\"", "\"roof\""]);
    refuses(
        &format!("{herd}[storage]\nstored = \"roof\"\nmonths = 30\n"),
        &["`months`", "0 to 18"],
    );
    refuses("not a farm", &["line 1"]);
    let desk = Desk::with("farm.toml", [0xFF, 0xFE]);
    desk.refuses(&["plan", "farm.toml"], &["farm.toml", "not text"]);
    desk.refuses(&["plan", "none.toml"], &["none.toml", "no such file"]);
}

#[test]
fn plans_that_cannot_be_made() {
    let farm = |tail: &str| format!("[[herd]]\nhead = 100\nweight_lb = 1300\n{tail}");
    let desk = Desk::with("farm.toml", farm("[[bales]]\ncount = 2\n"));
    desk.refuses(&["plan", "farm.toml"], &["the bales at hand hold", "a feeding takes", "`count`"]);
    let desk = Desk::with("farm.toml", farm("[place]\nstrip_ft = 20\n"));
    desk.refuses(&["plan", "farm.toml"], &["lb/ft on a strip of 20 ft", "0.5 to 40"]);
}

#[test]
fn wrong_options() {
    let desk = Desk::with("farm.toml", Farm::EXAMPLE);
    // Without a terminal nobody is asked.
    desk.refuses(&["plan"], &["how many animals", "--example", "--head"]);
    desk.refuses(&["plan", "--head", "100"], &["how many animals"]);
    desk.refuses(&["plan", "--head", "many"], &["'many'", "--head"]);
    desk.refuses(&["plan", "--head", "-5", "--weight-lb", "1300"], &["-5"]);
    desk.refuses(
        &["plan", "--head", "100", "--weight-lb", "inf"],
        &["`weight_lb`", "inf", "100 to 3000"],
    );
    desk.refuses(
        &["plan", "farm.toml", "--head", "100"],
        &["[FARM]", "--head", "cannot be used with"],
    );
    desk.refuses(&["plan", "farm.toml", "--out", "farm.toml"], &["a folder is wanted"]);
}

/// The questions with these lines typed; gives what was said and the answers.
fn asked(answers: Answers, lines: &str) -> (String, Option<Answers>) {
    let mut said = Vec::new();
    let answers = ask(answers, &mut Cursor::new(lines), &mut said).unwrap();
    (String::from_utf8(said).unwrap(), answers)
}

#[test]
fn questions_are_asked_until_they_have_an_answer_that_can_be() {
    let (said, answers) =
        asked(Answers::default(), "\ngoat\ndry cow\n\n120\n1280 lb\n1280\n\n\n\n\n\n\n\n\n");
    assert!(said.contains("\"goat\"; allowed is"), "{said}");
    assert!(said.contains("`head` in [[herd]] 1 is missing"), "{said}");
    assert!(said.contains("\"1280 lb\" is not a number"), "{said}");
    let farm = Farm::parse(&file(&answers.unwrap())).unwrap();
    assert_eq!((farm.herd[0].head, farm.herd.len()), (120.0, 1));
    // Bale width, diameter and weight may be fine alone and wrong together.
    let (said, _) =
        asked(Answers::default(), "1\ndry cow\n50\n1200\n56\n4\n4\n3000\n600\n15\n\n\n\n");
    assert!(said.contains("density"), "{said}");
}

#[test]
fn what_is_known_is_not_asked_and_an_end_makes_no_plan() {
    let mut known = Answers::default();
    known[2] = Some("77".to_owned());
    let (said, answers) = asked(known, "\n\n1100\n\n\n\n\n\n\n\n\n");
    assert!(!said.contains(QUESTIONS[2].words), "{said}");
    assert_eq!(Farm::parse(&file(&answers.unwrap())).unwrap().head(), 77.0);
    assert_eq!(asked(Answers::default(), "1\ndry cow\n").1, None);
}

#[test]
fn cautions_name_what_is_unusual() {
    let told = |text: &str| {
        let all = cautions(&make(Farm::parse(text).unwrap()).unwrap());
        all.iter().map(|one| format!("{} {}", one.number, one.usual)).collect::<Vec<_>>().join("\n")
    };
    let herd = "[[herd]]\nhead = 60\nweight_lb = 1300\n";
    let weighed = "[[bales]]\nweight_lb = 1000\nwidth_ft = 4\ndiameter_ft = 5\n";
    let calm = told(&format!("{herd}{weighed}[place]\nsides = 1\n"));
    assert_eq!(calm, "");
    let has = |text: String, words: &[&str]| {
        let told = told(&text);
        assert!(words.iter().all(|word| told.contains(word)), "{told}");
    };
    has(format!("days_per_feeding = 3\n{herd}{weighed}"), &["3 days are fed at once"]);
    has(format!("{herd}intake_percent = 4\n{weighed}"), &["4.0 % of their weight", "1.8 to 2.9 %"]);
    has(format!("{herd}[[bales]]\n"), &["not weighed"]);
    has(format!("{herd}{weighed}moisture_percent = 24\n"), &["24 % moisture", "15 to 18 %"]);
    has(format!("{herd}{weighed}hay = \"wrapped\"\nmoisture_percent = 30\n"), &["45 to 60 %"]);
    has(format!("{herd}{weighed}[place]\nstrip_ft = 80\n"), &["80 ft for 60 head", "mph"]);
    has(format!("{herd}{weighed}[place]\nrow_ft = 100\nrows = 1\n"), &["has no room"]);
    has(format!("{herd}{weighed}[machine]\nrelief_psi = 900\n"), &["relief pressure"]);
    has(format!("{herd}{weighed}[storage]\nstored = \"ground\"\n"), &["12.5 %", "Huhnke"]);
    has(format!("{herd}{weighed}[drive]\nengine_rpm = 1000\n"), &["at 1000 rpm the pump gives"]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn every_plan_is_a_scenario_and_adds_up(
        head in 5u32..400,
        weight in 500u32..1_900,
        moisture in 8u32..60,
        size in (3.0..6.0f64, 3.5..6.0f64),
        core in prop_oneof!["even", "soft", "dense"],
        hay in prop_oneof!["dry", "wrapped"],
        carries in 1u32..3,
        name in "[ -~]{1,20}",
    ) {
        let (width, diameter) = size;
        let text = format!(
            "name = {}\n[[herd]]\nhead = {head}\nweight_lb = {weight}\n[[bales]]\nwidth_ft = {width}\n\
             diameter_ft = {diameter}\nmoisture_percent = {moisture}\ncore = \"{core}\"\nhay = \"{hay}\"\n\
             [machine]\ncarries = {carries}\n",
            toml::Value::String(name.clone())
        );
        let plan = make(Farm::parse(&text).unwrap()).unwrap();
        let scenario = Scenario::parse(&plan.scenario()).unwrap();
        prop_assert_eq!(&scenario.name, &name);
        prop_assert!((scenario.target_kg_m / plan.rate_kg_m - 1.0).abs() < 1e-6);
        prop_assert!(scenario.bales.len() <= carries as usize);
        prop_assert!((plan.rate_kg_m * plan.strip_m / plan.fed_kg - 1.0).abs() < 1e-9);
        let bale = &plan.farm.lots[0].ticket;
        let dry = plan.bales[0] * bale.mass_kg * (1.0 - bale.moisture);
        prop_assert!((dry * (1.0 - plan.farm.loss) / plan.eaten_kg_day - 1.0).abs() < 1e-9);
        prop_assert!(plan.strip_m > plan.space_strip_m * (1.0 - 1e-9));
        prop_assert!(plan.speed_m_s > 0.0 && plan.pasture_s > plan.laying_s);
    }
}
