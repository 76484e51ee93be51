//! The book as a table of comma-separated values, out and in.
//!
//! Quotes as of RFC 4180 (Shafranovich, Common Format and MIME Type for CSV Files, 2005); lines may
//! also end in a line feed alone.

use super::{Allowed, Entry, Feeding, Look, words};

/// The columns in the order written. A table to be read names those that it has in its first line, in
/// any order.
const COLUMNS: [&str; 14] = [
    "day",
    "herd",
    "head",
    "lot",
    "place",
    "bales",
    "fed_lb",
    "entered",
    "left",
    "note",
    "looked",
    "refusal_lb",
    "residue_lb",
    "look_note",
];
/// The columns without which a feeding cannot be told.
const NEEDED: [&str; 5] = ["day", "herd", "lot", "place", "fed_lb"];

/// What is wrong with a table, and where. Whoever reads the file names it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {problem}")]
pub struct TableError {
    /// Line of the file, counted from 1, in which the row begins.
    pub line: usize,
    /// What is wrong there.
    pub problem: String,
}

/// The entries as a table, with the last look at each.
#[must_use]
pub fn write_table(entries: &[Entry]) -> String {
    let mut text = COLUMNS.join(",") + "\n";
    for Entry { feeding, look, .. } in entries {
        let shown = |value: Option<String>| value.unwrap_or_default();
        let of_look = |value: fn(&Look) -> String| look.as_ref().map(value).unwrap_or_default();
        let cells = [
            feeding.day.to_string(),
            feeding.herd.clone(),
            shown(feeding.head.map(|head| head.to_string())),
            feeding.lot.clone(),
            feeding.place.clone(),
            feeding.bales.to_string(),
            feeding.fed_lb.to_string(),
            shown(feeding.entered.map(|time| time.to_string())),
            shown(feeding.left.map(|time| time.to_string())),
            feeding.note.clone(),
            of_look(|look| look.day.to_string()),
            of_look(|look| look.refusal_lb.to_string()),
            of_look(|look| look.residue_lb.to_string()),
            of_look(|look| look.note.clone()),
        ];
        text += &cells.map(|cell| quoted(&cell)).join(",");
        text.push('\n');
    }
    text
}

fn quoted(cell: &str) -> String {
    let plain = !cell.contains([',', '"']) && cell.trim() == cell;
    if !plain { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.to_owned() }
}

/// Reads feedings, each with the look at it if there was one. Blank lines are passed over.
///
/// # Errors
/// The first line that is wrong: its column, what stands there, what is allowed.
pub fn read_table(text: &str) -> Result<Vec<(Feeding, Option<Look>)>, TableError> {
    let rows = rows(text.trim_start_matches('\u{feff}'))?;
    let Some(((line, names), rows)) = rows.split_first() else {
        return Err(at(1, "the table is empty; its first line names the columns"));
    };
    for name in names {
        if !COLUMNS.contains(&name.as_str()) {
            let known = COLUMNS.join("`, `");
            return Err(at(*line, format!("unknown column `{name}`; known columns are `{known}`")));
        }
        if names.iter().filter(|other| *other == name).count() > 1 {
            return Err(at(*line, format!("column `{name}` stands there twice")));
        }
    }
    for name in NEEDED {
        if !names.iter().any(|other| other == name) {
            return Err(at(*line, format!("there is no column `{name}`")));
        }
    }
    rows.iter().map(|(line, cells)| Cells { line: *line, names, cells }.read()).collect()
}

fn at(line: usize, problem: impl Into<String>) -> TableError {
    TableError { line, problem: problem.into() }
}

/// One row under its columns.
struct Cells<'a> {
    line: usize,
    names: &'a [String],
    cells: &'a [String],
}

