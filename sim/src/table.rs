//! One table of a TOML file under checked reading: every value that is taken says what it may be, and
//! whatever was not asked for is an unknown key.

use std::fmt::{Display, Formatter};
use std::ops::{Range, RangeInclusive};
use toml::de::{DeTable, DeValue};

/// What is wrong with a file, and where. Whoever reads the file names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TableError {
    /// Line of the value, counted from 1, where there is one.
    pub line: Option<usize>,
    /// What is wrong.
    pub problem: Problem,
}

/// What is wrong.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Problem {
    /// The text is not TOML.
    #[error("{0}")]
    Syntax(String),
    /// A key that means nothing here.
    #[error("unknown key `{key}`{place}; {hint}")]
    UnknownKey {
        /// The key as written.
        key: String,
        /// The table it stands in.
        place: String,
        /// The nearest known key, or all of them.
        hint: String,
    },
    /// A value that has no default is not there.
    #[error("`{key}`{place} is missing; allowed is {allowed}")]
    Missing {
        /// The key.
        key: &'static str,
        /// The table it should stand in.
        place: String,
        /// What would be accepted.
        allowed: String,
    },
    /// A value outside of what is allowed.
    #[error("`{key}`{place} is {given}; allowed is {allowed}")]
    NotAllowed {
        /// The key.
        key: &'static str,
        /// The table it stands in.
        place: String,
        /// The value as given.
        given: String,
        /// What would be accepted.
        allowed: String,
    },
}

impl Display for TableError {
    fn fmt(&self, formatter: &mut Formatter<'_>) -> std::fmt::Result {
        match self.line {
            Some(line) => write!(formatter, "line {line}: {}", self.problem),
            None => self.problem.fmt(formatter),
        }
    }
}

impl std::error::Error for TableError {}

/// The text that a table stands in.
#[derive(Clone, Copy)]
struct Source<'a>(&'a str);

impl Source<'_> {
    /// Line of a byte, counted from 1.
    fn line(self, byte: usize) -> usize {
        1 + self.0.bytes().take(byte).filter(|byte| *byte == b'\n').count()
    }

    fn error(self, span: Option<Range<usize>>, problem: Problem) -> TableError {
        let line = span.map(|span| self.line(span.start));
        TableError { line, problem }
    }
}

