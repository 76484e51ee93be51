//! The book through the command, as a person keeps it: a few days of an invented farm, and whatever
//! can be wrong.

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;

fn strewn(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_strewn"))
        .arg("book")
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap()
}

#[track_caller]
fn told(folder: &TempDir, arguments: &[&str]) -> String {
    let output = strewn(folder.path(), arguments);
    let failure = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{arguments:?}: {failure}");
    String::from_utf8(output.stdout).unwrap()
}

/// The act must fail with this code and one sentence that holds all of `words`.
#[track_caller]
fn refuses(folder: &TempDir, arguments: &[&str], code: i32, words: &[&str]) {
    let output = strewn(folder.path(), arguments);
    let sentence = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(code), "{sentence}");
    assert!(output.stdout.is_empty());
    assert!(sentence.starts_with("strewn: "), "{sentence}");
    assert_eq!(sentence.lines().count(), 1, "{sentence}");
    for word in words {
        assert!(sentence.contains(word), "no {word:?} in: {sentence}");
    }
}

const DAY: [&str; 8] =
    ["--day", "2025-01-10", "--herd", "cows", "--place", "north slope", "--lot", "meadow hay"];

fn add(folder: &TempDir, more: &[&str]) -> String {
    told(folder, &[&["add"][..], &DAY, more].concat())
}

fn json(folder: &TempDir, arguments: &[&str]) -> Value {
    serde_json::from_str(&told(folder, &[arguments, &["--json"]].concat())).unwrap()
}

/// A book of three feedings, one look and one count.
fn book() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let first = ["--head", "110", "--bales", "1", "--fed-lb", "1100"];
    let times = ["--entered", "07:40", "--left", "07:52"];
    assert!(add(&folder, &[&first[..], &times].concat()).starts_with("Entry 1: "));
    let again = ["--head", "100", "--fed-lb", "900.5", "--note", "a bunk, \"the long one\""];
    assert!(add(&folder, &again).starts_with("Entry 2: "));
    told(
        &folder,
        &[
            "add",
            "--day",
            "2025-01-12",
            "--herd",
            "heifers",
            "--lot",
            "silage",
            "--place",
            "bunk",
            "--fed-lb",
            "500",
        ],
    );
    told(
        &folder,
        &["look", "1", "--day", "2025-01-11", "--refusal-lb", "20", "--residue-lb", "35"],
    );
    told(
        &folder,
        &["count", "meadow hay", "--day", "2025-01-10", "--bales", "10", "--weight-lb", "11000"],
    );
    folder
}

#[test]
fn totals_add_up() {
    let folder = book();
    let herds = json(&folder, &["summary", "herd"]);
    // 1,100 + 900.5 lb to at most 110 head on one day; one look at 1,100 lb.
    assert_eq!(herds[0]["name"], "cows");
    assert_eq!(herds[0]["fed_lb"], 2000.5);
    assert_eq!(herds[0]["head_days"], 110.0);
    assert_eq!(herds[0]["minutes"], 12.0);
    assert_eq!(herds[0]["looked_lb"], 1100.0);
    assert_eq!(herds[0]["residue_lb"], 35.0);
    assert_eq!(herds[1]["head_days"], Value::Null);
    assert_eq!(herds[2]["fed_lb"], 2500.5);
    for by in ["day", "lot", "place"] {
        let totals = json(&folder, &["summary", by]);
        let totals = totals.as_array().unwrap();
        assert_eq!(totals.last().unwrap()["fed_lb"], 2500.5, "{by}");
        assert_eq!(totals.len(), 3, "{by}");
    }
    let some = json(&folder, &["summary", "day", "--from", "2025-01-11", "--herd", "heifers"]);
    assert_eq!(some.as_array().unwrap().len(), 2);
    assert!(told(&folder, &["list", "--herd", "bulls"]).contains("No entries"));
}

#[test]
fn hay_lasts_as_long_as_it_was_counted_for() {
    let folder = book();
    // 11,000 - 2,000.5 lb left; 2,500.5 lb in the three days of the book.
    let left = told(&folder, &["left"]);
    for words in ["9,000 lb left", "834 lb a day", "last 3 days", "11 days", "\"silage\" was fed"] {
        assert!(left.contains(words), "no {words:?} in: {left}");
    }
    assert!(told(&folder, &["left", "--over", "1"]).contains("500 lb a day"));
}

