//! `strewn book`: the record of feedings.

mod acts;

use crate::book::{Clock, Day, words};
use clap::{Args, Subcommand, ValueEnum};
use std::path::PathBuf;

pub(super) use acts::run;

/// Keep the book of feedings: what was fed where, what was found there, how much hay is left
///
/// The book is one file (SQLite). Whatever it confirms is on the disk; nothing in it is ever
/// overwritten: a correction keeps what was written before. Two programs may use it at once.
#[derive(Args)]
#[command(after_help = "\
Examples:
  strewn book add --herd cows --head 110 --lot \"meadow hay\" --place \"north slope\" --bales 1 --fed-lb 1100
  strewn book add-log out/strewn.log --herd cows --head 110 --lot \"meadow hay\" --place \"north slope\"
  strewn book look 1 --refusal-lb 20 --residue-lb 35
  strewn book correct 1 --fed-lb 1140 --reason \"scale ticket found\"
  strewn book count \"meadow hay\" --bales 80 --weight-lb 88000
  strewn book summary herd")]
pub(super) struct Arguments {
    /// The file of the book
    #[arg(long, global = true, value_name = "FILE", default_value = "feedings.book")]
    book: PathBuf,
    #[command(subcommand)]
    act: Act,
}

#[derive(Subcommand)]
enum Act {
    /// Enter a feeding by hand
    Add(Add),
    /// Enter what a controller's log tells: pounds, bales and time of each lot
    AddLog(AddLog),
    /// Enter what was found the day after
    Look(LookAt),
    /// Correct an entry; what it said stays in its history
    Correct(Correct),
    /// List the entries, or all versions of one
    List(List),
    /// Totals by day, herd, lot or place
    Summary(Summary),
    /// Enter how much of a lot there is on a morning, before feeding
    Count(Count),
    /// Days of hay left, from counts and feedings
    Left(Left),
    /// Enter feedings from a table (CSV), all or none
    Import(Import),
    /// Write the entries as a table (CSV)
    Export(Export),
    /// Write a page with pictures
    Page(Page),
    /// Prove that the file is whole
    Prove,
}

#[derive(Args)]
struct Add {
    #[command(flatten)]
    place: Known,
    /// The lot of hay
    #[arg(long, value_parser = words::name)]
    lot: String,
    /// Bales and parts of bales
    #[arg(long, value_parser = words::bales, default_value = "0")]
    bales: f64,
    /// Hay as fed, lb
    #[arg(long, value_name = "LB", value_parser = words::fed_lb)]
    fed_lb: f64,
    /// When the place was left, such as 07:55
    #[arg(long, value_name = "TIME")]
    left: Option<Clock>,
}

/// What no log knows.
#[derive(Args)]
struct Known {
    /// Day, such as 2025-01-31; today if left out
    #[arg(long)]
    day: Option<Day>,
    /// The herd fed
    #[arg(long, value_parser = words::name)]
    herd: String,
    /// How many animals
    #[arg(long, value_parser = words::head)]
    head: Option<u32>,
    /// Where the hay was laid
    #[arg(long, value_parser = words::name)]
    place: String,
    /// When the place was entered, such as 07:40; with a log, when the log began
    #[arg(long, value_name = "TIME")]
    entered: Option<Clock>,
    /// Whatever else is worth knowing
    #[arg(long, value_parser = words::note, default_value = "")]
    note: String,
}

#[derive(Args)]
struct AddLog {
    /// The log, as `strewn feed` and the controller write it
    log: PathBuf,
    #[command(flatten)]
    place: Known,
    /// Names of the lots, in the order of the tickets; "ticket 1" and so on if left out
    #[arg(long = "lot", value_name = "LOT", value_parser = words::name)]
    lots: Vec<String>,
}

#[derive(Args)]
struct LookAt {
    /// Number of the entry
    number: u32,
    /// Day of the look; today if left out
    #[arg(long)]
    day: Option<Day>,
    /// Hay refused: clean and left, lb
    #[arg(long, value_name = "LB", value_parser = words::found_lb, default_value = "0")]
    refusal_lb: f64,
    /// Residue: hay trodden in or fouled, lb
    #[arg(long, value_name = "LB", value_parser = words::found_lb, default_value = "0")]
    residue_lb: f64,
    /// Whatever else was seen
    #[arg(long, value_parser = words::note, default_value = "")]
    note: String,
}

