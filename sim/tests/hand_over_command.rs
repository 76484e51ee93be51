//! `strewn hand-over` as a person uses it, on a pseudo-terminal with the board's code behind it.
#![cfg(target_os = "linux")]

mod kept_board;

use kept_board::{Board, Flash, flash_with, kept};
use serial2::SerialPort;
use std::io::{ErrorKind, Read, Write};
use std::os::fd::AsRawFd;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use strewn_controller::safety::Phase;
use strewn_controller::settings::{Config, SignalConfig};
use strewn_controller::view::View;
use strewn_controller::wires::Outputs;
use strewn_link::fuzz::config;

/// A line with the board at one end, and the name of the other.
fn line() -> (SerialPort, SerialPort, PathBuf) {
    let (mut board, laptop) = SerialPort::pair().expect("a pseudo-terminal");
    board.set_read_timeout(Duration::from_millis(20)).expect("a timeout");
    let name = format!("/proc/self/fd/{}", laptop.as_raw_fd());
    let name = std::fs::read_link(name).expect("the terminal's name");
    (board, laptop, name)
}

/// Lets the command talk to the board.
fn at_board(board: &mut Board<'_>, folder: &Path, words: &[&str]) -> Output {
    // The laptop's end is held open, as a cable that stays plugged in.
    let (port, _cable, name) = line();
    let done = AtomicBool::new(false);
    std::thread::scope(|scope| {
        let command = scope.spawn(|| {
            let output =
                strewn(folder, &[words, &["--port", name.to_str().expect("a name")]].concat());
            done.store(true, Ordering::Release);
            output
        });
        while !done.load(Ordering::Acquire) {
            let mut bytes = [0; 256];
            match port.read(&mut bytes) {
                Ok(used) => board.write_all(&bytes[..used]).expect("the board hears"),
                Err(error) => assert_eq!(error.kind(), ErrorKind::TimedOut, "{error}"),
            }
            while let Ok(used) = board.read(&mut bytes) {
                port.write_all(&bytes[..used]).expect("the line holds");
            }
        }
        command.join().expect("an end")
    })
}

fn strewn(folder: &Path, words: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_strewn"));
    command.arg("hand-over").args(words).current_dir(folder).output().expect("a run")
}

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let machine = "[metering]\ndead_band_permille = 110\n[[ticket]]\nnumber = 2\nbite_g = 6750\n";
    std::fs::write(folder.path().join("machine.toml"), machine).expect("written");
    std::fs::write(folder.path().join("farm.toml"), "").expect("written");
    folder
}

#[track_caller]
fn fails(output: &Output, code: i32, words: &[&str]) {
    let told = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(code), "{told}");
    assert!(output.stdout.is_empty());
    assert!(told.starts_with("strewn: ") && told.lines().count() == 1, "{told}");
    for word in words {
        assert!(told.contains(word), "no {word:?} in: {told}");
    }
}

fn old() -> Config {
    config(1)
}

#[test]
fn settings_are_handed_over_once() {
    let folder = folder();
    let mut flash = flash_with(&old());
    let mut board = Board::running(&mut flash, Outputs::default());
    let output = at_board(&mut board, folder.path(), &["machine.toml"]);
    assert!(output.status.success(), "{output:?}");
    let told = String::from_utf8(output.stdout).expect("text");
    for words in [
        "alike in every byte",
        "\n  metering dead_band_permille from 150 to 110 - ",
        "\n  tickets 2 bite_g from 6500 to 6750\n",
    ] {
        assert!(told.contains(words), "no {words:?} in: {told}");
    }
    assert_eq!(told.lines().count(), 3, "{told}");
    let mut new = old();
    new.metering.dead_band_permille = 110;
    new.tickets[1].bite_g = 6_750;
    assert_eq!(kept(&flash), Some(new));

    let written = flash.done;
    let mut board = Board::starting(&mut flash);
    let again = at_board(&mut board, folder.path(), &["machine.toml"]);
    assert!(String::from_utf8_lossy(&again.stdout).contains("nothing was sent"), "{again:?}");
    assert_eq!(flash.done, written);
}

