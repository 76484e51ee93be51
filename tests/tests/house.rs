//! The house keeps its own rules: small files, nothing that gives up in a core, a tidy top level,
//! documents whose links and commands exist.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const LONGEST_FILE: usize = 500;

const TOP_LEVEL: [&str; 13] = [
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE-APACHE",
    "LICENSE-MIT",
    "README.md",
    "clippy.toml",
    "controller",
    "deny.toml",
    "hardware-notes",
    "rustfmt.toml",
    "sim",
    "tests",
];

/// What ends a program instead of telling a person what was wrong.
const GIVING_UP: [&str; 5] = [".unwrap()", ".expect(", "panic!", "todo!", "unimplemented!"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Every file under version control that exists, relative to the root.
fn tracked() -> Vec<String> {
    let listing = Command::new("git")
        .args(["-c", "safe.directory=*", "ls-files", "-z"])
        .current_dir(root())
        .output()
        .expect("git should run: these checks look at the files under version control");
    assert!(listing.status.success(), "git: {}", String::from_utf8_lossy(&listing.stderr));
    let names = String::from_utf8(listing.stdout).expect("file names should be UTF-8");
    let files: Vec<String> = names
        .split_terminator('\0')
        .filter(|name| root().join(name).is_file())
        .map(String::from)
        .collect();
    assert!(files.iter().any(|name| name == "Cargo.toml"), "git listed {files:?}");
    files
}

fn tracked_with(ending: &str) -> Vec<(String, String)> {
    let named = tracked().into_iter().filter(|name| name.ends_with(ending));
    let read = named.map(|name| {
        let text = fs::read_to_string(root().join(&name)).expect(&name);
        (name, text)
    });
    read.collect()
}

fn assert_none(faults: &[String]) {
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

#[test]
fn every_source_file_is_short() {
    let long = tracked_with(".rs").into_iter().filter_map(|(name, text)| {
        let lines = text.lines().count();
        (lines > LONGEST_FILE).then(|| format!("{name}: {lines} lines, at most {LONGEST_FILE}"))
    });
    assert_none(&long.collect::<Vec<_>>());
}

/// The lines of a file that are neither comments nor behind the first `#[cfg(test)]` module.
///
/// Tests stand at the end of a file here; `#[cfg(test)]` before anything but `mod` hides nothing.
fn code_lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let lines: Vec<&str> = text.lines().map(str::trim).collect();
    let tests = lines
        .windows(2)
        .position(|pair| pair[0] == "#[cfg(test)]" && pair[1].starts_with("mod "))
        .unwrap_or(lines.len());
    let numbered = (1..).zip(lines).take(tests);
    numbered.filter(|(_, line)| !line.starts_with("//"))
}

#[test]
fn code_lines_end_where_the_tests_begin() {
    let text =
        "a();\n// b\n#[cfg(test)]\nextern crate std;\nc();\n#[cfg(test)]\nmod tests {\n    d();\n}";
    let seen: Vec<_> = code_lines(text).map(|(number, _)| number).collect();
    assert_eq!(seen, [1, 3, 4, 5]);
}

#[test]
fn nothing_gives_up_outside_tests() {
    let mut faults = Vec::new();
    for (name, text) in tracked_with(".rs") {
        let rooms = ["controller/src/", "sim/src/", "sim/window/src/"];
        if !rooms.iter().any(|room| name.starts_with(room)) {
            continue;
        }
        for (number, line) in code_lines(&text) {
            let found = GIVING_UP.iter().filter(|word| line.contains(**word));
            faults.extend(found.map(|word| format!("{name}:{number}: {word}")));
        }
    }
    assert_none(&faults);
}

#[test]
fn the_top_level_is_tidy() {
    let entries: BTreeSet<String> = tracked()
        .iter()
        .filter_map(|name| name.split('/').next())
        .filter(|entry| !entry.starts_with('.') && !TOP_LEVEL.contains(entry))
        .map(|entry| format!("{entry}: not one of {TOP_LEVEL:?}"))
        .collect();
    assert_none(&Vec::from_iter(entries));
}

/// The text of a document split at its code fences: every second piece is code.
fn pieces(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.split("\n```").enumerate()
}

/// Targets of `[words](target)` outside code.
fn links(text: &str) -> Vec<&str> {
    let prose = pieces(text).filter(|(index, _)| index % 2 == 0);
    let targets = prose
        .flat_map(|(_, piece)| piece.split("](").skip(1).filter_map(|rest| rest.split(')').next()));
    targets.collect()
}

/// The anchors of a document's headings: lower case, spaces as hyphens, other signs dropped.
fn anchors(text: &str) -> Vec<String> {
    let headings = text.lines().filter(|line| line.starts_with('#'));
    let anchor = |line: &str| {
        let words = line.trim_start_matches('#').trim().to_lowercase().replace(' ', "-");
        words.chars().filter(|sign| sign.is_alphanumeric() || "-_".contains(*sign)).collect()
    };
    headings.map(anchor).collect()
}

/// Why a link of a document leads nowhere. Addresses on the net are not tried.
fn broken(document: &str, text: &str, link: &str) -> Option<String> {
    if link.starts_with("https://") || link.starts_with("mailto:") {
        return None;
    }
    let (path, anchor) = link.split_once('#').unwrap_or((link, ""));
    let target = root().join(document).with_file_name(path);
    if !path.is_empty() && !target.exists() {
        return Some(format!("{document}: no file {path}"));
    }
    let there = if path.is_empty() {
        text.to_owned()
    } else {
        fs::read_to_string(&target).unwrap_or_default()
    };
    let found = anchor.is_empty() || anchors(&there).iter().any(|known| known == anchor);
    (!found).then(|| format!("{document}: no heading for {link}"))
}

#[test]
fn links_in_documents_resolve() {
    let mut faults = Vec::new();
    for (name, text) in tracked_with(".md") {
        faults.extend(links(&text).into_iter().filter_map(|link| broken(&name, &text, link)));
    }
    assert_none(&faults);
}

#[test]
fn a_broken_link_is_found() {
    let text = "# One thing\n[a](Cargo.toml) [b](#one-thing) [c](none.md) [d](#two)";
    let found: Vec<_> = links(text).iter().filter_map(|l| broken("README.md", text, l)).collect();
    assert_eq!(found, ["README.md: no file none.md", "README.md: no heading for #two"]);
}

/// The command lines in a document's code blocks, without comments and prompts.
fn commands(text: &str) -> Vec<&str> {
    let code = pieces(text).filter(|(index, piece)| index % 2 == 1 && !piece.starts_with("text"));
    // The first line of a piece is what follows the fence: the language.
    let lines = code.flat_map(|(_, piece)| piece.lines().skip(1));
    lines.filter_map(|line| line.split('#').next()).map(str::trim).collect()
}

/// Whether `strewn` knows a sub-command: a variant of that name stands in the command's source.
fn is_sub_command(word: &str) -> bool {
    let parts = word.split('-').filter(|part| !part.is_empty());
    let capital = |part: &str| part[..1].to_uppercase() + &part[1..];
    let variant = format!("    {}", parts.map(capital).collect::<String>());
    let sources = tracked_with(".rs");
    let lines = sources.iter().filter(|(name, _)| name.starts_with("sim/src/cli"));
    let mut lines = lines.flat_map(|(_, text)| text.lines());
    lines
        .any(|line| line.strip_prefix(&variant).is_some_and(|end| end.starts_with([' ', '(', ','])))
}

/// Whether a command line names a script or a sub-command that exists; other programs are not judged.
fn exists(line: &str) -> bool {
    let words: Vec<&str> = line.split_whitespace().collect();
    let sub_command = match words.as_slice() {
        [script, ..] if script.starts_with("tests/") => return root().join(script).is_file(),
        ["cargo", "run", rest @ ..] => rest.iter().skip_while(|word| **word != "--").nth(1),
        [program, rest @ ..] if program.ends_with("strewn") => rest.first(),
        _ => None,
    };
    sub_command.is_none_or(|word| word.starts_with('-') || is_sub_command(word))
}

#[test]
fn commands_in_documents_exist() {
    let documents = tracked_with(".md");
    let readme = documents.iter().find(|(name, _)| name == "README.md").expect("a README.md");
    for needed in ["cargo run --release", "tests/run"] {
        let shown = commands(&readme.1).contains(&needed);
        assert!(shown, "README.md shows no code block with the line `{needed}`");
    }
    let lines = documents
        .iter()
        .flat_map(|(name, text)| commands(text).into_iter().map(move |line| (name, line)));
    let unknown = lines.filter(|(_, line)| !exists(line));
    assert_none(&unknown.map(|(name, line)| format!("{name}: {line}")).collect::<Vec<_>>());
}

#[test]
fn an_unknown_command_is_found() {
    for line in ["tests/nothing", "strewn nothing", "cargo run --release -- nothing"] {
        assert!(!exists(line), "{line}");
    }
    for line in ["tests/run fmt", "strewn --help", "cargo run --release", "ls"] {
        assert!(exists(line), "{line}");
    }
}