#[derive(Args)]
struct Correct {
    /// Number of the entry
    number: u32,
    /// Why
    #[arg(long, value_parser = words::reason)]
    reason: String,
    /// Strike the entry out: it counts no more
    #[arg(long, conflicts_with_all = ["day", "herd", "head", "lot", "place", "bales", "fed_lb", "entered", "left", "note"])]
    strike: bool,
    /// The right day
    #[arg(long)]
    day: Option<Day>,
    /// The right herd
    #[arg(long, value_parser = words::name)]
    herd: Option<String>,
    /// The right number of animals
    #[arg(long, value_parser = words::head)]
    head: Option<u32>,
    /// The right lot
    #[arg(long, value_parser = words::name)]
    lot: Option<String>,
    /// The right place
    #[arg(long, value_parser = words::name)]
    place: Option<String>,
    /// The right bales
    #[arg(long, value_parser = words::bales)]
    bales: Option<f64>,
    /// The right weight, lb
    #[arg(long, value_name = "LB", value_parser = words::fed_lb)]
    fed_lb: Option<f64>,
    /// The right time of entering
    #[arg(long, value_name = "TIME")]
    entered: Option<Clock>,
    /// The right time of leaving
    #[arg(long, value_name = "TIME")]
    left: Option<Clock>,
    /// The right note
    #[arg(long, value_parser = words::note)]
    note: Option<String>,
}

/// Which entries.
#[derive(Args)]
struct Which {
    /// From this day on
    #[arg(long, value_name = "DAY")]
    from: Option<Day>,
    /// Up to and with this day
    #[arg(long, value_name = "DAY")]
    to: Option<Day>,
    /// Only this herd
    #[arg(long)]
    herd: Option<String>,
    /// Only this lot
    #[arg(long)]
    lot: Option<String>,
    /// Only this place
    #[arg(long)]
    place: Option<String>,
}

#[derive(Args)]
struct List {
    #[command(flatten)]
    which: Which,
    /// All versions of the entry of this number instead
    #[arg(long, value_name = "NUMBER", conflicts_with_all = ["from", "to", "herd", "lot", "place"])]
    history: Option<u32>,
    /// As JSON
    #[arg(long)]
    json: bool,
}

#[derive(Args)]
struct Summary {
    /// What to make totals for
    by: ByWord,
    #[command(flatten)]
    which: Which,
    /// As JSON
    #[arg(long)]
    json: bool,
}

#[derive(Clone, Copy, ValueEnum)]
enum ByWord {
    Day,
    Herd,
    Lot,
    Place,
}

#[derive(Args)]
struct Count {
    /// The lot
    #[arg(value_parser = words::name)]
    lot: String,
    /// Day of the count; today if left out
    #[arg(long)]
    day: Option<Day>,
    /// Bales
    #[arg(long, value_parser = words::stock_bales)]
    bales: f64,
    /// Their weight as fed, lb
    #[arg(long, value_name = "LB", value_parser = words::stock_lb)]
    weight_lb: f64,
}

#[derive(Args)]
struct Left {
    /// How many of the last days tell how much is fed a day
    #[arg(long, value_name = "DAYS", value_parser = clap::value_parser!(u32).range(1..=366), default_value_t = 14)]
    over: u32,
}

#[derive(Args)]
struct Import {
    /// The table; its first line names the columns, as `strewn book export` writes them
    table: PathBuf,
    /// Even where a feeding stands in the book already
    #[arg(long)]
    again: bool,
}

#[derive(Args)]
struct Export {
    #[command(flatten)]
    which: Which,
}

#[derive(Args)]
struct Page {
    #[command(flatten)]
    which: Which,
    /// File of the page
    #[arg(long, value_name = "FILE", default_value = "feedings.html")]
    out: PathBuf,
}
