//! A sheet from the field: a CSV file of weighed lengths or of a trial, told apart by its header.

use super::trial::{Measure, Plot, Trial};
use super::weighed::Length;
use crate::units::{KG_PER_LB, M_PER_FT};
use csv::{ReaderBuilder, StringRecord, Trim};
use std::ops::RangeInclusive;

/// What a sheet holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Sheet {
    /// Lengths of one row in the order they lie.
    Row(Vec<Length>),
    /// A trial, one measure or several.
    Trial(Trial),
}

/// What is wrong with a sheet, in one sentence that names the line. Whoever reads the file names it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct SheetError(String);

/// Most lines of a sheet.
const MOST_LINES: usize = 100_000;
/// Most treatments, blocks and measures of a trial.
const MOST_LEVELS: usize = 60;
/// Length of a piece, m: 0.3 ft to 100 ft.
const LENGTH_M: RangeInclusive<f64> = 0.09..=31.0;
/// Hay on a piece, kg.
const MASS_KG: RangeInclusive<f64> = 0.0..=1_000.0;
/// Place along the row, m.
const PLACE_M: RangeInclusive<f64> = -1e5..=1e5;

impl Sheet {
    /// Reads a sheet. A header with `treatment` makes a trial: `treatment`, `block` unless the plots
    /// were not blocked, and one column for each measure. Otherwise it is a row: `weight_lb` or
    /// `weight_kg`, and either `length_ft` or `length_m`, or `from_ft` and `to_ft`, or `from_m` and
    /// `to_m`.
    ///
    /// # Errors
    /// The first thing that is wrong, with its line and column.
    pub fn parse(bytes: &[u8]) -> Result<Self, SheetError> {
        let text = std::str::from_utf8(bytes)
            .map_err(|_| SheetError("this is not text; a CSV file is wanted".to_owned()))?;
        let lines = Lines::read(text.trim_start_matches('\u{feff}'))?;
        if lines.has("treatment") {
            trial(&lines).map(Self::Trial)
        } else {
            row(&lines).map(Self::Row)
        }
    }
}

/// A CSV file with named columns.
struct Lines {
    header: Vec<String>,
    records: Vec<StringRecord>,
}

impl Lines {
    fn read(text: &str) -> Result<Self, SheetError> {
        let mut reader = ReaderBuilder::new().trim(Trim::All).from_reader(text.as_bytes());
        let header: Vec<String> =
            reader.headers().map_err(told)?.iter().map(str::to_lowercase).collect();
        if header.iter().all(String::is_empty) {
            return Err(SheetError("the file is empty; a header line is wanted first".to_owned()));
        }
        if let Some(twice) =
            header.iter().enumerate().find(|(at, name)| header[..*at].contains(name))
        {
            return Err(SheetError(format!("line 1: the column `{}` stands there twice", twice.1)));
        }
        let records: Result<Vec<_>, _> = reader.into_records().take(MOST_LINES + 1).collect();
        let records = records.map_err(told)?;
        if records.len() > MOST_LINES {
            return Err(SheetError(format!("more than {MOST_LINES} lines; fewer are allowed")));
        }
        Ok(Self { header, records })
    }

    fn has(&self, column: &str) -> bool {
        self.column(column).is_some()
    }

    fn column(&self, name: &str) -> Option<usize> {
        self.header.iter().position(|column| column == name)
    }

    /// The first of some columns that is there, with what one of its units is in SI.
    fn first_of(&self, names: &[(&str, f64)]) -> Option<(usize, f64)> {
        names.iter().find_map(|(name, unit)| self.column(name).map(|at| (at, *unit)))
    }

    fn number(
        &self,
        record: &StringRecord,
        (at, unit): (usize, f64),
        allowed: &RangeInclusive<f64>,
    ) -> Result<f64, SheetError> {
        let text = record.get(at).unwrap_or_default();
        let number = text.parse::<f64>().ok().filter(|number| allowed.contains(&(number * unit)));
        number.map(|number| number * unit).ok_or_else(|| {
            let (low, high) = (allowed.start() / unit, allowed.end() / unit);
            let allowed = format!("a number from {} to {}", tidy(low), tidy(high));
            self.wrong(record, at, format!("\"{text}\"; allowed is {allowed}"))
        })
    }

    fn wrong(&self, record: &StringRecord, at: usize, sentence: String) -> SheetError {
        let line = record.position().map_or(0, csv::Position::line);
        SheetError(format!("line {line}, column `{}`: {sentence}", self.header[at]))
    }
}

