//! The command teaches its use, and its text can be piped.

use std::io::Read;
use std::process::{Command, Output, Stdio};

fn strewn(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_strewn")).args(arguments).output().unwrap()
}

fn told(arguments: &[&str]) -> String {
    let output = strewn(arguments);
    assert!(output.status.success(), "{arguments:?}");
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn every_command_has_an_example() {
    for command in [
        &["--help"][..],
        &["feed", "--help"],
        &["replay", "--help"],
        &["plan", "--help"],
        &["compare", "--help"],
        &["check-row", "--help"],
        &["window", "--help"],
        &["hand-over", "--help"],
    ] {
        assert!(told(command).contains("Example"), "{command:?}");
    }
    assert!(told(&["completion", "--help"]).contains("Example"));
}

#[test]
fn the_long_help_ends_with_the_cautions() {
    let help = told(&["--help"]);
    let cautions = help.split_once("Cautions:").expect("cautions").1;
    for word in ["stop the engine", "hydraulic pressure", "never the only stop", "local codes"] {
        assert!(cautions.contains(word), "{word}");
    }
}

#[test]
fn the_window_is_found() {
    assert!(told(&["window"]).contains("cargo run --release -p strewn-window"));
}

#[test]
fn every_shell_gets_its_completion() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        assert!(told(&["completion", shell]).contains("ground-speed"), "{shell}");
    }
}

#[test]
fn a_reader_that_goes_is_no_failure() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_strewn"))
        .args(["completion", "bash"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let mut told = String::new();
    child.stderr.take().unwrap().read_to_string(&mut told).unwrap();
    assert!(child.wait().unwrap().success());
    assert_eq!(told, "");
}
