//! A program in C does what the library does, the header says what the code does, and bad calls are told.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::ptr::{null, null_mut};
use strewn_c_api::{
    STREWN_CONTROLLER_WORDS, StrewnController, StrewnInputs, StrewnOutputs, StrewnStatus,
    strewn_digest, strewn_read_frame, strewn_start, strewn_step,
};
use strewn_controller::record::{FRAME_MAX, digest, encode};
use strewn_controller::step::{State, step};
use strewn_controller::wires::{Inputs, Outputs};
use strewn_link::fuzz::{Fuzz, config};

const RENEW: &str = "STREWN_RENEW_HEADER";
const TICKS: u32 = 20_000;

fn here() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

#[test]
fn the_header_is_that_of_the_code() {
    let rules = cbindgen::Config::from_file(here().join("cbindgen.toml")).expect("rules");
    let sources = [here().join("src/wires.rs"), here().join("src/lib.rs")];
    let mut builder = cbindgen::Builder::new().with_config(rules);
    for source in sources {
        builder = builder.with_src(source);
    }
    let mut drawn = Vec::new();
    builder.generate().expect("a header").write(&mut drawn);
    let path = here().join("include/strewn.h");
    if std::env::var_os(RENEW).is_some() {
        fs::write(&path, &drawn).expect("written");
    }
    let kept = fs::read(&path).unwrap_or_default();
    assert!(kept == drawn, "include/strewn.h is not that of the code; {RENEW}=1 draws it anew");
}

/// Made-up wires of a seed as settings record and frames, and what the library makes of them.
fn story(seed: u32) -> (Vec<u8>, Vec<u8>, u32, String) {
    let config = config(seed);
    let mut room = [0; 4_096];
    let record = postcard::to_slice(&config, &mut room).expect("room").to_vec();
    let settings = config.build().expect("allowed");
    let (mut state, mut fuzz) = (State::new(&settings), Fuzz::new(seed));
    let (mut previous, mut outputs) = (Inputs::default(), Outputs::default());
    let (mut frames, mut sum, mut enabled) = (Vec::new(), 0, 0);
    for _ in 0..TICKS {
        let inputs = fuzz.advance(&outputs).1.clone();
        let mut frame = [0; FRAME_MAX];
        let length = encode(&previous, &inputs, 0, &mut frame).expect("room");
        frames.extend_from_slice(&frame[..length]);
        outputs = step(&settings, &mut state, &inputs);
        sum = digest(sum, &outputs);
        enabled += u32::from(outputs.enable);
        previous = inputs;
    }
    let printed = format!("{TICKS} ticks, {enabled} enabled, digest {sum:08x}\n");
    (record, frames, enabled, printed)
}

/// The static library that was built with this test.
fn library() -> PathBuf {
    let program = std::env::current_exe().expect("a path");
    let beside = fs::read_dir(program.parent().expect("a folder")).expect("a list");
    let built = beside.filter_map(|entry| {
        let path = entry.ok()?.path();
        let name = path.file_name()?.to_str()?;
        let ours = name.starts_with("libstrewn_c_api") && name.ends_with(".a");
        Some((path.metadata().ok()?.modified().ok()?, path)).filter(|_| ours)
    });
    built.max().expect("a static library beside the test").1
}

#[test]
fn a_program_in_c_gives_the_same_digest() {
    let folder = tempfile::tempdir().expect("a folder");
    let program = folder.path().join("replay");
    let built = Command::new("cc")
        .args(["-std=c99", "-Wall", "-Wextra", "-Werror", "-pedantic", "-I"])
        .arg(here().join("include"))
        .arg(here().join("example/replay.c"))
        .arg(library())
        .args(["-lpthread", "-ldl", "-lm", "-o"])
        .arg(&program)
        .output()
        .expect("a C compiler");
    assert!(built.status.success(), "{}", String::from_utf8_lossy(&built.stderr));
    let mut all_enabled = 0;
    for seed in 0..8 {
        let (record, frames, enabled, wanted) = story(seed);
        all_enabled += enabled;
        let paths = [folder.path().join("settings"), folder.path().join("frames")];
        fs::write(&paths[0], record).expect("written");
        fs::write(&paths[1], frames).expect("written");
        let ran = Command::new(&program).args(&paths).output().expect("a run");
        assert_eq!(String::from_utf8_lossy(&ran.stdout), wanted, "seed {seed}: {ran:?}");
    }
    assert!(all_enabled > TICKS / 20, "only {all_enabled} ticks in which anything was let turn");
}

fn empty() -> StrewnController {
    // SAFETY: a controller is words, and zero is a word.
    unsafe { std::mem::zeroed() }
}

#[test]
fn bad_calls_are_told_and_give_safe_outputs() {
    assert_eq!(size_of::<StrewnController>(), STREWN_CONTROLLER_WORDS * 8);
    let (record, frames, ..) = story(1);
    let mut controller = empty();
    let mut inputs = StrewnInputs::default();
    let on = StrewnOutputs { valve: 9, enable: true, feed_watchdog: true, lamps: 9 };
    let safe = StrewnOutputs::default();
    // SAFETY: every pointer is null or to a local of its kind.
    unsafe {
        let mut outputs = on;
        assert_eq!(strewn_step(&mut controller, &inputs, &mut outputs), StrewnStatus::NotStarted);
        assert_eq!(outputs, safe);
        assert_eq!(strewn_digest(&mut controller, 5), 5);
        for (controller, inputs) in [(null_mut(), &raw const inputs), (&raw mut controller, null())]
        {
            outputs = on;
            assert_eq!(strewn_step(controller, inputs, &mut outputs), StrewnStatus::Null);
            assert_eq!(outputs, safe);
        }
        assert_eq!(strewn_start(&mut controller, null(), 9), StrewnStatus::Null);
        let start = strewn_start(&mut controller, record.as_ptr(), record.len());
        assert_eq!(start, StrewnStatus::Done);
        assert_eq!(strewn_step(&mut controller, &inputs, null_mut()), StrewnStatus::Null);
        assert_eq!(strewn_step(&mut controller, &inputs, &mut outputs), StrewnStatus::Done);
        // A start that is refused leaves nothing that could be stepped.
        let start = strewn_start(&mut controller, record.as_ptr(), record.len() - 1);
        assert_eq!(start, StrewnStatus::Settings);
        outputs = on;
        assert_eq!(strewn_step(&mut controller, &inputs, &mut outputs), StrewnStatus::NotStarted);
        assert_eq!(outputs, safe);
        let mut used = 7;
        let short = strewn_read_frame(&mut inputs, frames.as_ptr(), 9, &mut used);
        assert_eq!((short, used, inputs), (StrewnStatus::Frame, 7, StrewnInputs::default()));
    }
}
