//! Bad input gives one sentence that names the place and what is allowed, and leaves nothing behind.

use std::path::{Path, PathBuf};
use std::process::Command;
use strewn::bench::log::{Header, LogWriter};
use strewn_controller::units::Instant;
use strewn_controller::wires::{Inputs, Outputs};
use tempfile::TempDir;

/// A folder with one file in it, and what the command says about that.
struct Case {
    folder: TempDir,
}

impl Case {
    fn new(name: &str, content: impl AsRef<[u8]>) -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join(name), content).unwrap();
        Self { folder }
    }

    fn out(&self) -> PathBuf {
        self.folder.path().join("out")
    }

    /// Runs the command within the folder; it must fail as bad use does, say one sentence that holds
    /// all of `words`, and write nothing.
    #[track_caller]
    fn refuses(&self, arguments: &[&str], words: &[&str]) {
        let before = entries(self.folder.path());
        let output = Command::new(env!("CARGO_BIN_EXE_strewn"))
            .args(arguments)
            .current_dir(self.folder.path())
            .output()
            .unwrap();
        let told = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{told}");
        assert!(output.stdout.is_empty());
        assert!(told.starts_with("strewn: "), "{told}");
        assert_eq!(told.lines().count(), 1, "{told}");
        for word in words {
            assert!(told.contains(word), "no {word:?} in: {told}");
        }
        assert_eq!(entries(self.folder.path()), before);
        assert!(!self.out().exists());
    }
}

fn entries(folder: &Path) -> Vec<PathBuf> {
    let mut entries: Vec<_> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    entries
}

#[track_caller]
fn refuses_scenario(text: &str, words: &[&str]) {
    let words = [&["farm.toml"], words].concat();
    Case::new("farm.toml", text).refuses(&["feed", "farm.toml"], &words);
}

#[track_caller]
fn refuses_drive(text: &str, words: &[&str]) {
    let words = [&["drive.txt"], words].concat();
    Case::new("drive.txt", text).refuses(&["feed", "--ground-speed", "drive.txt"], &words);
}

#[test]
fn missing_files() {
    let case = Case::new("other", "");
    let words = ["cannot read", "no such file"];
    case.refuses(&["feed", "farm.toml"], &[&["farm.toml"], &words[..]].concat());
    case.refuses(&["feed", "--ground-speed", "a.nmea"], &[&["a.nmea"], &words[..]].concat());
    case.refuses(&["replay", "a.log"], &[&["a.log"], &words[..]].concat());
}

const SENTENCE: &str = "$GPVTG,090.0,T,,M,002.61,N,004.83,K,A*0E";

#[test]
fn a_line_that_is_not_nmea() {
    refuses_drive(&format!("{SENTENCE}\n3 mph\n"), &["line 2", "not an NMEA 0183 sentence", "`$`"]);
}

#[test]
fn a_wrong_checksum() {
    let altered = SENTENCE.replace("002.61", "002.62");
    refuses_drive(&format!("{SENTENCE}\n{altered}\n"), &["line 2", "*0E", "*0D"]);
}

#[test]
fn a_speed_with_text() {
    let text = "t_s,speed_m_s\n0,1.3\n1,quick\n";
    refuses_drive(text, &["line 3", "column 2 (`speed_m_s`)", "\"quick\"", "allowed is a number"]);
}

#[test]
fn time_running_backwards() {
    let text = "t_s,speed_m_s\n0,1.3\n2,1.3\n1,1.3\n";
    refuses_drive(text, &["line 4", "from 2 s to 1 s", "must rise"]);
}

#[test]
fn an_empty_drive_and_one_of_another_kind() {
    refuses_drive("", &["empty"]);
    refuses_drive("<html>", &["line 1", "allowed are NMEA 0183"]);
    refuses_drive("can0  0CFE4845   [8]  94 26 88 13 00 00 03 14", &["line 1", "candump -l"]);
    refuses_drive("t_s,speed_m_s\n0,1\n1,26\n", &["line 3", "26", "0 to 25 m/s"]);
}

#[test]
fn a_bale_of_no_size_and_of_a_house() {
    for size in ["0", "100"] {
        let text = format!("name = \"a\"\n[[ticket]]\ndiameter_ft = {size}\n");
        let given = format!("is {size};");
        refuses_scenario(&text, &["line 3", "`diameter_ft` in [[ticket]] 1", &given, "3 to 7"]);
    }
}

#[test]
fn a_target_of_nothing_and_of_a_heap() {
    for target in ["0", "500"] {
        let given = format!("is {target};");
        let text = format!("target_lb_per_ft = {target}\n");
        refuses_scenario(&text, &["line 1", "`target_lb_per_ft`", &given, "0.5 to 40"]);
    }
}

#[test]
fn an_unknown_key() {
    let words = ["line 2", "unknown key `weigth_lb` in [[ticket]] 1", "did you mean `weight_lb`?"];
    refuses_scenario("[[ticket]]\nweigth_lb = 1100\n", &words);
}

#[test]
fn a_scenario_that_is_not_toml_or_not_text() {
    refuses_scenario("target_lb_per_ft = 3 lb\n", &["line 1"]);
    Case::new("farm.toml", [0xFF, 0xFE])
        .refuses(&["feed", "farm.toml"], &["farm.toml", "not text"]);
}

fn log() -> Vec<u8> {
    let mut writer = LogWriter::new(Vec::new(), &Header::default()).unwrap();
    for tick in 1..=3 {
        let inputs = Inputs { now: Instant::from_micros(tick * 10_000), ..Inputs::default() };
        writer.tick(&inputs, &Outputs::default()).unwrap();
    }
    writer.finish().unwrap()
}

#[test]
fn logs_that_are_not_whole() {
    let whole = log();
    let replays = |bytes: &[u8], words: &[&str]| {
        let words = [&["a.log"], words].concat();
        Case::new("a.log", bytes).refuses(&["replay", "a.log"], &words);
    };
    // The end takes ten bytes, each tick 13.
    replays(&whole[..whole.len() - 10 - 20], &["cut off in tick 2"]);
    let mut damaged = whole.clone();
    let last = whole.len() - 15;
    damaged[last] ^= 1;
    replays(&damaged, &["damaged at tick 3"]);
    replays(&[&whole[..], b"hay"].concat(), &["3 bytes"]);
    replays(b"hay", &["not a log"]);
}

#[test]
fn a_folder_that_cannot_be_made() {
    // A path below a file: no rights in the world make a folder there.
    let case = Case::new("file", "");
    case.refuses(&["feed", "--out", "file/out"], &["file/out", "cannot make the folder", "a file"]);
    case.refuses(
        &["feed", "--out", "file"],
        &["cannot make the folder file", "a folder is wanted"],
    );
}

#[test]
fn wrong_use() {
    let case = Case::new("other", "");
    case.refuses(&["fead"], &["'fead'", "'feed'", "--help"]);
    case.refuses(&["feed", "--seed", "many"], &["'many'", "--seed"]);
    case.refuses(&["replay"], &["<LOG>"]);
}
