//! The house stands: no floor of the controller uses a floor above it, and nothing in it knows floats
//! or a heap. Read from the sources themselves.

use std::fs;
use std::path::{Path, PathBuf};

/// Rooms that each room may use beside itself. A name after `::` narrows the leave to that item.
const LEAVE: [(&str, &[&str]); 13] = [
    ("units", &[]),
    ("signals", &["units", "wires", "settings"]),
    ("estimate", &["units", "signals", "wires", "settings"]),
    ("metering", &["units", "signals", "estimate", "wires", "settings"]),
    ("safety", &["units", "signals", "estimate", "metering", "wires", "settings"]),
    (
        "step",
        &[
            "units", "signals", "estimate", "metering", "safety", "wires", "settings", "view",
            "learned",
        ],
    ),
    ("learned", &["units", "estimate", "metering", "settings", "record"]),
    ("settings", &["units", "wires::SwitchBits"]),
    ("record", &["units", "wires"]),
    ("wires", &["units", "view"]),
    ("view", &["units", "safety::Phase", "safety::Condition", "safety::Observed"]),
    ("drivers", &["units", "signals", "wires", "view", "screen"]),
    ("screen", &["units", "view", "safety::Phase", "safety::Condition", "safety::Row"]),
];

struct Source {
    /// Path below `controller/src`.
    name: String,
    /// Text without comments and literals of text.
    code: String,
}

impl Source {
    /// The room: the folder, or the file itself.
    fn room(&self) -> &str {
        self.name.split('/').next().map_or("", |first| first.trim_end_matches(".rs"))
    }
}

fn sources() -> Vec<Source> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../controller/src");
    let mut files = Vec::new();
    collect(&root, &mut files);
    let sources: Vec<_> = files
        .iter()
        .map(|path| Source {
            name: path.strip_prefix(&root).expect("below").display().to_string(),
            code: code_of(&fs::read_to_string(path).expect("readable")),
        })
        .collect();
    assert!(sources.len() > 20, "the sources were not found at {}", root.display());
    sources
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            collect(&path, files);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            files.push(path);
        }
    }
}

/// The text with every comment and every literal of text or of a character left out.
fn code_of(text: &str) -> String {
    let (mut code, mut rest) = (String::new(), text);
    while let Some(next) = rest.chars().next() {
        let skipped = if rest.starts_with("//") {
            rest.find('\n').unwrap_or(rest.len())
        } else if rest.starts_with("/*") {
            rest.find("*/").map_or(rest.len(), |end| end + 2)
        } else if next == '"' {
            literal_length(rest, '"')
        } else if next == '\'' && is_character(rest) {
            literal_length(rest, '\'')
        } else {
            code.push(next);
            rest = &rest[next.len_utf8()..];
            continue;
        };
        rest = &rest[skipped..];
    }
    code
}

/// Length of the literal at the start, both quotes included.
fn literal_length(text: &str, quote: char) -> usize {
    let mut escaped = false;
    for (at, letter) in text.char_indices().skip(1) {
        match letter {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            _ if letter == quote => return at + quote.len_utf8(),
            _ => {}
        }
    }
    text.len()
}

/// Whether this is a character and not a lifetime.
fn is_character(text: &str) -> bool {
    let mut letters = text.chars().skip(1);
    matches!((letters.next(), letters.next()), (Some('\\'), _) | (_, Some('\'')))
}

/// Every path behind `crate::`, with braces spread out: `safety::Phase`, `units::arith::narrow`.
fn paths(code: &str) -> Vec<String> {
    let plain: String = code.split_whitespace().collect::<Vec<_>>().join(" ");
    plain.split("crate::").skip(1).flat_map(|rest| spread(rest).0).collect()
}

/// The paths at the start of the text, and how much of it they take.
fn spread(text: &str) -> (Vec<String>, usize) {
    let is_name = |letter: char| letter.is_alphanumeric() || letter == '_' || letter == '*';
    if let Some(list) = text.strip_prefix('{') {
        let (mut all, mut at) = (Vec::new(), 0);
        loop {
            at += list[at..].len() - list[at..].trim_start_matches([' ', ',']).len();
            let (paths, used) = spread(&list[at..]);
            all.extend(paths);
            at += used;
            match list[at..].find([',', '}']) {
                Some(next) if list[at + next..].starts_with('}') => return (all, at + next + 2),
                Some(next) => at += next,
                None => return (all, text.len()),
            }
        }
    }
    let end = text.find(|letter| !is_name(letter)).unwrap_or(text.len());
    let name = &text[..end];
    match text[end..].strip_prefix("::") {
        Some(rest) => {
            let (below, used) = spread(rest);
            let paths = below.iter().map(|path| format!("{name}::{path}")).collect();
            (paths, end + 2 + used)
        }
        None => (vec![name.to_owned()], end),
    }
}