fn tidy(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

/// What the CSV reader says, with its line.
fn told(error: csv::Error) -> SheetError {
    match error.kind() {
        csv::ErrorKind::UnequalLengths { pos, expected_len, len } => {
            let line = pos.as_ref().map_or(0, csv::Position::line);
            SheetError(format!("line {line} has {len} fields; the header has {expected_len}"))
        }
        _ => SheetError(error.to_string()),
    }
}

fn row(lines: &Lines) -> Result<Vec<Length>, SheetError> {
    let columns = "`weight_lb` (or `weight_kg`) and `length_ft` (or `length_m`), or instead of the \
                   length `from_ft` and `to_ft` (or `from_m` and `to_m`); for a trial `treatment`, \
                   `block` and one column for each measure";
    let missing = || SheetError(format!("line 1: columns are missing; wanted are {columns}"));
    let mass =
        lines.first_of(&[("weight_lb", KG_PER_LB), ("weight_kg", 1.0)]).ok_or_else(missing)?;
    let length = lines.first_of(&[("length_ft", M_PER_FT), ("length_m", 1.0)]);
    let from = lines.first_of(&[("from_ft", M_PER_FT), ("from_m", 1.0)]);
    let to = lines.first_of(&[("to_ft", M_PER_FT), ("to_m", 1.0)]);
    let used: Vec<usize> =
        [Some(mass), length, from, to].iter().flatten().map(|(at, _)| *at).collect();
    if let Some(at) = (0..lines.header.len()).find(|at| !used.contains(at)) {
        let sentence =
            format!("line 1: unknown column `{}`; known are {columns}", lines.header[at]);
        return Err(SheetError(sentence));
    }
    let mut pieces: Vec<Length> = Vec::new();
    for record in &lines.records {
        let mass_kg = lines.number(record, mass, &MASS_KG)?;
        let before_m = pieces.last().map_or(0.0, |piece: &Length| piece.to_m);
        let (from_m, to_m, at) = match (length, from, to) {
            (Some(length), None, None) => {
                (before_m, before_m + lines.number(record, length, &LENGTH_M)?, length.0)
            }
            (None, Some(from), Some(to)) => {
                let from_m = lines.number(record, from, &PLACE_M)?;
                (from_m, lines.number(record, to, &PLACE_M)?, to.0)
            }
            _ => return Err(missing()),
        };
        if !LENGTH_M.contains(&(to_m - from_m)) {
            let sentence = "the piece must end 0.3 to 100 ft (0.1 to 31 m) after it begins";
            return Err(lines.wrong(record, at, sentence.to_owned()));
        }
        if pieces.last().is_some_and(|last| from_m < last.to_m - 0.01) {
            let sentence = "the piece begins before the one above it ends; pieces must follow \
                            each other along the row";
            return Err(lines.wrong(record, from.map_or(at, |from| from.0), sentence.to_owned()));
        }
        pieces.push(Length { from_m, to_m, mass_kg });
    }
    Ok(pieces)
}

fn trial(lines: &Lines) -> Result<Trial, SheetError> {
    let treatment = lines.column("treatment").unwrap_or_default();
    let block = lines.column("block");
    let is_measure = |at: &usize| *at != treatment && Some(*at) != block;
    let columns: Vec<usize> = (0..lines.header.len()).filter(is_measure).collect();
    if columns.is_empty() || columns.len() > MOST_LEVELS {
        let sentence = format!(
            "line 1: 1 to {MOST_LEVELS} columns of measured numbers are wanted beside `treatment` and `block`"
        );
        return Err(SheetError(sentence));
    }
    let (mut treatments, mut blocks) = (Vec::new(), Vec::new());
    let mut measures: Vec<Measure> = columns
        .iter()
        .map(|at| Measure { name: lines.header[*at].clone(), plots: Vec::new() })
        .collect();
    for record in &lines.records {
        let treatment = level(lines, record, treatment, &mut treatments)?;
        let block = match block {
            Some(at) => Some(level(lines, record, at, &mut blocks)?),
            None => None,
        };
        for (measure, at) in measures.iter_mut().zip(&columns) {
            let value = lines.number(record, (*at, 1.0), &(-1e9..=1e9))?;
            measure.plots.push(Plot { treatment, block, value });
        }
    }
    let trial = Trial { treatments, blocks, measures };
    trial.check_design().map_err(SheetError)?;
    Ok(trial)
}

/// The number of a named level, a new one at its first mention.
fn level(
    lines: &Lines,
    record: &StringRecord,
    at: usize,
    known: &mut Vec<String>,
) -> Result<usize, SheetError> {
    let name = record.get(at).unwrap_or_default();
    if name.is_empty() || name.chars().count() > 60 || name.chars().any(char::is_control) {
        let sentence = format!("\"{name}\"; allowed is a text of 1 to 60 characters");
        return Err(lines.wrong(record, at, sentence));
    }
    if let Some(number) = known.iter().position(|other| other == name) {
        return Ok(number);
    }
    if known.len() == MOST_LEVELS {
        return Err(lines.wrong(record, at, format!("more than {MOST_LEVELS} different names")));
    }
    known.push(name.to_owned());
    Ok(known.len() - 1)
}
