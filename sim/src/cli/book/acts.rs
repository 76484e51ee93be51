//! What each act of `strewn book` does.

use super::super::{Failure, say};
use super::{
    Act, Add, AddLog, Arguments, ByWord, Correct, Count, Import, Known, List, LookAt, Page,
    Summary, Which,
};
use crate::book::{self, Book, BookError, By, Entry, Feeding, Filter, Look, Stock};
use crate::{files, report};
use serde_json::Value;
use std::path::Path;

/// Largest table, bytes.
const LARGEST_TABLE: u64 = 64 << 20;
/// Largest log, bytes.
const LARGEST_LOG: u64 = 1 << 30;

pub(in crate::cli) fn run(arguments: &Arguments) -> Result<(), Failure> {
    let path = arguments.book.as_path();
    match &arguments.act {
        Act::Add(add) => enter(path, add),
        Act::AddLog(add) => enter_log(path, add),
        Act::Look(look) => look_at(path, look),
        Act::Correct(change) => correct(path, change),
        Act::List(list) => show(path, list),
        Act::Summary(summary) => sum_up(path, summary),
        Act::Count(count) => count_stock(path, count),
        Act::Left(left) => {
            let told = told(path);
            let book = Book::open(path).map_err(&told)?;
            let (entries, stock) = everything(&book).map_err(&told)?;
            say(&report::hay_left(book::days_left(&entries, &stock, left.over).as_ref()))
        }
        Act::Import(import) => enter_table(path, import),
        Act::Export(export) => {
            let entries = entries(path, &export.which)?;
            say(&book::write_table(&entries))
        }
        Act::Page(page) => write_page(path, page),
        Act::Prove => {
            let book = Book::open(path).map_err(told(path))?;
            let entries = book.prove().and_then(|()| book.entries(&Filter::default()));
            let count = entries.map_err(told(path))?.len();
            say(&format!("{}: whole, entries: {count}.\n", path.display()))
        }
    }
}

/// A refusal or failure of the book at a path, for the person.
fn told(path: &Path) -> impl Fn(BookError) -> Failure {
    move |error| {
        let sentence = format!("{}: {error}", path.display());
        if error.is_input() { Failure::input(sentence) } else { Failure::run(sentence) }
    }
}

impl Known {
    fn feeding(&self, book: &Book) -> Result<Feeding, BookError> {
        Ok(Feeding {
            day: self.day.map_or_else(|| book.today(), Ok)?,
            herd: self.herd.clone(),
            head: self.head,
            lot: String::new(),
            place: self.place.clone(),
            bales: 0.0,
            fed_lb: 0.0,
            entered: self.entered,
            left: None,
            note: self.note.clone(),
        })
    }
}

impl Which {
    fn filter(&self) -> Filter {
        let Self { from, to, herd, lot, place } = self;
        Filter { from: *from, to: *to, herd: herd.clone(), lot: lot.clone(), place: place.clone() }
    }
}

fn enter(path: &Path, add: &Add) -> Result<(), Failure> {
    let told = told(path);
    let mut book = Book::open_or_begin(path).map_err(&told)?;
    let feeding = Feeding {
        lot: add.lot.clone(),
        bales: add.bales,
        fed_lb: add.fed_lb,
        left: add.left,
        ..add.place.feeding(&book).map_err(&told)?
    };
    let numbers = book.add(&[(feeding.clone(), None)]).map_err(&told)?;
    confirm(&numbers, &[feeding])
}