#[test]
fn a_correction_keeps_what_was_written() {
    let folder = book();
    let reason = ["--reason", "scale ticket found"];
    told(&folder, &[&["correct", "2", "--fed-lb", "950"][..], &reason].concat());
    told(&folder, &[&["correct", "3", "--strike"][..], &reason].concat());
    let entries = json(&folder, &["list"]);
    assert_eq!(entries.as_array().unwrap().len(), 2);
    assert_eq!(entries[1]["fed_lb"], 950.0);
    assert_eq!(entries[1]["version"], 2);
    assert_eq!(entries[1]["note"], "a bunk, \"the long one\"");
    let history = json(&folder, &["list", "--history", "2"]);
    assert_eq!((&history[0]["fed_lb"], &history[1]["fed_lb"]), (&900.5.into(), &950.0.into()));
    assert_eq!(history[1]["reason"], "scale ticket found");
    assert_eq!(json(&folder, &["list", "--history", "3"])[1]["struck"], true);
    refuses(
        &folder,
        &[&["correct", "3", "--fed-lb", "9"][..], &reason].concat(),
        2,
        &["no entry 3"],
    );
}

#[test]
fn a_table_out_and_in_again_is_the_same() {
    let folder = book();
    let table = told(&folder, &["export"]);
    std::fs::write(folder.path().join("all.csv"), &table).unwrap();
    let other = ["--book", "other.book"];
    assert_eq!(told(&folder, &[&["import", "all.csv"][..], &other].concat()), "Entries 1 to 3\n");
    assert_eq!(told(&folder, &[&["export"][..], &other].concat()), table);
    // A second time it is refused as a whole, unless it is meant.
    let again = [&["import", "all.csv"][..], &other].concat();
    refuses(&folder, &again, 2, &["entry 1 says already", "1100 lb", "--again"]);
    assert_eq!(told(&folder, &[&again[..], &["--again"]].concat()), "Entries 4 to 6\n");
}

#[test]
fn a_wrong_line_keeps_the_whole_table_out() {
    let folder = tempfile::tempdir().unwrap();
    let head = "day,herd,lot,place,fed_lb,entered,left,looked,refusal_lb\n";
    let good = "2025-01-10,cows,meadow,slope,1100,,,,\n";
    let cases = [
        ("", &["line 1", "empty"][..]),
        ("day,herd,lot,place\n", &["line 1", "no column `fed_lb`"]),
        ("day,cow\n", &["line 1", "unknown column `cow`", "`herd`"]),
        ("day,day\n", &["line 1", "`day` stands there twice"]),
        (
            "2025-02-30,cows,meadow,slope,1100,,,,",
            &["line 3", "`day` is \"2025-02-30\"", "2025-01-31"],
        ),
        ("2025-01-10,,meadow,slope,1100,,,,", &["line 3", "`herd` is empty", "1 to 60 characters"]),
        ("2025-01-10,cows,meadow,slope,-3,,,,", &["`fed_lb` is \"-3\"", "1 to 100000"]),
        ("2025-01-10,cows,meadow,slope,nan,,,,", &["`fed_lb` is \"nan\""]),
        ("2025-01-10,cows,meadow,slope,9,7:40,,,", &["`entered` is \"7:40\"", "07:40"]),
        ("2025-01-10,cows,meadow,slope,9,07:40,07:30,,", &["line 3", "`left` is 07:30", "07:40"]),
        ("2025-01-10,cows,meadow,slope,9,,07:30,,", &["`left` is given without `entered`"]),
        ("2025-01-10,cows,meadow,slope,9,,,,5", &["`looked` is empty"]),
        ("2025-01-10,cows,meadow,slope,9,,,2025-01-09,5", &["2025-01-09", "day of the feeding"]),
        ("2025-01-10,cows,meadow,slope,9,,,2025-01-11,10", &["10 lb", "up to 9 lb"]),
        ("2025-01-10,cows,meadow", &["line 3", "3 cells", "allowed are 9"]),
        ("\"2025-01-10,cows", &["line 3", "never closed"]),
        ("2025-01-10,co\"ws", &["line 3", "quote within a cell"]),
    ];
    for (text, words) in cases {
        let whole =
            if words[0] == "line 1" { text.to_owned() } else { format!("{head}{good}{text}\n") };
        std::fs::write(folder.path().join("a.csv"), whole).unwrap();
        refuses(&folder, &["import", "a.csv"], 2, words);
    }
    std::fs::write(folder.path().join("a.csv"), [0xFF, 0xFE]).unwrap();
    refuses(&folder, &["import", "a.csv"], 2, &["a.csv", "not text"]);
    refuses(&folder, &["import", "none.csv"], 2, &["none.csv", "no such file"]);
    if folder.path().join("feedings.book").exists() {
        assert!(told(&folder, &["list"]).contains("No entries"));
    }
}

