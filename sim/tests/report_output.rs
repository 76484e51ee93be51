//! What the reports promise whoever reads them: width, units, order, sameness, size, self-containment.
//!
//! The page and the table are left in the build's folder for temporary files, to be looked at.

mod report_support;

use report_support::{contest, run};
use std::collections::BTreeSet;
use strewn::bench::record::Run;
use strewn::report::{PageInput, json, page, table};
use strewn_controller::safety::Condition;

fn input(runs: &[Run]) -> PageInput<'_> {
    PageInput {
        scenario_name: "three bales <made up>",
        seed: 42,
        command: "strewn feed scenario.toml --seed 42",
        runs,
    }
}

fn keep(name: &str, text: &str) {
    let path = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, text).expect("the folder for temporary files is writable");
}

#[test]
fn the_table_fits_a_terminal_and_states_interval_and_divisor() {
    let text = table(&contest());
    keep("table.txt", &text);
    for line in text.lines() {
        assert!(line.chars().count() <= 100, "longer than 100 columns: {line}");
    }
    assert!(text.bytes().all(|byte| byte == b'\n' || (32..127).contains(&byte)), "plain ASCII");
    assert!(text.contains("3 ft (0.91 m)") && text.contains("divisor n - 1"));
    assert!(text.contains("The controller laid \"even bale\" with 0."));
}

#[test]
fn the_controller_comes_first_and_perfect_knowledge_last_in_every_block() {
    let text = table(&contest());
    let contenders =
        ["controller", "valve set by hand", "speed-proportional", "a fifth", "perfect knowledge"];
    let rows: Vec<&str> = text
        .lines()
        .filter_map(|line| contenders.into_iter().find(|name| line.starts_with(name)))
        .collect();
    assert_eq!(rows, contenders.repeat(4), "three kinds of bale and all of them");
}

#[test]
fn the_verdict_counts_clumps_and_compares_with_the_first_real_rival() {
    let runs =
        [run("controller", 0.1, 0.0), run("perfect knowledge", 0.0, 0.0), run("b", 0.3, 60.0)];
    let text = table(&runs).replace('\n', " ");
    assert!(text.contains("of the unevenness of the b ("), "{text}");
    assert!(text.contains("over 3 ft); clumps: 0 against 1."), "{text}");
    let alone = table(&runs[..1]).replace('\n', " ");
    assert!(alone.contains("laid all bales with an unevenness of 0."), "{alone}");
}

#[test]
fn nothing_fed_is_said_in_words() {
    assert_eq!(table(&[]), "Nobody fed.\n");
    assert!(page(&input(&[])).contains("Nobody fed."));
    assert_eq!(json(&[], 1, "none")["contenders"], serde_json::json!([]));
    let empty = [Run {
        contender: "controller",
        bales: Vec::new(),
        samples: Vec::new(),
        ground_kg: Vec::new(),
        energy_j: 0.0,
    }];
    let shown = table(&empty) + &page(&input(&empty));
    assert!(shown.contains("laid no whole 3 ft"), "{shown}");
    assert!(!shown.contains("NaN") && !shown.contains("inf\""), "{shown}");
}

#[test]
fn json_names_units_and_gives_null_for_what_does_not_exist() {
    let runs = contest();
    let value = json(&runs, 42, "three bales");
    assert_eq!(value["seed"], 42);
    assert_eq!(value["contenders"][0]["contender"], "controller");
    assert_eq!(value["contenders"][4]["contender"], "perfect knowledge");
    let bale = &value["contenders"][1]["bales"][2];
    assert_eq!(bale["name"], "dense-core bale");
    assert_eq!(bale["target_lb_ft"], 3.0);
    assert_eq!(bale["clumps"].as_array().map(Vec::len), Some(1));
    assert!(bale["energy_kwh_per_mg"].is_null(), "work is known for the whole run only");
    let pair = |us: &str, si: &str| bale[si].as_f64().unwrap() / bale[us].as_f64().unwrap();
    assert!((pair("laid_lb", "laid_kg") - 0.453_592_37).abs() < 1e-6);
    assert!((pair("strip_ft", "strip_m") - 0.3048).abs() < 1e-6);
    assert_eq!(value.to_string(), json(&runs, 42, "three bales").to_string());
}

#[test]
fn the_page_is_small_the_same_each_time_and_needs_nothing_else() {
    let runs = contest();
    let html = page(&input(&runs));
    keep("page.html", &html);
    assert!(html.len() < 1_500_000, "{} bytes", html.len());
    assert_eq!(html, page(&input(&runs)));
    for outside in ["<script", "http:", "https:", "src=", "@import", "<link", "NaN", "infinity"] {
        assert!(!html.contains(outside), "found {outside}");
    }
    assert!(html.contains("three bales &lt;made up&gt;"), "names are escaped");
}

#[test]
fn the_page_states_units_seed_command_interval_and_that_it_is_a_model() {
    let html = page(&input(&contest()));
    let stated = [
        "lb/ft",
        "kg/m",
        "psi",
        "bar",
        "mph",
        "m/s",
        "rpm",
        "lb/turn",
        "kg/turn",
        "3 ft (0.91 m)",
        "divisor n - 1",
        "seed <strong>42</strong>",
        "strewn feed scenario.toml --seed 42",
        "simulated bales",
        "Cautions",
        Condition::StopSwitch.words(),
    ];
    for text in stated {
        assert!(html.contains(text), "not stated: {text}");
    }
}

#[test]
fn every_picture_can_be_heard() {
    let html = page(&input(&contest()));
    let ids: Vec<&str> =
        html.split(" id=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    let unique: BTreeSet<&str> = ids.iter().copied().collect();
    assert_eq!(ids.len(), unique.len(), "ids occur once");
    let pictures = html.matches("role=\"img\"").count();
    assert_eq!(pictures, 8, "band, rates, ribbon and five charts over time");
    for attribute in ["aria-labelledby=\"", "aria-describedby=\""] {
        let named: Vec<&str> =
            html.split(attribute).skip(1).filter_map(|rest| rest.split('"').next()).collect();
        assert_eq!(named.len(), pictures);
        assert!(named.iter().all(|id| unique.contains(id)), "{named:?}");
    }
    let silent = html.matches("aria-hidden=\"true\"").count();
    assert_eq!(html.matches("<svg").count(), pictures + silent);
    assert_eq!(html.matches("<table").count(), html.matches("<caption").count());
}