fn may_use(room: &str, path: &str) -> bool {
    let (_, leave) = LEAVE
        .iter()
        .find(|(name, _)| *name == room)
        .unwrap_or_else(|| panic!("the room `{room}` has no list of rooms it may use"));
    let used = path.split("::").next().unwrap_or_default();
    used == room || leave.iter().any(|allowed| *allowed == used || *allowed == path)
}

/// Whether the word occurs by itself.
fn has_word(code: &str, word: &str) -> bool {
    let part = |letter: char| letter.is_alphanumeric() || letter == '_';
    code.match_indices(word)
        .any(|(at, _)| !code[..at].ends_with(part) && !code[at + word.len()..].starts_with(part))
}

/// The first literal of a float: `1.5`, `1.`, `1e3`, `1f32`; not `0..1`, `pair.0.1`, `1.max(2)`, `0x1e3`.
fn float_literal(code: &str) -> Option<String> {
    let code = code.replace("..", " ");
    let words =
        code.split(|letter: char| !letter.is_alphanumeric() && letter != '_' && letter != '.');
    words.into_iter().find(|word| is_float(word)).map(str::to_owned)
}

/// Whether a word of letters, digits and points is a float; one with an exponent's sign is cut at it.
fn is_float(word: &str) -> bool {
    let rest = word.trim_start_matches(|letter: char| letter.is_ascii_digit() || letter == '_');
    if !word.starts_with(|letter: char| letter.is_ascii_digit()) {
        return false;
    }
    match rest.strip_prefix('.') {
        Some(fraction) => !fraction.starts_with(|letter: char| letter.is_alphabetic()),
        None => rest.starts_with(['e', 'E', 'f']),
    }
}

#[test]
fn no_floor_uses_a_floor_above_it() {
    let mut broken = Vec::new();
    for source in sources().iter().filter(|source| source.name != "lib.rs") {
        let room = source.room();
        for path in paths(&source.code).iter().filter(|path| !may_use(room, path)) {
            broken.push(format!("controller/src/{}: `{room}` may not use `{path}`", source.name));
        }
        let around = LEAVE.iter().any(|(name, _)| {
            source.code.contains(&format!("super::{name}::")) && !source.name.contains('/')
        });
        if around || source.code.contains("super::super::") {
            broken.push(format!("controller/src/{}: goes around by `super`", source.name));
        }
    }
    assert!(broken.is_empty(), "\n{}", broken.join("\n"));
}

#[test]
fn nothing_knows_floats_or_a_heap() {
    for Source { name, code } in sources() {
        // What digests records names the floats in order to refuse them.
        let refuses = name == "record/digest.rs";
        for word in ["f32", "f64", "alloc"].iter().filter(|word| !refuses || **word == "alloc") {
            assert!(!has_word(&code, word), "controller/src/{name} names `{word}`");
        }
        let literal = float_literal(&code);
        assert_eq!(literal, None, "controller/src/{name} has a float");
    }
}

#[test]
fn these_checks_can_fail() {
    let code = code_of(
        "use crate::{safety::{Phase, gate::Gate}, units::*}; // crate::step\nlet a = \"1.5\";",
    );
    assert_eq!(paths(&code), ["safety::Phase", "safety::gate::Gate", "units::*"]);
    assert!(!may_use("signals", "safety::Phase") && may_use("view", "safety::Phase"));
    assert!(!may_use("view", "safety::Gate") && may_use("safety", "safety::gate::Gate"));
    for float in ["1.5", "(1.)", "a+2e3", "2e-3", "1f32", "0..1.5"] {
        assert!(float_literal(float).is_some(), "{float}");
    }
    for whole in ["0..15", "pair.0.1", "1.max(2)", "0x1e3", "10_000u32", "a1.5", "x.1.0.2"] {
        assert_eq!(float_literal(whole), None, "{whole}");
    }
    assert_eq!(float_literal(&code), None, "a literal of text is not looked into");
    assert_eq!(
        code_of("let a: &'static [char] = &['\\'', '\"', 'x']; /* b */ c"),
        "let a: &'static [char] = &[, , ];  c"
    );
    assert!(has_word("x as f64;", "f64") && !has_word("xf64 f64x", "f64"));
}