#[test]
fn wrong_acts() {
    let folder = tempfile::tempdir().unwrap();
    for act in
        [&["list"][..], &["left"], &["export"], &["summary", "day"], &["look", "1"], &["prove"]]
    {
        refuses(&folder, act, 2, &["feedings.book", "no book here yet", "`strewn book add`"]);
    }
    assert!(!folder.path().join("feedings.book").exists());
    let folder = book();
    refuses(&folder, &["look", "9"], 2, &["no entry 9", "strewn book list"]);
    refuses(&folder, &["list", "--history", "9"], 2, &["no entry 9"]);
    refuses(&folder, &["look", "1", "--day", "2025-01-09"], 2, &["2025-01-09", "2025-01-10"]);
    let much = ["look", "1", "--day", "2025-01-11", "--residue-lb", "1200"];
    refuses(&folder, &much, 2, &["1200 lb", "up to 1100 lb"]);
    refuses(
        &folder,
        &["correct", "1", "--reason", "because"],
        2,
        &["nothing was given to correct"],
    );
    refuses(&folder, &["correct", "1", "--fed-lb", "9"], 2, &["--reason"]);
    // The look at it found 55 lb.
    refuses(
        &folder,
        &["correct", "1", "--fed-lb", "9", "--reason", "x"],
        2,
        &["55 lb", "up to 9 lb"],
    );
    let wrong = [("--day", "10.1.2025"), ("--herd", ""), ("--fed-lb", "none"), ("--head", "0.5")];
    for (option, value) in wrong {
        let mut line = [&["add"][..], &DAY, &["--fed-lb", "9"]].concat();
        match line.iter().position(|word| *word == option) {
            Some(place) => line[place + 1] = value,
            None => line.extend([option, value]),
        }
        refuses(&folder, &line, 2, &[option, "allowed is"]);
    }
    let backwards = ["--entered", "08:00", "--left", "07:00", "--fed-lb", "9"];
    refuses(&folder, &[&["add"][..], &DAY, &backwards].concat(), 2, &["`left` is 07:00", "08:00"]);
    std::fs::write(folder.path().join("hay"), "hay ".repeat(1000)).unwrap();
    refuses(&folder, &["list", "--book", "hay"], 2, &["hay: this is not a book"]);
    refuses(&folder, &["list", "--book", "."], 2, &["not a book"]);
    let line = [&["add"][..], &DAY, &["--fed-lb", "9", "--book", "none/book"]].concat();
    refuses(&folder, &line, 2, &["none/book", "folder is missing"]);
    assert!(told(&folder, &["prove"]).contains("whole, entries: 3"));
}

#[test]
fn the_page_stands_alone_and_tells_the_totals() {
    let folder = book();
    told(&folder, &["page", "--out", "book.html"]);
    let html = std::fs::read_to_string(folder.path().join("book.html")).unwrap();
    for words in
        ["2,500", "meadow hay", "from 2025-01-10 to 2025-01-12", "<svg", "days of hay left"]
    {
        assert!(html.contains(words), "no {words:?}");
    }
    for outside in ["<script", "http://", "https://", "src=", "@import"] {
        assert!(!html.contains(outside), "{outside}");
    }
}
