//! `strewn many` as a person uses it: the files it leaves, a bale shown again, wrong use.

use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::RowAccessor;
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;

/// Small bales laid thick: a few seconds each.
const POPULATION: &str = "name = \"small\"\nleast_target_lb_per_ft = 15\n\
    most_target_lb_per_ft = 25\n[size]\nleast_diameter_ft = 3\nmost_diameter_ft = 3\n\
    least_width_ft = 3\nmost_width_ft = 3\n";

fn folder() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("small.toml"), POPULATION).unwrap();
    folder
}

fn strewn(folder: &Path, arguments: &[&str]) -> Output {
    let common = ["many", "--population", "small.toml", "--bales", "6"];
    Command::new(env!("CARGO_BIN_EXE_strewn"))
        .args(common)
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap()
}

#[track_caller]
fn told(folder: &Path, arguments: &[&str]) -> String {
    let output = strewn(folder, arguments);
    let error = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && error.is_empty(), "{arguments:?}: {error}");
    String::from_utf8(output.stdout).unwrap()
}

#[track_caller]
fn refuses(folder: &Path, arguments: &[&str], code: i32, words: &[&str]) {
    let output = strewn(folder, arguments);
    let error = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(code), "{error}");
    assert!(error.starts_with("strewn: ") && error.lines().count() == 1, "{error}");
    for word in words {
        assert!(error.contains(word), "no {word:?} in: {error}");
    }
}

#[test]
fn the_whole_command_gives_the_same_files_on_one_and_on_eight_threads() {
    let folder = folder();
    let folder = folder.path();
    let table = told(folder, &["--out", "one", "--threads", "1"]);
    assert!(table.contains("all bales: 6 bales") && table.contains("perfect with future"));
    assert!(table.lines().all(|line| line.chars().count() <= 100), "{table}");
    told(folder, &["--out", "eight", "--threads", "8"]);
    told(folder, &["--out", "shard", "--shard", "1/1"]);
    told(folder, &["--merge", "shard", "--out", "merged"]);
    told(folder, &["--resume", "--out", "one"]);
    for file in ["many.parquet", "many.json", "many.html"] {
        let bytes = |out: &str| fs::read(folder.join(out).join(file)).unwrap();
        for other in ["eight", "merged"] {
            assert!(bytes("one") == bytes(other), "{file} of {other}");
        }
    }
    rows_agree(&folder.join("one"));
    a_bale_shown_is_the_same_bale(folder);
}

/// The file of results can be read: every bale and contender in order, figures as in the summary.
fn rows_agree(out: &Path) {
    let reader =
        SerializedFileReader::new(fs::File::open(out.join("many.parquet")).unwrap()).unwrap();
    let rows: Vec<_> = reader.get_row_iter(None).unwrap().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 6 * 8);
    let names: Vec<_> = rows[0].get_column_iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names[..3], ["bale", "lot", "contender"]);
    assert_eq!(names.len(), 26);
    for (index, row) in rows.iter().enumerate() {
        assert_eq!(row.get_int(0).unwrap(), 1 + index as i32 / 8);
    }
    let clumps = names.iter().position(|name| *name == "clumps").unwrap();
    let own = rows.iter().filter(|row| row.get_string(2).unwrap() == "controller");
    let clumps: i32 = own.map(|row| row.get_int(clumps).unwrap()).sum();
    let json: Value = serde_json::from_slice(&fs::read(out.join("many.json")).unwrap()).unwrap();
    let figure = json["groups"][0]["contenders"][0]["clumps_per_1000_bales"].as_f64().unwrap();
    assert!((figure - 1000.0 * f64::from(clumps) / 6.0).abs() < 1e-3, "{figure}, {clumps}");
}

fn a_bale_shown_is_the_same_bale(folder: &Path) {
    told(folder, &["--show", "3", "--out", "shown"]);
    for file in ["bale-3.toml", "report.html", "strewn.log"] {
        assert!(folder.join("shown").join(file).is_file(), "{file}");
    }
    let read = |path: &str| -> Value {
        serde_json::from_slice(&fs::read(folder.join(path)).unwrap()).unwrap()
    };
    let shown = &read("shown/figures.json")["contenders"][0];
    assert_eq!(shown["contender"], "controller");
    let shown = shown["whole"]["unevenness_3_ft"].as_f64().unwrap();
    let many = read("one/many.json");
    let worst = many["worst_bales"].as_array().unwrap();
    let same = worst.iter().find(|bale| bale["bale"] == 3).unwrap();
    assert!((same["unevenness_3_ft"].as_f64().unwrap() - shown).abs() < 2e-6, "{same} {shown}");
}

#[test]
fn wrong_use_is_told_in_one_sentence() {
    let folder = folder();
    let folder = folder.path();
    for shard in ["0/2", "3/2", "1", "a/b"] {
        refuses(folder, &["--shard", shard], 2, &["--shard", "K/N"]);
    }
    refuses(folder, &["--show", "0"], 2, &["--show is 0", "1 to 100000"]);
    refuses(folder, &["--threads", "0"], 2, &["--threads", "1"]);
    refuses(folder, &["--merge", "nothing"], 2, &["nothing", "nothing to merge"]);
    refuses(folder, &["--merge", "a", "--shard", "1/2"], 2, &["--shard"]);
    fs::create_dir_all(folder.join("empty/parts")).unwrap();
    refuses(folder, &["--merge", "empty", "--out", "all"], 1, &["bales 1 to 6", "--resume"]);
    assert!(!folder.join("all/many.parquet").exists(), "nothing is left of a failed merge");
    fs::write(folder.join("small.toml"), "bales_per_lot = 4\n").unwrap();
    refuses(folder, &[], 2, &["--bales is 6", "whole lots of 4"]);
    fs::write(folder.join("small.toml"), "bale_per_lot = 4\n").unwrap();
    refuses(folder, &[], 2, &["small.toml", "line 1", "did you mean `bales_per_lot`?"]);
}
