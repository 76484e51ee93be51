//! Acts on the book, each one transaction, and what it says now.

use super::{Book, BookError, Day, Entry, Feeding, Look, Stock, Version};
use rusqlite::{Connection, OptionalExtension, Row, params};
use std::str::FromStr;

/// Which entries are meant; nothing given means all.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filter {
    /// First day.
    pub from: Option<Day>,
    /// Last day.
    pub to: Option<Day>,
    /// Herd.
    pub herd: Option<String>,
    /// Lot.
    pub lot: Option<String>,
    /// Place.
    pub place: Option<String>,
}

impl Filter {
    fn takes(&self, feeding: &Feeding) -> bool {
        let same = |wanted: &Option<String>, name: &str| wanted.as_ref().is_none_or(|w| w == name);
        self.from.is_none_or(|from| from <= feeding.day)
            && self.to.is_none_or(|to| to >= feeding.day)
            && same(&self.herd, &feeding.herd)
            && same(&self.lot, &feeding.lot)
            && same(&self.place, &feeding.place)
    }
}

const COLUMNS: &str = "number, version, written, reason, struck, day, herd, head, lot, place, bales, \
                       fed_lb, entered, \"left\", note";
/// The version of each entry that holds.
const HOLDS: &str = "version = (SELECT max(version) FROM feeding AS other WHERE other.number = \
                     feeding.number) AND NOT struck";

impl Book {
    /// Enters feedings, all or none of them. With a look, that is entered too. Gives their numbers.
    ///
    /// # Errors
    /// A feeding or look whose parts contradict each other; disk and moment.
    pub fn add(&mut self, feedings: &[(Feeding, Option<Look>)]) -> Result<Vec<u32>, BookError> {
        let act = self.act()?;
        let numbers = enter(&act, feedings, None)?;
        act.commit()?;
        Ok(numbers)
    }

    /// Enters feedings as [`Book::add`] does, unless one of them stands in the book already.
    ///
    /// # Errors
    /// As [`Book::add`]; [`BookError::KnownFeeding`] for one whose day, time, herd, lot, place and
    /// pounds are those of an entry.
    pub fn add_new(&mut self, feedings: &[(Feeding, Option<Look>)]) -> Result<Vec<u32>, BookError> {
        let act = self.act()?;
        let query = format!(
            "SELECT min(number) FROM feeding WHERE day = ?1 AND entered IS ?2 AND herd = ?3 AND \
             lot = ?4 AND place = ?5 AND fed_lb = ?6 AND {HOLDS}"
        );
        for (feeding, _) in feedings {
            let Feeding { day, entered, herd, lot, place, fed_lb, .. } = feeding;
            let entered = entered.map(|time| time.to_string());
            let alike = params![day.to_string(), entered, herd, lot, place, fed_lb];
            let known: Option<u32> = act.query_row(&query, alike, |row| row.get(0))?;
            if let Some(number) = known {
                return Err(BookError::KnownFeeding { number, words: feeding.words() });
            }
        }
        let numbers = enter(&act, feedings, None)?;
        act.commit()?;
        Ok(numbers)
    }

    /// Enters what a log tells, once: `mark` tells one log from another.
    ///
    /// # Errors
    /// As [`Book::add`]; a log that was entered already and not struck out since.
    pub fn add_log(&mut self, feedings: &[Feeding], mark: &str) -> Result<Vec<u32>, BookError> {
        let feedings: Vec<_> = feedings.iter().map(|feeding| (feeding.clone(), None)).collect();
        let act = self.act()?;
        let query = format!("SELECT min(number) FROM feeding WHERE log = ?1 AND {HOLDS}");
        let known: Option<u32> = act.query_row(&query, [mark], |row| row.get(0))?;
        if let Some(number) = known {
            return Err(BookError::KnownLog(number));
        }
        let numbers = enter(&act, &feedings, Some(mark))?;
        act.commit()?;
        Ok(numbers)
    }

    /// Enters a look at a feeding. An earlier look stays in the file; the last one holds.
    ///
    /// # Errors
    /// No such entry; a look before the feeding; more found than fed; disk and moment.
    pub fn look(&mut self, number: u32, look: &Look) -> Result<Entry, BookError> {
        let act = self.act()?;
        let entry = entry(&act, number)?;
        write_look(&act, number, &entry.feeding, look)?;
        act.commit()?;
        Ok(Entry { look: Some(look.clone()), ..entry })
    }

