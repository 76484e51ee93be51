//! A program in C does what the library does, the header says what the code does, and bad calls are told.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::ptr::{null, null_mut};
use strewn_c_api::{
    STREWN_CONTROLLER_WORDS, STREWN_LEARNED_BYTES, StrewnController, StrewnInputs, StrewnOutputs,
    StrewnStatus, strewn_digest, strewn_learned, strewn_read_frame, strewn_start,
    strewn_start_learned, strewn_step,
};
use strewn_controller::learned::{Learned, settings_digest};
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

/// Made-up wires of a seed, and what the library makes of them.
struct Story {
    record: Vec<u8>,
    frames: Vec<u8>,
    enabled: u32,
    /// What the example prints.
    printed: String,
    learned: [u8; STREWN_LEARNED_BYTES],
}

/// The story of a seed, with what was learned before or without.
fn story(seed: u32, learned: Option<&[u8]>) -> Story {
    let config = config(seed);
    let mut room = [0; 4_096];
    let record = postcard::to_slice(&config, &mut room).expect("room").to_vec();
    let (settings, under) = (config.build().expect("allowed"), settings_digest(&config));
    let learned = learned.map(|bytes| Learned::from_bytes(bytes, under).expect("whole"));
    let new = || State::new(&settings);
    let mut state = learned.map_or_else(new, |learned| State::with_learned(&settings, &learned));
    let mut fuzz = Fuzz::new(seed);
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
    Story { record, frames, enabled, printed, learned: state.learned().to_bytes(under) }
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

/// The example, built.
fn example(folder: &Path) -> PathBuf {
    let program = folder.join("replay");
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
    program
}

/// Runs the example on a story in a folder, the file of what was learned named or not; what it prints, and
/// what it complains of.
fn replay(program: &Path, folder: &Path, story: &Story, learned: &[&str]) -> (String, String) {
    fs::write(folder.join("settings"), &story.record).expect("written");
    fs::write(folder.join("frames"), &story.frames).expect("written");
    let words = [&["settings", "frames"], learned].concat();
    let ran = Command::new(program).args(words).current_dir(folder).output().expect("a run");
    assert!(ran.status.success(), "{ran:?}");
    let text = |bytes| String::from_utf8(bytes).expect("text");
    (text(ran.stdout), text(ran.stderr))
}

#[test]
fn a_program_in_c_gives_the_same_digest() {
    let folder = tempfile::tempdir().expect("a folder");
    let program = example(folder.path());
    let mut all_enabled = 0;
    for seed in 0..8 {
        let story = story(seed, None);
        all_enabled += story.enabled;
        let (printed, _) = replay(&program, folder.path(), &story, &[]);
        assert_eq!(printed, story.printed, "seed {seed}");
    }
    assert!(all_enabled > TICKS / 20, "only {all_enabled} ticks in which anything was let turn");
}

/// Power off after a story and on again: the next one begins with what the first has taught.
#[test]
fn a_program_in_c_goes_on_with_what_was_learned() {
    let folder = tempfile::tempdir().expect("a folder");
    let program = example(folder.path());
    let path = folder.path().join("learned");
    let mut taught = 0;
    for seed in 0..8 {
        let _ = fs::remove_file(&path);
        let first = story(seed, None);
        let (printed, told) = replay(&program, folder.path(), &first, &["learned"]);
        assert_eq!((printed.as_str(), told.as_str()), (first.printed.as_str(), ""), "seed {seed}");
        assert_eq!(fs::read(&path).expect("kept"), first.learned, "seed {seed}");

        let second = story(seed, Some(&first.learned));
        let (printed, told) = replay(&program, folder.path(), &second, &["learned"]);
        assert_eq!((printed.as_str(), told.as_str()), (second.printed.as_str(), ""), "seed {seed}");
        assert_eq!(fs::read(&path).expect("kept"), second.learned, "seed {seed}");
        let (without, _) = replay(&program, folder.path(), &second, &[]);
        taught += u32::from(without != second.printed);

        let mut damaged = first.learned;
        damaged[20] ^= 4;
        fs::write(&path, damaged).expect("written");
        let (printed, told) = replay(&program, folder.path(), &second, &["learned"]);
        assert_eq!(printed, without, "seed {seed}: damaged, and yet it made a difference");
        assert!(told.contains("damaged"), "{told}");
    }
    assert!(taught > 2, "what was learned made a difference to {taught} of 8 stories only");
}

fn empty() -> StrewnController {
    // SAFETY: a controller is words, and zero is a word.
    unsafe { std::mem::zeroed() }
}

#[test]
fn bad_calls_are_told_and_give_safe_outputs() {
    assert_eq!(size_of::<StrewnController>(), STREWN_CONTROLLER_WORDS * 8);
    let Story { record, frames, .. } = story(1, None);
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

/// A copy given to another controller makes it command the same; what is refused changes nothing.
#[test]
fn what_was_learned_is_taken_out_and_given_back() {
    let Story { record, frames, learned, .. } = story(1, None);
    let start = |controller: &mut StrewnController, learned: &[u8]| {
        // SAFETY: every pointer is to a local of its kind.
        unsafe {
            let started = strewn_start(controller, record.as_ptr(), record.len());
            assert_eq!(started, StrewnStatus::Done);
            strewn_start_learned(controller, learned.as_ptr(), learned.len())
        }
    };
    let taken = |controller: &mut StrewnController, length: usize| {
        let mut bytes = [0xA5; STREWN_LEARNED_BYTES + 4];
        assert!(length <= bytes.len());
        // SAFETY: every pointer is to a local of its kind.
        let status = unsafe { strewn_learned(controller, bytes.as_mut_ptr(), length) };
        (status, bytes)
    };
    let (mut taught, mut new) = (empty(), empty());
    assert_eq!(taken(&mut taught, STREWN_LEARNED_BYTES).0, StrewnStatus::NotStarted);
    assert_eq!(start(&mut taught, &learned), StrewnStatus::Done);
    let (status, bytes) = taken(&mut taught, STREWN_LEARNED_BYTES + 4);
    assert_eq!((status, &bytes[..STREWN_LEARNED_BYTES]), (StrewnStatus::Done, &learned[..]));
    assert_eq!(bytes[STREWN_LEARNED_BYTES..], [0xA5; 4], "written beyond its end");
    let (status, bytes) = taken(&mut taught, STREWN_LEARNED_BYTES - 1);
    assert_eq!((status, bytes), (StrewnStatus::Room, [0xA5; STREWN_LEARNED_BYTES + 4]));

    let mut damaged = learned;
    damaged[9] ^= 1;
    let other = story(2, None).learned;
    let short = &learned[..STREWN_LEARNED_BYTES - 1];
    for refused in [&damaged[..], &other, short, &[]] {
        assert_eq!(start(&mut new, refused), StrewnStatus::Learned);
        assert_eq!(replayed(&mut new, &frames), untaught(&record, &frames));
    }
    assert_eq!(start(&mut new, &learned), StrewnStatus::Done);
    let digest = replayed(&mut taught, &frames);
    assert_eq!(replayed(&mut new, &frames), digest);
    assert_ne!(digest, untaught(&record, &frames), "it made no difference");
    // SAFETY: null, or a local of its kind.
    unsafe {
        assert_eq!(strewn_learned(&mut new, null_mut(), 99), StrewnStatus::Null);
        assert_eq!(strewn_start_learned(&mut new, null(), 99), StrewnStatus::Null);
        assert_eq!(strewn_start_learned(null_mut(), learned.as_ptr(), 84), StrewnStatus::Null);
        let mut none = empty();
        let status = strewn_start_learned(&mut none, learned.as_ptr(), learned.len());
        assert_eq!(status, StrewnStatus::NotStarted);
    }
}

/// The digest of everything that a controller commands on these frames.
fn replayed(controller: &mut StrewnController, frames: &[u8]) -> u32 {
    let (mut inputs, mut outputs) = (StrewnInputs::default(), StrewnOutputs::default());
    let (mut rest, mut digest) = (frames, 0);
    while !rest.is_empty() {
        let mut used = 0;
        // SAFETY: every pointer is to a local of its kind.
        unsafe {
            let read = strewn_read_frame(&mut inputs, rest.as_ptr(), rest.len(), &mut used);
            assert_eq!(read, StrewnStatus::Done);
            assert_eq!(strewn_step(controller, &inputs, &mut outputs), StrewnStatus::Done);
            digest = strewn_digest(controller, digest);
        }
        rest = &rest[used..];
    }
    digest
}

/// The same for one that was taught nothing.
fn untaught(record: &[u8], frames: &[u8]) -> u32 {
    let mut controller = empty();
    // SAFETY: every pointer is to a local of its kind.
    let started = unsafe { strewn_start(&mut controller, record.as_ptr(), record.len()) };
    assert_eq!(started, StrewnStatus::Done);
    replayed(&mut controller, frames)
}
