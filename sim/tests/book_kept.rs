//! Nothing confirmed is lost: killed programs, two programs at once, a disk without room.

use std::collections::BTreeMap;
use std::io::Read;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};
use strewn::book::{Book, Filter};
use strewn::random::Stream;

/// Kills in the ordinary test; STREWN_KILLS=1000 tries as many.
const KILLS: u64 = 40;

fn adding(folder: &Path, note: &str) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_strewn"));
    command.current_dir(folder).args(["book", "add", "--day", "2025-01-10", "--herd", "cows"]);
    command.args(["--place", "slope", "--lot", "meadow", "--fed-lb", "1100", "--note", note]);
    command.stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

/// Whether the child confirmed its entry before it ended.
fn confirmed(mut child: Child) -> bool {
    let mut text = String::new();
    child.stdout.take().unwrap().read_to_string(&mut text).unwrap();
    child.wait().unwrap();
    text.starts_with("Entry ") && text.ends_with('\n')
}

/// How often each note stands in the book, after the whole file was proved.
fn notes(folder: &Path) -> BTreeMap<String, usize> {
    let book = Book::open(&folder.join("feedings.book")).unwrap();
    book.prove().unwrap();
    let mut notes = BTreeMap::new();
    for entry in book.entries(&Filter::default()).unwrap() {
        assert_eq!(entry.feeding.fed_lb, 1100.0);
        *notes.entry(entry.feeding.note).or_default() += 1;
    }
    notes
}

#[test]
fn killed_at_random_moments_it_keeps_every_confirmed_entry() {
    let kills = std::env::var("STREWN_KILLS").ok().and_then(|text| text.parse().ok());
    let kills: u64 = kills.unwrap_or(KILLS);
    let folder = tempfile::tempdir().unwrap();
    assert!(confirmed(adding(folder.path(), "first").spawn().unwrap()));
    let begun = Instant::now();
    assert!(confirmed(adding(folder.path(), "second").spawn().unwrap()));
    // Some live and most die, at any moment between start and end.
    let longest_s = 1.3 * begun.elapsed().as_secs_f64();
    let random = Stream::root(8).named("kill");
    let (mut kept, mut tried) = (vec!["first".to_owned(), "second".to_owned()], 0);
    while tried < kills {
        // Two at once, so that one is also killed while the other waits for it.
        let pair = [tried, tried + 1].map(|number| {
            let note = format!("entry {number}");
            let child = adding(folder.path(), &note).spawn().unwrap();
            let lifetime = Duration::from_secs_f64(longest_s * random.uniform(number));
            thread::spawn(move || {
                let mut child = child;
                thread::sleep(lifetime);
                // On unix this is SIGKILL. A child that has ended already cannot be killed.
                let _ = child.kill();
                confirmed(child).then_some(note)
            })
        });
        kept.extend(pair.into_iter().filter_map(|thread| thread.join().unwrap()));
        tried += 2;
        if tried % 50 == 0 {
            notes(folder.path());
        }
    }
    let found = notes(folder.path());
    for note in &kept {
        assert_eq!(found.get(note), Some(&1), "{note} was confirmed");
    }
    assert!(found.values().all(|count| *count == 1), "{found:?}");
    println!("{tried} killed: {} confirmed, {} in the book", kept.len(), found.len());
    assert!(confirmed(adding(folder.path(), "last").spawn().unwrap()));
}

#[test]
fn two_programs_begin_and_write_one_book_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    thread::scope(|scope| {
        for writer in ["a", "b"] {
            scope.spawn(move || {
                for number in 0..10 {
                    let child = adding(path, &format!("{writer}{number}")).spawn().unwrap();
                    assert!(confirmed(child), "{writer}{number}");
                }
            });
        }
    });
    let found = notes(path);
    assert_eq!(found.len(), 20);
    let book = Book::open(&path.join("feedings.book")).unwrap();
    let entries = book.entries(&Filter::default()).unwrap();
    let numbers: Vec<u32> = entries.iter().map(|entry| entry.number).collect();
    assert_eq!(numbers, (1..=20).collect::<Vec<_>>());
}

/// A limit on the size of files stands for a disk without room: both refuse a write half way.
#[cfg(unix)]
#[test]
fn a_disk_without_room_costs_nothing_that_was_confirmed() {
    let folder = tempfile::tempdir().unwrap();
    assert!(confirmed(adding(folder.path(), "before").spawn().unwrap()));
    // In blocks of 512 or 1,024 bytes; the write-ahead log needs more.
    for blocks in ["0", "1", "4", "8"] {
        let limited = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$@\"");
        let inner = adding(folder.path(), "beyond");
        let output = Command::new("sh")
            .args(["-c", &limited, "sh"])
            .arg(inner.get_program())
            .args(inner.get_args())
            .current_dir(folder.path())
            .output()
            .unwrap();
        let told = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(1), "{blocks}: {told}");
        assert!(output.stdout.is_empty());
        assert_eq!(told.lines().count(), 1, "{told}");
        assert!(told.contains("nothing was changed"), "{told}");
        assert_eq!(notes(folder.path()).into_keys().collect::<Vec<_>>(), ["before"]);
    }
    assert!(confirmed(adding(folder.path(), "after").spawn().unwrap()));
}