    /// Corrects an entry: `correct` turns what it says into what it should say. What it said stays in
    /// its history, with the reason.
    ///
    /// # Errors
    /// No such entry; a correction that contradicts itself or the look at it; disk and moment.
    pub fn correct(
        &mut self,
        number: u32,
        reason: &str,
        correct: impl FnOnce(&mut Feeding),
    ) -> Result<Entry, BookError> {
        let act = self.act()?;
        let mut entry = entry(&act, number)?;
        correct(&mut entry.feeding);
        if let Some(look) = &entry.look {
            check_look(&entry.feeding, look)?;
        }
        entry.version += 1;
        write(&act, number, entry.version, &entry.feeding, None, (reason, false))?;
        act.commit()?;
        Ok(entry)
    }

    /// Strikes an entry out: it counts no more, its history stays.
    ///
    /// # Errors
    /// No such entry; disk and moment.
    pub fn strike(&mut self, number: u32, reason: &str) -> Result<(), BookError> {
        let act = self.act()?;
        let entry = entry(&act, number)?;
        write(&act, number, entry.version + 1, &entry.feeding, None, (reason, true))?;
        Ok(act.commit()?)
    }

    /// The entries as they hold now, by day and number.
    ///
    /// # Errors
    /// Disk and moment.
    pub fn entries(&self, filter: &Filter) -> Result<Vec<Entry>, BookError> {
        let query = format!("SELECT {COLUMNS} FROM feeding WHERE {HOLDS} ORDER BY day, number");
        let mut entries = Vec::new();
        // One transaction for entries and looks: another program may write between the two.
        let act = self.reader().unchecked_transaction()?;
        for version in versions(&act, &query, ())? {
            if filter.takes(&version.feeding) {
                entries.push(with_look(&act, version)?);
            }
        }
        Ok(entries)
    }

    /// Every version that an entry has had, the first one first.
    ///
    /// # Errors
    /// No entry of that number was ever written; disk and moment.
    pub fn history(&self, number: u32) -> Result<Vec<Version>, BookError> {
        let query = format!("SELECT {COLUMNS} FROM feeding WHERE number = ?1 ORDER BY version");
        let found = versions(self.reader(), &query, [number])?;
        if found.is_empty() { Err(BookError::NoEntry(number)) } else { Ok(found) }
    }

    /// Enters a count of a lot.
    ///
    /// # Errors
    /// Disk and moment.
    pub fn count_stock(&mut self, stock: &Stock) -> Result<(), BookError> {
        let act = self.act()?;
        act.execute(
            "INSERT INTO stock(day, lot, bales, weight_lb) VALUES (?1, ?2, ?3, ?4)",
            params![stock.day.to_string(), stock.lot, stock.bales, stock.weight_lb],
        )?;
        Ok(act.commit()?)
    }