/// Calibration and limits as a builder measured and settled them.
#[test]
fn the_machines_own_sensors_and_limits_are_told_in_words() {
    let folder = folder();
    let own = "[safety]\npressure_limit_kpa = 17500\n[signals]\nfastest_mm_s = 9000\n\
        [signals.weigh]\nzero_counts = -12345\nmg_per_count = 870\n";
    std::fs::write(folder.path().join("own.toml"), own).expect("written");
    let old = Config { signals: SignalConfig::TYPICAL, ..old() };
    let mut flash = flash_with(&old);
    let output = at_board(&mut Board::starting(&mut flash), folder.path(), &["own.toml"]);
    let told = String::from_utf8(output.stdout).expect("text");
    for words in [
        "\n  safety pressure_limit_kpa from 19000 to 17500 - Highest pressure across the motors.\n",
        "\n  signals fastest_mm_s from 15000 to 9000 - Fastest believable ground speed, either way.\n",
        "\n  signals weigh mg_per_count from 1000 to 870 - Mass of one count.\n",
        "\n  signals weigh zero_counts from 0 to -12345 - Counts with nothing on the machine.\n",
    ] {
        assert!(told.contains(words), "no {words:?} in: {told}");
    }
    assert_eq!(told.lines().count(), 5, "{told}");
    let mut new = old;
    new.safety.pressure_limit_kpa = 17_500;
    new.signals.fastest_mm_s = 9_000;
    let weigh = new.signals.weigh.as_mut().expect("fitted");
    (weigh.zero_counts, weigh.mg_per_count) = (-12_345, 870);
    assert_eq!(kept(&flash), Some(new));
}

#[test]
fn settings_that_do_not_fit_to_the_boards_are_refused_by_file_and_name() {
    let folder = folder();
    let mut bare = old();
    bare.signals.weigh = None;
    let mut flash = flash_with(&bare);
    for (text, words) in [
        (
            "[signals.weigh]\nzero_counts = 5\n",
            ["`mg_per_count` in [signals.weigh] is missing", "10 to 20000"],
        ),
        (
            "[safety]\nroller_limit_milliturns_s = 2000\n",
            ["roller_limit_milliturns_s is 2000", "from 3500 to 10000"],
        ),
    ] {
        std::fs::write(folder.path().join("own.toml"), text).expect("written");
        let output = at_board(&mut Board::starting(&mut flash), folder.path(), &["own.toml"]);
        fails(&output, 2, &[&["own.toml"], &words[..]].concat());
    }
    assert_eq!(kept(&flash), Some(bare));
}

#[test]
fn a_new_board_needs_a_scenario() {
    let folder = folder();
    let mut flash = Flash::new(5);
    let output = at_board(&mut Board::starting(&mut flash), folder.path(), &["machine.toml"]);
    fails(&output, 2, &["keeps no settings yet", "--scenario"]);
    let words = ["--scenario", "farm.toml"];
    let output = at_board(&mut Board::starting(&mut flash), folder.path(), &words);
    assert!(output.status.success(), "{output:?}");
    let config = kept(&flash).expect("settings");
    assert_eq!(config.tickets.len(), 1);
}

#[test]
fn nothing_changes_when_something_is_wrong() {
    let folder = folder();
    let mut flash = flash_with(&old());
    let view = View { phase: Phase::Laying, ..View::default() };
    let mut board = Board::running(&mut flash, Outputs { view, ..Outputs::default() });
    fails(
        &at_board(&mut board, folder.path(), &["machine.toml"]),
        1,
        &["/dev/pts/", "not at rest"],
    );
    let mut board = Board { noisy: true, ..Board::starting(&mut flash) };
    fails(&at_board(&mut board, folder.path(), &["machine.toml"]), 1, &["damaged", "cable"]);
    fails(&at_board(&mut Board::off(), folder.path(), &["machine.toml"]), 1, &["does not answer"]);
    assert_eq!(kept(&flash), Some(old()));

    let few = "[[ticket]]\nnumber = 4\nbite_g = 6750\n";
    std::fs::write(folder.path().join("few.toml"), few).expect("written");
    let output = at_board(&mut Board::starting(&mut flash), folder.path(), &["few.toml"]);
    fails(&output, 2, &["[[ticket]] 4", "allowed is 1 to 3"]);
    assert_eq!(kept(&flash), Some(old()));
}

#[test]
fn wrong_use_is_told_before_anything_is_sent() {
    let folder = folder();
    let path = folder.path();
    fails(
        &strewn(path, &["machine.toml", "--port", "nowhere"]),
        2,
        &["nowhere", "ports of this computer"],
    );
    fails(
        &strewn(path, &["machine.toml", "--port", "farm.toml"]),
        2,
        &["cannot open the serial port"],
    );
    fails(&strewn(path, &["machine.toml"]), 2, &["--port"]);
    fails(&strewn(path, &["--port", "nowhere"]), 2, &["SETTINGS"]);
    std::fs::write(path.join("wrong.toml"), "[metering]\nfall_ms = -1\n").expect("written");
    fails(
        &strewn(path, &["wrong.toml", "--port", "nowhere"]),
        2,
        &["wrong.toml", "line 2", "fall_ms"],
    );
    fails(&strewn(path, &["none.toml", "--port", "nowhere"]), 2, &["cannot read none.toml"]);
}