impl Cells<'_> {
    fn read(&self) -> Result<(Feeding, Option<Look>), TableError> {
        if self.cells.len() != self.names.len() {
            let (found, named) = (self.cells.len(), self.names.len());
            return Err(at(self.line, format!("{found} cells; allowed are {named}, one a column")));
        }
        let feeding = Feeding {
            day: self.needed("day", str::parse)?,
            herd: self.needed("herd", words::name)?,
            head: self.maybe("head", words::head)?,
            lot: self.needed("lot", words::name)?,
            place: self.needed("place", words::name)?,
            bales: self.maybe("bales", words::bales)?.unwrap_or(0.0),
            fed_lb: self.needed("fed_lb", words::fed_lb)?,
            entered: self.maybe("entered", str::parse)?,
            left: self.maybe("left", str::parse)?,
            note: self.maybe("note", words::note)?.unwrap_or_default(),
        };
        feeding.checked().map_err(|error| at(self.line, error.to_string()))?;
        let looked = self.maybe("looked", str::parse)?;
        let refusal_lb = self.maybe("refusal_lb", words::found_lb)?;
        let residue_lb = self.maybe("residue_lb", words::found_lb)?;
        let note = self.maybe("look_note", words::note)?;
        let look = match looked {
            Some(day) => Some(Look {
                day,
                refusal_lb: refusal_lb.unwrap_or(0.0),
                residue_lb: residue_lb.unwrap_or(0.0),
                note: note.unwrap_or_default(),
            }),
            None if refusal_lb.is_some() || residue_lb.is_some() || note.is_some() => {
                let problem =
                    "`looked` is empty; allowed is the day of the look, where one is told";
                return Err(at(self.line, problem));
            }
            None => None,
        };
        Ok((feeding, look))
    }

    /// What stands under a column; `None` if nothing does or the table has no such column.
    fn cell(&self, name: &str) -> Option<&str> {
        let column = self.names.iter().position(|other| other == name)?;
        self.cells.get(column).map(String::as_str).filter(|cell| !cell.is_empty())
    }

    fn maybe<T>(
        &self,
        name: &str,
        read: impl Fn(&str) -> Result<T, Allowed>,
    ) -> Result<Option<T>, TableError> {
        let read = |cell: &str| {
            read(cell).map_err(|allowed| {
                let shown: String = cell.chars().take(60).collect();
                at(self.line, format!("`{name}` is \"{shown}\"; {allowed}"))
            })
        };
        self.cell(name).map(read).transpose()
    }

    fn needed<T>(
        &self,
        name: &str,
        read: impl Fn(&str) -> Result<T, Allowed>,
    ) -> Result<T, TableError> {
        match self.maybe(name, &read)? {
            Some(value) => Ok(value),
            // What an empty cell would have been allowed to be.
            None => Err(at(
                self.line,
                match read("") {
                    Err(allowed) => format!("`{name}` is empty; {allowed}"),
                    Ok(_) => format!("`{name}` is empty"),
                },
            )),
        }
    }
}

/// Rows of cells, each with the line it begins in.
fn rows(text: &str) -> Result<Vec<(usize, Vec<String>)>, TableError> {
    let mut rows = Vec::new();
    for (number, line) in (1..).zip(text.lines()) {
        if line.trim().is_empty() {
            continue;
        }
        rows.push((number, cells(line).map_err(|problem| at(number, problem))?));
    }
    Ok(rows)
}

/// Cells of a line. No field of the book holds a line break, so that none may stand in quotes.
fn cells(line: &str) -> Result<Vec<String>, &'static str> {
    let mut cells = Vec::new();
    let mut rest = line;
    loop {
        let (cell, after) = match rest.trim_start_matches(' ').strip_prefix('"') {
            Some(inside) => quoted_cell(inside)?,
            None => {
                let end = rest.find(',').unwrap_or(rest.len());
                let (cell, after) = rest.split_at(end);
                if cell.contains('"') {
                    return Err("a quote within a cell; allowed is a cell in quotes as a whole, \
                                with quotes inside written twice");
                }
                (cell.trim().to_owned(), after)
            }
        };
        cells.push(cell);
        match after.strip_prefix(',') {
            Some(after) => rest = after,
            None => return Ok(cells),
        }
    }
}

/// The cell up to its closing quote, and what follows.
fn quoted_cell(inside: &str) -> Result<(String, &str), &'static str> {
    let mut cell = String::new();
    let mut rest = inside;
    loop {
        let (part, after) = rest.split_once('"').ok_or("a quote that is never closed")?;
        cell += part;
        match after.strip_prefix('"') {
            Some(after) => {
                cell.push('"');
                rest = after;
            }
            None => {
                let after = after.trim_start_matches(' ');
                if after.is_empty() || after.starts_with(',') {
                    return Ok((cell, after));
                }
                return Err("text after a closing quote; allowed is a comma");
            }
        }
    }
}