    /// The last count of each lot, by name.
    ///
    /// # Errors
    /// Disk and moment.
    pub fn stock(&self) -> Result<Vec<Stock>, BookError> {
        let query = "SELECT day, lot, bales, weight_lb FROM (SELECT *, row_number() OVER \
                     (PARTITION BY lot ORDER BY day DESC, id DESC) AS place FROM stock) \
                     WHERE place = 1 ORDER BY lot";
        let mut statement = self.reader().prepare(query)?;
        let rows = statement.query_map((), |row| {
            Ok(Stock {
                day: known(row, 0)?,
                lot: row.get(1)?,
                bales: row.get(2)?,
                weight_lb: row.get(3)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// The day that the computer's clock shows.
    ///
    /// # Errors
    /// Disk and moment.
    pub fn today(&self) -> Result<Day, BookError> {
        let query = "SELECT date('now', 'localtime')";
        Ok(self.reader().query_row(query, (), |row| known(row, 0))?)
    }
}

/// New entries into the book; gives their numbers.
fn enter(
    act: &Connection,
    feedings: &[(Feeding, Option<Look>)],
    mark: Option<&str>,
) -> Result<Vec<u32>, BookError> {
    let next = "SELECT coalesce(max(number), 0) + 1 FROM feeding";
    let first: u32 = act.query_row(next, (), |row| row.get(0))?;
    let mut numbers = Vec::new();
    for (number, (feeding, look)) in (first..).zip(feedings) {
        write(act, number, 1, feeding, mark, ("", false))?;
        if let Some(look) = look {
            write_look(act, number, feeding, look)?;
        }
        numbers.push(number);
    }
    Ok(numbers)
}

/// One version into the book.
fn write(
    act: &Connection,
    number: u32,
    version: u32,
    feeding: &Feeding,
    mark: Option<&str>,
    (reason, struck): (&str, bool),
) -> Result<(), BookError> {
    feeding.checked()?;
    // A correction goes on telling which log its entry came from.
    let query = "INSERT INTO feeding(number, version, day, herd, head, lot, place, bales, fed_lb, \
                 entered, \"left\", note, log, reason, struck) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, \
                 ?9, ?10, ?11, ?12, coalesce(?13, (SELECT log FROM feeding WHERE number = ?1 AND \
                 version = 1)), ?14, ?15)";
    act.execute(
        query,
        params![
            number,
            version,
            feeding.day.to_string(),
            feeding.herd,
            feeding.head,
            feeding.lot,
            feeding.place,
            feeding.bales,
            feeding.fed_lb,
            feeding.entered.map(|time| time.to_string()),
            feeding.left.map(|time| time.to_string()),
            feeding.note,
            mark,
            reason,
            struck,
        ],
    )?;
    Ok(())
}

fn check_look(feeding: &Feeding, look: &Look) -> Result<(), BookError> {
    if look.day < feeding.day {
        return Err(BookError::LookedTooEarly { look: look.day, fed: feeding.day });
    }
    let found_lb = look.refusal_lb + look.residue_lb;
    if found_lb > feeding.fed_lb {
        return Err(BookError::FoundMoreThanFed { found_lb, fed_lb: feeding.fed_lb });
    }
    Ok(())
}

fn write_look(
    act: &Connection,
    number: u32,
    feeding: &Feeding,
    look: &Look,
) -> Result<(), BookError> {
    check_look(feeding, look)?;
    act.execute(
        "INSERT INTO look(number, day, refusal_lb, residue_lb, note) VALUES (?1, ?2, ?3, ?4, ?5)",
        params![number, look.day.to_string(), look.refusal_lb, look.residue_lb, look.note],
    )?;
    Ok(())
}

fn entry(act: &Connection, number: u32) -> Result<Entry, BookError> {
    let query = format!("SELECT {COLUMNS} FROM feeding WHERE number = ?1 AND {HOLDS}");
    let found = versions(act, &query, [number])?.pop();
    with_look(act, found.ok_or(BookError::NoEntry(number))?)
}

fn with_look(act: &Connection, version: Version) -> Result<Entry, BookError> {
    let query = "SELECT day, refusal_lb, residue_lb, note FROM look WHERE number = ?1 \
                 ORDER BY id DESC LIMIT 1";
    let look = act.prepare(query)?.query_row([version.number], |row| {
        Ok(Look {
            day: known(row, 0)?,
            refusal_lb: row.get(1)?,
            residue_lb: row.get(2)?,
            note: row.get(3)?,
        })
    });
    let Version { number, version, feeding, .. } = version;
    Ok(Entry { number, version, feeding, look: look.optional()? })
}

fn versions(
    connection: &Connection,
    query: &str,
    parameters: impl rusqlite::Params,
) -> Result<Vec<Version>, BookError> {
    let mut statement = connection.prepare(query)?;
    let rows = statement.query_map(parameters, |row| {
        Ok(Version {
            number: row.get(0)?,
            version: row.get(1)?,
            written: row.get(2)?,
            reason: row.get(3)?,
            struck: row.get(4)?,
            feeding: feeding(row)?,
        })
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}

fn feeding(row: &Row<'_>) -> rusqlite::Result<Feeding> {
    Ok(Feeding {
        day: known(row, 5)?,
        herd: row.get(6)?,
        head: row.get(7)?,
        lot: row.get(8)?,
        place: row.get(9)?,
        bales: row.get(10)?,
        fed_lb: row.get(11)?,
        entered: maybe_known(row, 12)?,
        left: maybe_known(row, 13)?,
        note: row.get(14)?,
    })
}

/// A day or time that the book wrote itself.
fn known<T: FromStr>(row: &Row<'_>, column: usize) -> rusqlite::Result<T> {
    maybe_known(row, column)?.ok_or(rusqlite::Error::InvalidQuery)
}

fn maybe_known<T: FromStr>(row: &Row<'_>, column: usize) -> rusqlite::Result<Option<T>> {
    let text: Option<String> = row.get(column)?;
    let read = |text: String| {
        let name = format!("column {column}");
        let wrong =
            |_| rusqlite::Error::InvalidColumnType(column, name, rusqlite::types::Type::Text);
        text.parse().map_err(wrong)
    };
    text.map(read).transpose()
}
