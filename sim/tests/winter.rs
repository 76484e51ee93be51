//! The winter that is told: every command in `winter.md` runs, and gives the lines quoted there.

use std::path::Path;
use std::process::{Command, Stdio};

/// How far a number of an `about` block may be off, as a share: the model is refined now and then.
const ABOUT: f64 = 0.35;

/// A block of the document: its heading word or words and its lines.
struct Block {
    kind: String,
    lines: Vec<String>,
}

fn blocks(document: &str) -> Vec<Block> {
    let mut blocks = Vec::new();
    let mut lines = document.lines();
    while let Some(line) = lines.next() {
        if let Some(kind) = line.strip_prefix("```") {
            let inside = lines.by_ref().take_while(|line| *line != "```").map(str::to_owned);
            blocks.push(Block { kind: kind.to_owned(), lines: inside.collect() });
        }
    }
    blocks
}

/// Runs the lines as a person would type them into a shell, the program on the path; gives what they
/// print. The first command that fails ends it.
#[track_caller]
fn typed(folder: &Path, lines: &[String]) -> String {
    let program = Path::new(env!("CARGO_BIN_EXE_strewn")).parent().unwrap();
    let path = std::env::var("PATH").unwrap();
    let output = Command::new("sh")
        .args(["-eu", "-c", &lines.join("\n")])
        .current_dir(folder)
        .env("PATH", format!("{}:{path}", program.display()))
        .stdin(Stdio::null())
        .output()
        .unwrap();
    let complaint = String::from_utf8(output.stderr).unwrap();
    assert_eq!((output.status.code(), complaint.as_str()), (Some(0), ""), "{lines:?}");
    String::from_utf8(output.stdout).unwrap()
}

/// Words of a line; a number stands with its sign, without commas between thousands.
fn words(line: &str) -> Vec<String> {
    line.replace(['(', ')'], " ").split_whitespace().map(|word| word.replace(',', "")).collect()
}

/// Whether two words are the same or, where leave is given, numbers near each other.
fn alike(quoted: &str, told: &str, leave: f64) -> bool {
    let minutes = |word: &str| {
        let (minutes, seconds) = word.split_once(':')?;
        Some(60.0 * minutes.parse::<f64>().ok()? + seconds.parse::<f64>().ok()?)
    };
    let number = |word: &str| word.parse::<f64>().ok().or_else(|| minutes(word));
    match (number(quoted), number(told)) {
        (Some(one), Some(other)) if leave > 0.0 => (one - other).abs() <= leave * one.abs() + 0.1,
        _ => quoted == told,
    }
}

fn says(quoted: &str, told: &str, leave: f64) -> bool {
    let (quoted, told) = (words(quoted), words(told));
    quoted.len() == told.len()
        && quoted.iter().zip(&told).all(|(quoted, told)| alike(quoted, told, leave))
}

/// The first quoted line that does not stand in what was told, in the order quoted.
fn missing<'a>(quoted: &'a Block, told: &str) -> Option<&'a String> {
    let leave = if quoted.kind == "text about" { ABOUT } else { 0.0 };
    let mut rest = told.lines();
    let stands = |line: &&String| *line == "..." || rest.any(|told| says(line, told, leave));
    let mut stands = stands;
    quoted.lines.iter().find(|line| !stands(line))
}

#[test]
fn every_command_runs_and_gives_what_is_quoted() {
    let folder = tempfile::tempdir().unwrap();
    let blocks = blocks(include_str!("../winter.md"));
    let mut told = String::new();
    for block in &blocks {
        match block.kind.as_str() {
            "sh" => told = typed(folder.path(), &block.lines),
            "text" | "text about" => {
                assert_eq!(missing(block, &told), None, "in what was told:\n{told}");
            }
            other => panic!("a block of the kind {other:?}"),
        }
    }
    let all: String = blocks.iter().flat_map(|block| &block.lines).cloned().collect();
    for act in ["plan", "feed", "check-row", "book", "compare", "fit"] {
        assert!(all.contains(&format!("strewn {act} ")), "nothing about {act}");
    }
}

#[test]
fn a_wrong_quotation_is_found() {
    let quoted = |kind: &str, line: &str| Block { kind: kind.into(), lines: vec![line.into()] };
    let told = "first\nlaid  1,180 (535) lb in 0:37\nlast";
    assert_eq!(missing(&quoted("text", "laid 1,180 (535) lb in 0:37"), told), None);
    assert!(missing(&quoted("text", "laid 1,181 (535) lb in 0:37"), told).is_some());
    assert_eq!(missing(&quoted("text about", "laid 1,240 (560) lb in 0:35"), told), None);
    assert!(missing(&quoted("text about", "laid 2,240 (560) lb in 0:35"), told).is_some());
    assert!(missing(&quoted("text about", "lost 1,180 (535) lb in 0:37"), told).is_some());
}
