//! `strewn fit` and `strewn feed --machine` as a person uses them.

use std::path::Path;
use std::process::{Command, Output};

fn strewn(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_strewn")).args(arguments).current_dir(folder).output().unwrap()
}

#[track_caller]
fn refuses(folder: &Path, arguments: &[&str], words: &[&str]) {
    let output = strewn(folder, arguments);
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{told}");
    assert!(output.stdout.is_empty());
    assert_eq!(told.lines().count(), 1, "{told}");
    for word in words {
        assert!(told.contains(word), "no {word:?} in: {told}");
    }
}

#[test]
fn from_log_to_machine_file_and_book() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let short = "[[drive]]\nspeed_mph = 3\nfor_s = 30\n[[drive]]\nspeed_mph = 2\nfor_s = 12\n";
    std::fs::write(folder.join("farm.toml"), short).unwrap();
    assert!(strewn(folder, &["feed", "farm.toml"]).status.success());
    let fitted = strewn(folder, &["fit", "out/strewn.log", "--out", "machine.toml"]);
    let told = String::from_utf8(fitted.stdout).unwrap();
    assert!(
        fitted.status.success() && told.contains("dead band") && told.contains("+/-"),
        "{told}"
    );
    let again = ["feed", "farm.toml", "--machine", "machine.toml", "--out", "again"];
    assert!(strewn(folder, &again).status.success());
    let page = std::fs::read_to_string(folder.join("again/report.html")).unwrap();
    assert!(page.contains("strewn feed farm.toml --machine machine.toml"));

    let add = ["book", "add-log", "out/strewn.log", "--herd", "cows", "--place", "slope"];
    let hours = ["--day", "2025-01-10", "--entered", "07:40"];
    let told = String::from_utf8(strewn(folder, &[&add[..], &hours].concat()).stdout).unwrap();
    assert!(told.starts_with("Entry 1: 2025-01-10: ") && told.contains("\"ticket 1\""), "{told}");
    let list = strewn(folder, &["book", "list", "--json"]).stdout;
    let list: serde_json::Value = serde_json::from_slice(&list).unwrap();
    // What the controller weighed against what was laid, which the model knows.
    let figures = std::fs::read(folder.join("out/figures.json")).unwrap();
    let figures: serde_json::Value = serde_json::from_slice(&figures).unwrap();
    let laid_lb = laid_lb(&figures);
    let fed_lb = list[0]["fed_lb"].as_f64().unwrap();
    assert!((fed_lb / laid_lb - 1.0).abs() < 0.05, "{fed_lb} in the book, {laid_lb} laid");
    assert_eq!((&list[0]["entered"], &list[0]["left"]), (&"07:40".into(), &"07:41".into()));
    refuses(folder, &add, &["in the book already, as entry 1"]);
}

fn laid_lb(figures: &serde_json::Value) -> f64 {
    fn find<'a>(value: &'a serde_json::Value, name: &str) -> Option<&'a serde_json::Value> {
        match value {
            serde_json::Value::Object(map) => {
                map.get(name).or_else(|| map.values().find_map(|value| find(value, name)))
            }
            serde_json::Value::Array(items) => items.iter().find_map(|value| find(value, name)),
            _ => None,
        }
    }
    find(figures, "laid_lb").and_then(serde_json::Value::as_f64).unwrap()
}

#[test]
fn bad_input_gets_one_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    std::fs::write(folder.join("hay"), "hay").unwrap();
    refuses(folder, &["fit"], &["<LOG>", "--help"]);
    refuses(folder, &["fit", "none.log"], &["none.log", "no such file"]);
    refuses(folder, &["fit", "hay"], &["hay: this is not a log"]);
    let add = ["book", "add-log", "hay", "--herd", "cows", "--place", "slope"];
    refuses(folder, &add, &["hay: this is not a log"]);
    assert!(!folder.join("feedings.book").exists());
    let machine = |text: &str, words: &[&str]| {
        std::fs::write(folder.join("machine.toml"), text).unwrap();
        let words = [&["machine.toml"], words].concat();
        refuses(folder, &["feed", "--machine", "machine.toml"], &words);
    };
    let dead_band =
        ["line 2", "`dead_band_permille` in [metering] is 900", "0 to 400", "nothing flows"];
    machine("[metering]\ndead_band_permille = 900\n", &dead_band);
    machine("[metering]\nlag = 9\n", &["line 2", "unknown key `lag`", "known keys are"]);
    machine("[[ticket]]\nnumber = 4\nbite_g = 9000\n", &["[[ticket]] 4", "allowed is 1 to 3"]);
    machine("hay", &["line 1"]);
    refuses(folder, &["feed", "--machine", "none.toml"], &["none.toml", "no such file"]);
}