/// Reads a whole TOML file: `fill` takes from the top what it knows, whatever is left is refused.
///
/// # Errors
/// Text that is not TOML, an unknown key, and whatever `fill` refuses.
pub(crate) fn parsed<T>(
    text: &str,
    fill: impl FnOnce(&mut Table<'_>) -> Result<T, TableError>,
) -> Result<T, TableError> {
    let source = Source(text);
    let entries = DeTable::parse(text)
        .map_err(|error| source.error(error.span(), Problem::Syntax(one_line(error.message()))))?;
    let mut top = Table {
        source,
        place: String::new(),
        span: None,
        entries: entries.get_ref(),
        known: Vec::new(),
    };
    let filled = fill(&mut top)?;
    top.finish()?;
    Ok(filled)
}

/// A sentence of the TOML reader without its line breaks.
fn one_line(message: &str) -> String {
    message.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// One table. Each of the readers gives `None` for a key that is absent.
pub(crate) struct Table<'a> {
    source: Source<'a>,
    /// Words for errors: empty at the top, else " in [[bale]] 2".
    place: String,
    /// Where it stands; nothing for the whole text.
    span: Option<Range<usize>>,
    entries: &'a DeTable<'a>,
    known: Vec<&'static str>,
}

impl<'a> Table<'a> {
    fn take(&mut self, key: &'static str) -> Option<&'a DeValue<'a>> {
        self.known.push(key);
        self.entries.get(key).map(|value| value.get_ref())
    }

    /// The error for a key of this table whose value is not allowed.
    pub(crate) fn not_allowed(
        &self,
        key: &'static str,
        given: impl Display,
        allowed: impl Display,
    ) -> TableError {
        let span = self.entries.get(key).map(|value| value.span());
        let (given, allowed) = (given.to_string(), allowed.to_string());
        let place = self.place.clone();
        self.source.error(span, Problem::NotAllowed { key, place, given, allowed })
    }

    /// A number within a range; the key's name states the unit.
    pub(crate) fn number(
        &mut self,
        key: &'static str,
        allowed: RangeInclusive<f64>,
    ) -> Result<Option<f64>, TableError> {
        let Some(value) = self.take(key) else { return Ok(None) };
        let words = format!("{} to {}", allowed.start(), allowed.end());
        let Some(number) = number_of(value) else {
            return Err(self.not_allowed(key, kind(value), format!("a number, {words}")));
        };
        if allowed.contains(&number) {
            Ok(Some(number))
        } else {
            Err(self.not_allowed(key, shown(value), words))
        }
    }

    /// A number that must be there.
    pub(crate) fn needed(
        &mut self,
        key: &'static str,
        allowed: RangeInclusive<f64>,
    ) -> Result<f64, TableError> {
        let words = format!("{} to {}", allowed.start(), allowed.end());
        self.number(key, allowed)?.ok_or_else(|| self.missing(key, words))
    }

    /// The error for a key of this table that must be there.
    pub(crate) fn missing(&self, key: &'static str, allowed: impl Display) -> TableError {
        let (place, allowed) = (self.place.clone(), allowed.to_string());
        self.source.error(self.span.clone(), Problem::Missing { key, place, allowed })
    }

    /// A number known between bounds: one number, or a list of lowest, likeliest and highest.
    pub(crate) fn bounded(
        &mut self,
        key: &'static str,
        allowed: RangeInclusive<f64>,
    ) -> Result<Option<[f64; 3]>, TableError> {
        let Some(value) = self.take(key) else { return Ok(None) };
        let items: Option<Vec<f64>> = match value.as_array() {
            Some(items) => items.iter().map(|item| number_of(item.get_ref())).collect(),
            None => number_of(value).map(|number| vec![number; 3]),
        };
        let rising = |items: &[f64; 3]| {
            items[0] <= items[1]
                && items[1] <= items[2]
                && items.iter().all(|item| allowed.contains(item))
        };
        let numbers = items.and_then(|items| <[f64; 3]>::try_from(items).ok()).filter(rising);
        numbers.map(Some).ok_or_else(|| {
            let (low, high) = (allowed.start(), allowed.end());
            let words =
                format!("a number, or [lowest, likeliest, highest], within {low} to {high}");
            self.not_allowed(key, shown(value), words)
        })
    }

    /// A whole number within a range, whose meaning `words` tell.
    pub(crate) fn whole(
        &mut self,
        key: &'static str,
        words: &str,
        allowed: RangeInclusive<i32>,
    ) -> Result<Option<i32>, TableError> {
        let Some(value) = self.take(key) else { return Ok(None) };
        let number = value.as_integer().filter(|number| number.radix() == 10);
        let number = number.and_then(|number| number.as_str().parse().ok());
        match number.filter(|number| allowed.contains(number)) {
            Some(number) => Ok(Some(number)),
            None => {
                let words = words.trim().trim_end_matches('.').to_lowercase();
                let (low, high) = (allowed.start(), allowed.end());
                let words = format!("a whole number, {low} to {high} ({words})");
                Err(self.not_allowed(key, shown(value), words))
            }
        }
    }

    /// `true` or `false`.
    pub(crate) fn flag(&mut self, key: &'static str) -> Result<Option<bool>, TableError> {
        match self.take(key) {
            None => Ok(None),
            Some(DeValue::Boolean(flag)) => Ok(Some(*flag)),
            Some(other) => Err(self.not_allowed(key, shown(other), "true or false")),
        }
    }

    /// A name of 1 to 60 characters.
    pub(crate) fn text(&mut self, key: &'static str) -> Result<Option<&'a str>, TableError> {
        let Some(value) = self.take(key) else { return Ok(None) };
        let good = |text: &&str| {
            (1..=60).contains(&text.chars().count()) && !text.chars().any(char::is_control)
        };
        match value.as_str().filter(good) {
            Some(text) => Ok(Some(text)),
            None => Err(self.not_allowed(key, shown(value), "a text of 1 to 60 characters")),
        }
    }

    /// One of a few words, each with its meaning.
    pub(crate) fn word<T: Copy>(
        &mut self,
        key: &'static str,
        words: &[(&str, T)],
    ) -> Result<Option<T>, TableError> {
        let Some(value) = self.take(key) else { return Ok(None) };
        let found = value.as_str().and_then(|text| words.iter().find(|(word, _)| *word == text));
        match found {
            Some((_, meaning)) => Ok(Some(*meaning)),
            None => {
                let words: Vec<_> = words.iter().map(|(word, _)| format!("\"{word}\"")).collect();
                Err(self.not_allowed(key, shown(value), words.join(", ")))
            }
        }
    }

    /// A table of its own, `[name]`. Of a name with dots the last part is the key in this table.
    pub(crate) fn table(&mut self, name: &'static str) -> Result<Option<Self>, TableError> {
        let key = name.rsplit('.').next().unwrap_or(name);
        match self.take(key) {
            None => Ok(None),
            Some(DeValue::Table(entries)) => {
                let span = self.entries.get(key).map_or(0..0, |value| value.span());
                Ok(Some(self.inner(format!(" in [{name}]"), span, entries)))
            }
            Some(other) => Err(self.not_allowed(key, kind(other), format!("a table [{name}]"))),
        }
    }

    /// A series of tables, `[[key]]`, at most `most`; empty if absent.
    pub(crate) fn tables(
        &mut self,
        key: &'static str,
        most: usize,
    ) -> Result<Vec<Self>, TableError> {
        let Some(value) = self.take(key) else { return Ok(Vec::new()) };
        let allowed = format!("1 to {most} tables [[{key}]]");
        let Some(items) = value.as_array() else {
            return Err(self.not_allowed(key, kind(value), allowed));
        };
        if !(1..=most).contains(&items.len()) {
            return Err(self.not_allowed(key, format!("a series of {}", items.len()), allowed));
        }
        let tables = items.iter().enumerate().map(|(index, item)| match item.get_ref() {
            DeValue::Table(entries) => {
                Ok(self.inner(format!(" in [[{key}]] {}", index + 1), item.span(), entries))
            }
            other => Err(self.not_allowed(key, format!("a series with {}", kind(other)), &allowed)),
        });
        tables.collect()
    }

    fn inner(&self, place: String, span: Range<usize>, entries: &'a DeTable<'a>) -> Self {
        Self { source: self.source, place, span: Some(span), entries, known: Vec::new() }
    }

    /// Refuses the first key in the file that nobody asked for.
    pub(crate) fn finish(&self) -> Result<(), TableError> {
        let unknown =
            self.entries.keys().filter(|key| !self.known.contains(&key.get_ref().as_ref()));
        let Some(key) = unknown.min_by_key(|key| key.span().start) else { return Ok(()) };
        let hint = hint(key.get_ref(), &self.known);
        let problem =
            Problem::UnknownKey { key: key.get_ref().to_string(), place: self.place.clone(), hint };
        Err(self.source.error(Some(key.span()), problem))
    }
}

/// The known key that begins so, or the nearest if it is near enough to be meant, else all of them.
fn hint(key: &str, known: &[&str]) -> String {
    let distance = |known: &&&str| strsim::damerau_levenshtein(key, known);
    let begun = known.iter().find(|known| key.len() > 2 && known.starts_with(key));
    let nearest = known.iter().min_by_key(distance);
    let near = nearest.filter(|nearest| distance(nearest) <= 1 + nearest.len() / 4);
    match begun.or(near) {
        Some(nearest) => format!("did you mean `{nearest}`?"),
        None => format!("known keys are `{}`", known.join("`, `")),
    }
}

/// A text as TOML writes it.
pub(crate) fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// A number as written in decimal.
fn number_of(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(number) if number.radix() == 10 => number.as_str().parse().ok(),
        DeValue::Float(number) => number.as_str().parse().ok(),
        _ => None,
    }
}

/// A value in short, for errors.
fn shown(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("\"{}\"", text.chars().take(60).collect::<String>()),
        DeValue::Integer(number) => number.to_string(),
        DeValue::Float(number) => number.to_string(),
        DeValue::Boolean(flag) => flag.to_string(),
        DeValue::Array(items) => {
            let items: Vec<_> = items.iter().take(4).map(|item| shown(item.get_ref())).collect();
            format!("[{}]", items.join(", "))
        }
        other => kind(other).to_owned(),
    }
}

/// The kind of a value in words.
fn kind(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