fn enter_log(path: &Path, add: &AddLog) -> Result<(), Failure> {
    let told = told(path);
    let bytes = files::read(&add.log, LARGEST_LOG).map_err(Failure::input)?;
    let found = book::feedings(&bytes).map_err(|error| Failure::in_file(&add.log, error))?;
    if found.feedings.is_empty() {
        return Err(Failure::in_file(&add.log, "no hay was fed in this log"));
    }
    let mut book = Book::open_or_begin(path).map_err(&told)?;
    let known = add.place.feeding(&book).map_err(&told)?;
    let mut feedings = Vec::new();
    for feeding in &found.feedings {
        let number = usize::from(feeding.ticket) + 1;
        let lot = match add.lots.get(number - 1) {
            Some(lot) => lot.clone(),
            None if add.lots.is_empty() => format!("ticket {number}"),
            None => {
                let given = add.lots.len();
                let words = format!(
                    "ticket {number} was fed, but --lot names only {given}; allowed is \
                                     one --lot for each ticket, or none"
                );
                return Err(Failure::in_file(&add.log, words));
            }
        };
        feedings.push(feeding.entry(&Feeding { lot, ..known.clone() }, known.entered));
    }
    let numbers = book.add_log(&feedings, &found.mark).map_err(&told)?;
    confirm(&numbers, &feedings)
}

/// Only what is on the disk is confirmed.
fn confirm(numbers: &[u32], feedings: &[Feeding]) -> Result<(), Failure> {
    let line =
        |(number, feeding): (&u32, &Feeding)| format!("Entry {number}: {}\n", feeding.words());
    say(&numbers.iter().zip(feedings).map(line).collect::<String>())
}

fn look_at(path: &Path, look: &LookAt) -> Result<(), Failure> {
    let told = told(path);
    let mut book = Book::open(path).map_err(&told)?;
    let day = look.day.map_or_else(|| book.today(), Ok).map_err(&told)?;
    let found = Look {
        day,
        refusal_lb: look.refusal_lb,
        residue_lb: look.residue_lb,
        note: look.note.clone(),
    };
    let entry = book.look(look.number, &found).map_err(&told)?;
    let wasted = 100.0 * entry.wasted().unwrap_or(0.0);
    say(&format!("Entry {}: {wasted:.1} % of the hay refused or lost\n", entry.number))
}

fn correct(path: &Path, change: &Correct) -> Result<(), Failure> {
    let told = told(path);
    let mut book = Book::open(path).map_err(&told)?;
    if change.strike {
        book.strike(change.number, &change.reason).map_err(&told)?;
        return say(&format!("Entry {} is struck out\n", change.number));
    }
    let Correct { day, herd, head, lot, place, bales, fed_lb, entered, left, note, .. } = change;
    let names = [herd, lot, place, note].into_iter().any(Option::is_some);
    let numbers = [bales, fed_lb].into_iter().any(Option::is_some);
    let times = [entered, left].into_iter().any(Option::is_some);
    if !(names || numbers || times || day.is_some() || head.is_some()) {
        return Err(told(BookError::NothingToCorrect));
    }
    let apply = |feeding: &mut Feeding| {
        set(&mut feeding.day, day);
        set(&mut feeding.herd, herd);
        set(&mut feeding.lot, lot);
        set(&mut feeding.place, place);
        set(&mut feeding.bales, bales);
        set(&mut feeding.fed_lb, fed_lb);
        set(&mut feeding.note, note);
        feeding.head = head.or(feeding.head);
        feeding.entered = entered.or(feeding.entered);
        feeding.left = left.or(feeding.left);
    };
    let entry = book.correct(change.number, &change.reason, apply).map_err(&told)?;
    say(&format!("Entry {}, version {}: {}\n", entry.number, entry.version, entry.feeding.words()))
}

fn set<T: Clone>(field: &mut T, right: &Option<T>) {
    if let Some(right) = right {
        field.clone_from(right);
    }
}

fn entries(path: &Path, which: &Which) -> Result<Vec<Entry>, Failure> {
    let book = Book::open(path).map_err(told(path))?;
    book.entries(&which.filter()).map_err(told(path))
}

fn everything(book: &Book) -> Result<(Vec<Entry>, Vec<Stock>), BookError> {
    Ok((book.entries(&Filter::default())?, book.stock()?))
}

