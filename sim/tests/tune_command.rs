//! `strewn tune` as a person uses it.

mod desk;

use desk::Desk;

/// Small bales laid thick: a few seconds each.
const SMALL: &str = "name = \"small\"\nleast_target_lb_per_ft = 15\nmost_target_lb_per_ft = 25\n\
    [size]\nleast_diameter_ft = 3\nmost_diameter_ft = 3\nleast_width_ft = 3\nmost_width_ft = 3\n";

#[test]
fn the_whole_command_gives_the_same_files_on_one_and_on_four_threads_and_when_resumed() {
    let desk = Desk::with("small.toml", SMALL);
    let common = ["tune", "--population", "small.toml", "--lots", "8"];
    let with = |more: &[&'static str]| [&common[..], more].concat();
    let text = desk.told(&with(&["--trials", "14", "--threads", "1", "--out", "one"]));
    assert!(text.contains("Proof: 24 bales under seed 2.") && text.contains("before"), "{text}");
    assert!(text.contains("14 settings tried"), "{text}");
    desk.told(&with(&["--trials", "14", "--threads", "4", "--out", "four"]));
    desk.told(&with(&["--trials", "6", "--out", "resumed"]));
    desk.told(&with(&["--trials", "14", "--resume", "--out", "resumed"]));
    for file in ["tune.toml", "tune.html", "tune.json"] {
        assert_eq!(desk.read(&format!("one/{file}")), desk.read(&format!("four/{file}")), "{file}");
        assert_eq!(
            desk.read(&format!("one/{file}")),
            desk.read(&format!("resumed/{file}")),
            "{file}"
        );
    }
    let json: serde_json::Value = serde_json::from_str(&desk.read("one/tune.json")).unwrap();
    assert_eq!(json["tried"], 14);
    assert!(json["proof"]["unevenness_after_over_before"]["low"].is_f64());
    // The settings are a machine file for the other commands.
    let many = ["many", "--population", "small.toml", "--bales", "2", "--machine", "one/tune.toml"];
    assert!(desk.told(&many).contains("all bales: 2 bales"));
    let explained = desk.told(&["tune", "--explain", "one/tune.toml"]);
    assert!(explained.contains("[metering]") && explained.contains("repay_ms = "), "{explained}");
}

/// A short bale laid thick.
const SHORT: &str = "target_lb_per_ft = 20\n[[ticket]]\ndiameter_ft = 3\nwidth_ft = 3\n\
    weight_lb = 250\n[[bale]]\nweight_lb = 250\n";

#[test]
fn the_firmwares_record_holds_the_settings_of_a_machine_file() {
    let desk = Desk::with("short.toml", SHORT);
    std::fs::write(desk.path("hand.toml"), "[metering]\nrepay_ms = 5000\n").unwrap();
    desk.told(&["feed", "short.toml", "--machine", "hand.toml", "--settings-record", "record"]);
    let record = std::fs::read(desk.path("record")).unwrap();
    let config: strewn_controller::settings::Config = postcard::from_bytes(&record).unwrap();
    assert_eq!(config.metering.repay_ms, 5_000);
    assert_eq!(config.metering.target_g_per_m, 29_763);
    assert!(config.build().is_ok());

    // Weigh cells that count otherwise than the modelled ones, and limits at odds with each other.
    std::fs::write(desk.path("own.toml"), "[signals.weigh]\nmg_per_count = 500\n").unwrap();
    desk.told(&["feed", "short.toml", "--machine", "own.toml", "--settings-record", "record"]);
    let record = std::fs::read(desk.path("record")).unwrap();
    let own: strewn_controller::settings::Config = postcard::from_bytes(&record).unwrap();
    assert_eq!(own.signals.weigh.unwrap().mg_per_count, 500);
    std::fs::write(desk.path("odd.toml"), "[safety]\nroller_limit_milliturns_s = 600\n").unwrap();
    let words = ["odd.toml", "roller_limit_milliturns_s is 600", "to 10000"];
    desk.refuses(&["feed", "short.toml", "--machine", "odd.toml"], &words);
}

#[test]
fn seeds_kept_for_evaluation_are_refused() {
    let desk = Desk::new();
    for seed in ["909999", "910000", "915000", "919999"] {
        desk.refuses(
            &["tune", "--seed", seed],
            &[seed, "910000 to 919999 are kept for evaluation"],
        );
    }
}

#[test]
fn settings_are_explained_and_those_made_by_hand_are_checked() {
    let desk = Desk::with("wrong.toml", "[metering]\nrepay_ms = 20\n");
    let all = desk.told(&["tune", "--explain"]);
    for words in [
        "[estimate]",
        "repay_ms\n",
        "Time in which hay owed",
        "500 to 30000, usually",
        "[safety]",
        "[signals.weigh]",
        "mg_per_count\n    Mass of one count. 10 to 20000, usually 1000.",
    ] {
        assert!(all.contains(words), "no {words:?} in: {all}");
    }
    let words = ["wrong.toml", "line 2", "`repay_ms`", "500 to 30000", "made good"];
    desk.refuses(&["tune", "--explain", "wrong.toml"], &words);
    std::fs::write(
        desk.path("own.toml"),
        "[safety]\npause_ms = 0\n[signals.gauge]\nfirst_mm = 250\n",
    )
    .unwrap();
    let own = desk.told(&["tune", "--explain", "own.toml"]);
    assert!(own.contains("[safety]\npause_ms = 0\n"), "{own}");
    assert!(own.contains("[signals.gauge]\nfirst_mm = 250\n"), "{own}");
    desk.refuses(&["tune", "--trials", "0"], &["--trials"]);
    desk.refuses(&["tune", "--population", "none.toml"], &["none.toml"]);
}
