//! The tests of safe stop are themselves tried: each of these defects, planted in a copy of the controller,
//! must make them fail.
//!
//! The copy holds all defects behind one switch, so that it is built once. It takes a minute: `tests/run
//! planted` runs it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// File, a piece of it that stands there once, the expression in it, and what stands there instead.
type Defect = (&'static str, &'static str, &'static str, &'static str);

const DEFECTS: [Defect; 25] = [
    (
        "gate",
        "&& inputs.switches.has(settings.vital)",
        "inputs.switches.has(settings.vital)",
        "true",
    ),
    ("gate", "tick <= settings.tick_limit", "tick <= settings.tick_limit", "true"),
    ("gate", "tick > Span::ZERO", "tick > Span::ZERO", "true"),
    ("gate", "&& memory.flags & TOO_FAST == 0", "memory.flags & TOO_FAST == 0", "true"),
    ("gate", "Permit::Lay => (run, proposed", "run", "true"),
    (
        "gate",
        "memory.last.saturating_add(growth).min(limit)",
        "memory.last.saturating_add(growth).min(limit)",
        "limit",
    ),
    ("gate", "self.recall().is_some()", "self.recall().is_some()", "true"),
    ("supervisor", "(None, None) if run_newly => self.phase = Phase::Laying", "run_newly", "true"),
    ("supervisor", "self.check.get() == Some(code)", "self.check.get() == Some(code)", "true"),
    ("supervisor", "lasted.saturating_sub(half)", "lasted.saturating_sub(half)", "Span::ZERO"),
    ("supervisor", "(None, _) if now > self.until", "now > self.until", "false"),
    ("supervisor", "Response::StopAndLatch => Phase::Latched", "Phase::Latched", "Phase::Resting"),
    (
        "supervisor",
        "Response::StopAndIsolate => Phase::Isolated",
        "Phase::Isolated",
        "Phase::Latched",
    ),
    (
        "watch",
        "self.held || inputs.switches.has(settings.run)",
        "inputs.switches.has(settings.run)",
        "true",
    ),
    ("watch", "(Condition::OperatorAway, !switches.present)", "!switches.present", "false"),
    ("watch", "(Condition::GroundSpeedLost, !known)", "!known", "false"),
    ("watch", "path.coil_driven && decayed", "path.coil_driven && decayed", "false"),
    ("watch", "!standing && (self.stood || stopped)", "(self.stood || stopped)", "self.stood"),
    ("watch", "(Condition::RollersRunOn, run_on)", "run_on", "false"),
    ("hay", "estimates.hay.core_expected && sensors", "estimates.hay.core_expected", "false"),
    ("watch", ".or(self.of_ground)", "self.of_ground", "Observed::default()"),
    ("watch", ".or(self.of_hay)", "self.of_hay", "Observed::default()"),
    ("watch", "self.early >= TOO_SLOW", "self.early >= TOO_SLOW", "false"),
    ("valve_path", "time >= ANSWER && path.is_open()", "path.is_open()", "false"),
    ("valve_path", "(GONE) && path.coil_driven", "path.coil_driven", "false"),
];

/// What tells the copy which defect is alive.
const SWITCH: &str = "
extern crate std;

/// Whether this defect is the one that is alive.
pub fn planted(number: usize) -> bool {
    static ALIVE: std::sync::OnceLock<Option<usize>> = std::sync::OnceLock::new();
    let read = || std::env::var(\"STREWN_PLANTED\").ok().and_then(|text| text.parse().ok());
    *ALIVE.get_or_init(read) == Some(number)
}
";

fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("a folder") {
        let path = entry.expect("an entry").path();
        let target = to.join(path.file_name().expect("a name"));
        if path.is_dir() {
            copy_folder(&path, &target);
        } else {
            fs::copy(&path, &target).expect("a file");
        }
    }
}

fn change(path: &Path, changed: impl FnOnce(String) -> String) {
    let text =
        fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    fs::write(path, changed(text)).expect("a file");
}

/// A copy of the controller with every defect in it, in a workspace of its own.
fn plant(folder: &Path) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let controller = folder.join("controller");
    if controller.exists() {
        fs::remove_dir_all(&controller).expect("the last copy goes");
    }
    copy_folder(&root.join("controller/src"), &controller.join("src"));
    copy_folder(&root.join("controller/tests/safety"), &controller.join("tests/safety"));
    fs::copy(root.join("controller/Cargo.toml"), controller.join("Cargo.toml")).expect("a file");
    change(&controller.join("Cargo.toml"), |text| {
        // Of what tests are made with, those of safe stop need one.
        let (all, _) = text.split_once("[dev-dependencies]").expect("its table");
        format!("{all}[dev-dependencies]\nproptest.workspace = true\n")
    });
    for file in ["Cargo.toml", "Cargo.lock"] {
        fs::copy(root.join(file), folder.join(file)).expect("a file");
    }
    change(&folder.join("Cargo.toml"), |text| {
        let (_, package) = text.split_once("[workspace.package]").expect("the package's table");
        format!(
            "[workspace]\nresolver = \"3\"\nmembers = [\"controller\"]\n[workspace.package]{package}"
        )
    });
    change(&controller.join("src/lib.rs"), |text| text + SWITCH);
    for (number, (file, place, from, to)) in DEFECTS.into_iter().enumerate() {
        change(&controller.join(format!("src/safety/{file}.rs")), |text| {
            assert_eq!(text.matches(place).count(), 1, "{file}.rs: {place}");
            assert!(place.contains(from), "{from} is no part of {place}");
            let either = format!("(if crate::planted({number}) {{ {to} }} else {{ {from} }})");
            text.replace(place, &place.replacen(from, &either, 1))
        });
    }
}

/// Whether the tests of safe stop pass with this defect alive, or none.
fn passes(folder: &Path, alive: Option<usize>) -> bool {
    let mut command = Command::new(env!("CARGO"));
    command
        .args(["test", "--offline", "--quiet", "-p", "strewn-controller", "--test", "safety"])
        .current_dir(folder)
        .env("CARGO_TARGET_DIR", folder.join("target"))
        .env("CARGO_PROFILE_DEV_DEBUG", "none")
        .env("PROPTEST_CASES", "50")
        .env("PROPTEST_MAX_SHRINK_ITERS", "0")
        .env("PROPTEST_FAILURE_PERSISTENCE", "off")
        .env_remove("STREWN_PLANTED")
        .stdout(Stdio::null())
        .stderr(if alive.is_some() { Stdio::null() } else { Stdio::inherit() });
    if let Some(number) = alive {
        command.env("STREWN_PLANTED", number.to_string());
    }
    command.status().expect("cargo runs").success()
}

#[test]
#[ignore = "builds a controller of its own: tests/run planted"]
fn each_planted_defect_is_caught() {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("planted");
    plant(&folder);
    assert!(passes(&folder, None), "without a defect the tests pass");
    let missed: Vec<_> =
        (0..DEFECTS.len()).filter(|number| passes(&folder, Some(*number))).collect();
    let told: Vec<_> = missed.iter().map(|number| DEFECTS[*number]).collect();
    assert!(missed.is_empty(), "not caught: {told:#?}");
}