fn show(path: &Path, list: &List) -> Result<(), Failure> {
    if let Some(number) = list.history {
        let book = Book::open(path).map_err(told(path))?;
        let versions = book.history(number).map_err(told(path))?;
        let json = || versions.iter().map(book::Version::json).collect();
        return say_or_json(list.json, json, || report::history(&versions));
    }
    let entries = entries(path, &list.which)?;
    let json = || entries.iter().map(Entry::json).collect();
    say_or_json(list.json, json, || report::entries(&entries))
}

fn sum_up(path: &Path, summary: &Summary) -> Result<(), Failure> {
    let entries = entries(path, &summary.which)?;
    let (word, by) = match summary.by {
        ByWord::Day => ("day", By::Day),
        ByWord::Herd => ("herd", By::Herd),
        ByWord::Lot => ("lot", By::Lot),
        ByWord::Place => ("place", By::Place),
    };
    let totals = book::totals(&entries, by);
    let json = || totals.iter().map(book::Total::json).collect();
    say_or_json(summary.json, json, || report::totals(&totals, word))
}

fn say_or_json(
    as_json: bool,
    json: impl Fn() -> Value,
    text: impl Fn() -> String,
) -> Result<(), Failure> {
    if as_json { say(&format!("{:#}\n", json())) } else { say(&text()) }
}

fn count_stock(path: &Path, count: &Count) -> Result<(), Failure> {
    let told = told(path);
    let mut book = Book::open_or_begin(path).map_err(&told)?;
    let day = count.day.map_or_else(|| book.today(), Ok).map_err(&told)?;
    let Count { lot, bales, weight_lb, .. } = count;
    let stock = Stock { day, lot: lot.clone(), bales: *bales, weight_lb: *weight_lb };
    book.count_stock(&stock).map_err(&told)?;
    say(&format!("{day}: {bales} bales, {weight_lb} lb of \"{lot}\"\n"))
}

fn enter_table(path: &Path, import: &Import) -> Result<(), Failure> {
    let told = told(path);
    let bytes = files::read(&import.table, LARGEST_TABLE).map_err(Failure::input)?;
    let text = String::from_utf8(bytes)
        .map_err(|_| Failure::in_file(&import.table, "this is not text in UTF-8"))?;
    let rows = book::read_table(&text).map_err(|error| Failure::in_file(&import.table, error))?;
    let mut book = Book::open_or_begin(path).map_err(&told)?;
    let numbers = if import.again { book.add(&rows) } else { book.add_new(&rows) };
    match numbers.map_err(&told)?[..] {
        [] => say("The table has no feedings\n"),
        [number] => say(&format!("Entry {number}\n")),
        [first, .., last] => say(&format!("Entries {first} to {last}\n")),
    }
}

/// The command that gives the same page again.
fn command_line(path: &Path, page: &Page) -> String {
    let Which { from, to, herd, lot, place } = &page.which;
    let day = |day: &Option<book::Day>| day.as_ref().map(ToString::to_string);
    let given = [
        ("--from", day(from)),
        ("--to", day(to)),
        ("--herd", herd.clone()),
        ("--lot", lot.clone()),
        ("--place", place.clone()),
        ("--out", Some(page.out.display().to_string())),
    ];
    let words = given.into_iter().filter_map(|(name, value)| Some((name, value?)));
    let words = words.map(|(name, value)| match value.contains(' ') {
        true => format!(" {name} \"{value}\""),
        false => format!(" {name} {value}"),
    });
    format!("strewn book --book {} page{}", path.display(), words.collect::<String>())
}

fn write_page(path: &Path, page: &Page) -> Result<(), Failure> {
    let book = Book::open(path).map_err(told(path))?;
    let (all, stock) = everything(&book).map_err(told(path))?;
    let shown = book.entries(&page.which.filter()).map_err(told(path))?;
    let left = book::days_left(&all, &stock, 14);
    let html = report::book_page(&shown, left.as_ref(), &command_line(path, page));
    files::write_whole(&page.out, html.as_bytes()).map_err(Failure::run)?;
    say(&format!("Page with pictures: {}\n", page.out.display()))
}
