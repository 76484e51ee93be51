//! A question put to the comparison: the inputs, as a file may change them.

use super::defaults::{WAYS, farm, stored, ways};
use super::input::{Estimate, Farm, Key, Way};
use crate::loss::Store;
use crate::table::{Table, TableError, parsed, quoted};

/// What is to be compared.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// What people call it.
    pub name: String,
    /// What all ways share.
    pub farm: Farm<Estimate>,
    /// The ways, in the order of [`WAYS`].
    pub ways: [Way<Estimate>; 8],
    /// Index of the way that the others must pay against.
    pub against: usize,
    /// Index of the way whose uncertainty is shown in detail.
    pub detail: usize,
}

/// Who says so, for an input that a file states.
const STATED: &str = "stated in the file";

impl Default for Question {
    /// The usual inputs; rollers without chains in detail, against a whole bale on open ground.
    fn default() -> Self {
        Self {
            name: "ways of feeding".to_owned(),
            farm: farm(),
            ways: ways(),
            against: 0,
            detail: 6,
        }
    }
}

impl Question {
    /// Reads a TOML file; every key may be left out. A number stands for itself, a list of three for
    /// lowest, likeliest and highest.
    ///
    /// # Errors
    /// The first thing that is wrong, with its line.
    pub fn parse(text: &str) -> Result<Self, TableError> {
        parsed(text, |top| {
            let mut question = Self::default();
            let indices: [usize; 8] = std::array::from_fn(|index| index);
            let names = WAYS.map(|name| name).into_iter().zip(indices).collect::<Vec<_>>();
            if let Some(name) = top.text("name")? {
                name.clone_into(&mut question.name);
            }
            question.against = top.word("against", &names)?.unwrap_or(question.against);
            question.detail = top.word("detail", &names)?.unwrap_or(question.detail);
            if let Some(mut table) = top.table("farm")? {
                let store = table.word("stored", Store::NAMES)?;
                let months = table.number("stored_months", 0.0..=Store::MOST_MONTHS)?;
                match store {
                    Some(store) => {
                        question.farm.stored_loss = stored(store, months.unwrap_or(7.0));
                    }
                    None if months.is_some() => return Err(table.missing("stored", Store::names())),
                    None => {}
                }
                question.farm =
                    question.farm.try_map(|key, usual| stated(&mut table, key, usual))?;
                table.finish()?;
            }
            for mut table in top.tables("way", WAYS.len())? {
                let index = table.word("name", &names)?;
                let index = index.ok_or_else(|| table.missing("name", all_ways()))?;
                question.ways[index] =
                    question.ways[index].try_map(|key, usual| stated(&mut table, key, usual))?;
                table.finish()?;
            }
            Ok(question)
        })
    }

    /// The question as a file that gives it again, each input with its source.
    #[must_use]
    pub fn to_toml(&self) -> String {
        let mut text = format!(
            "# Ways of feeding, compared. Change what is different for you and run\n\
             #     strewn compare my-ways.toml\n\
             # Every key may be left out. A number stands for itself; a list is lowest, likeliest, highest.\n\
             # Instead of storage_loss_percent: stored = {}, with stored_months = 0 to 18.\n\n\
             name = {}\nagainst = {:?}\ndetail = {:?}\n\n[farm]\n",
            Store::names(),
            quoted(&self.name),
            WAYS[self.against],
            WAYS[self.detail]
        );
        self.farm.map(|key, estimate| text += &line(&key, estimate));
        for (name, way) in WAYS.iter().zip(&self.ways) {
            text += &format!("\n[[way]]\nname = {name:?}\n");
            way.map(|key, estimate| text += &line(&key, estimate));
        }
        text
    }
}

fn all_ways() -> String {
    WAYS.map(|name| format!("\"{name}\"")).join(", ")
}

fn stated(table: &mut Table<'_>, key: Key, usual: &Estimate) -> Result<Estimate, TableError> {
    let given = table.bounded(key.name, key.allowed)?;
    Ok(given.map_or(*usual, |[low, mode, high]| Estimate {
        low: low * key.unit,
        mode: mode * key.unit,
        high: high * key.unit,
        source: STATED,
    }))
}

fn line(key: &Key, estimate: &Estimate) -> String {
    format!("{} = {} # {}\n", key.name, written(key, estimate), estimate.source)
}

/// An estimate in the unit of its key: a number, or a list of three.
pub(crate) fn written(key: &Key, estimate: &Estimate) -> String {
    // Rounded far below what it means, so that a round number is written as one.
    let plain = |value: f64| (value / key.unit * 1e6).round() / 1e6;
    let [low, mode, high] = [estimate.low, estimate.mode, estimate.high].map(plain);
    if low == high { format!("{mode}") } else { format!("[{low}, {mode}, {high}]") }
}
