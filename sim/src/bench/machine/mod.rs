//! A machine file: settings of the controller that a person or a fit knows better than a scenario.

mod section;

pub use section::{SECTIONS, Section, TRIED};

use super::scenario::ScenarioError;
use crate::table::{Table, parsed};
use std::collections::BTreeMap;
use strewn_controller::settings::{Config, Field, TICKETS};

/// Settings that replace those made from a scenario. The default replaces none.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MachineFile {
    /// What each table that is there gives.
    settings: BTreeMap<&'static str, BTreeMap<&'static str, i32>>,
    /// Ticket, counted from 0, and the bite of a full bale, g a turn.
    bites: Vec<(usize, i32)>,
}

/// Why a machine file does not fit to the settings that it is to change.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MachineError {
    /// There are fewer tickets than the machine file knows.
    #[error("[[ticket]] {number} is not a ticket of those settings; allowed is 1 to {tickets}")]
    NoSuchTicket {
        /// The ticket, counted from 1.
        number: usize,
        /// How many there are.
        tickets: usize,
    },
    /// A sensor that is not fitted can only be fitted as a whole.
    #[error(
        "`{}` in [{section}] is missing, and those settings have no such sensor to take it from; allowed is a \
         whole number, {} to {} ({})",
        .field.name, .field.low, .field.high, .field.words.trim().trim_end_matches('.').to_lowercase()
    )]
    NotWhole {
        /// The sensor's table.
        section: &'static str,
        /// The first setting that it lacks.
        field: &'static Field,
    },
}

/// A setting that may be tried out, and its present value.
#[derive(Clone, Copy, Debug)]
pub struct Knob {
    /// The table of the file that it stands in.
    pub section: &'static str,
    /// Its name, words and range.
    pub field: &'static Field,
    /// Its value.
    pub value: i32,
}

impl MachineFile {
    /// Reads a machine file from the text of a TOML file.
    ///
    /// # Errors
    /// The first thing that is wrong, with its line: syntax, an unknown key, a value not allowed.
    pub fn parse(text: &str) -> Result<Self, ScenarioError> {
        parsed(text, |top| {
            let mut file = Self::default();
            file.read(top, "")?;
            for mut table in top.tables("ticket", TICKETS)? {
                let number = table.number("number", 1.0..=TICKETS as f64)?;
                let number = number.map_or(file.bites.len(), |number| number as usize - 1);
                if let Some(bite) =
                    table.whole("bite_g", "bite of a full bale, g a turn", 200..=60_000)?
                {
                    file.bites.push((number, bite));
                }
                table.finish()?;
            }
            Ok(file)
        })
    }

    /// Reads the tables that stand in another.
    fn read(&mut self, above: &mut Table<'_>, within: &str) -> Result<(), ScenarioError> {
        for section in SECTIONS.into_iter().filter(|section| section.within() == within) {
            let Some(mut table) = above.table(section.name)? else { continue };
            let mut given = BTreeMap::new();
            for field in section.of_the_machine() {
                if let Some(value) = table.whole(field.name, field.words, field.low..=field.high)? {
                    given.insert(field.name, value);
                }
            }
            self.settings.insert(section.name, given);
            self.read(&mut table, section.name)?;
            table.finish()?;
        }
        Ok(())
    }

    /// Every setting that may be tried out, with its value in a configuration.
    #[must_use]
    pub fn knobs(config: &Config) -> Vec<Knob> {
        let mut all = toml::Table::try_from(config).unwrap_or_default();
        let mut knobs = Vec::new();
        for section in TRIED {
            let table = section.place(&mut all);
            let value =
                |field: &Field| table.as_ref()?.get(field.name)?.as_integer()?.try_into().ok();
            knobs.extend(section.of_the_machine().map(|field| Knob {
                section: section.name,
                field,
                value: value(field).unwrap_or(field.typical),
            }));
        }
        knobs
    }

    /// Replaces one setting; a value beyond its range becomes the nearest one allowed.
    pub fn set(&mut self, knob: &Knob, value: i32) {
        let Knob { section, field, .. } = knob;
        let value = value.clamp(field.low, field.high);
        self.settings.entry(section).or_default().insert(field.name, value);
    }

    /// The file as a text that [`MachineFile::parse`] reads again, each setting with its words.
    #[must_use]
    pub fn text(&self) -> String {
        let mut text = String::from("# Settings in place of those made from a scenario.\n");
        for section in SECTIONS.iter().filter(|section| self.settings.contains_key(section.name)) {
            text += &format!("\n[{}]\n", section.name);
            for (field, value) in self.given(section) {
                text += &format!("{} = {value} # {}\n", field.name, field.words.trim());
            }
        }
        for (index, bite_g) in &self.bites {
            text += &format!("\n[[ticket]]\nnumber = {}\nbite_g = {bite_g}\n", index + 1);
        }
        text
    }

    /// Every setting that the file has but those of tickets: its table, what it is, its value.
    #[must_use]
    pub fn values(&self) -> Vec<(&'static str, Field, i32)> {
        let of = |section: &Section| {
            let name = section.name;
            self.given(section).map(move |(field, value)| (name, *field, value)).collect::<Vec<_>>()
        };
        SECTIONS.iter().flat_map(of).collect()
    }

    /// What the file has of a table.
    fn given(&self, section: &Section) -> impl Iterator<Item = (&'static Field, i32)> {
        let given = self.settings.get(section.name);
        section.of_the_machine().filter_map(move |field| Some((field, *given?.get(field.name)?)))
    }

    /// Puts the settings in place of those of a configuration. A sensor that it does not have is fitted.
    ///
    /// # Errors
    /// A ticket that the configuration does not have; a sensor that it does not have, if anything of it is
    /// missing. Nothing is replaced then.
    pub fn apply(&self, config: &mut Config) -> Result<(), MachineError> {
        let mut replaced = self.replaced(config)?;
        let tickets = replaced.tickets.len();
        for (index, bite_g) in &self.bites {
            let missing = MachineError::NoSuchTicket { number: index + 1, tickets };
            replaced.tickets.get_mut(*index).ok_or(missing)?.bite_g = *bite_g;
        }
        *config = replaced;
        Ok(())
    }

    /// A configuration with the settings of the tables. Records of integers know their fields by name only
    /// as tables; that there and back nothing is lost is tested for every field.
    fn replaced(&self, config: &Config) -> Result<Config, MachineError> {
        let mut all = toml::Table::try_from(config).unwrap_or_default();
        for section in SECTIONS.iter().filter(|section| self.settings.contains_key(section.name)) {
            let Some(table) = section.place(&mut all) else { continue };
            let set = self.given(section);
            table
                .extend(set.map(|(field, value)| (field.name.to_owned(), i64::from(value).into())));
            // Only a sensor's table can lack anything: the others were there before.
            if let Some(field) = section.fields.iter().find(|field| !table.contains_key(field.name))
            {
                return Err(MachineError::NotWhole { section: section.name, field });
            }
        }
        Ok(all.try_into().unwrap_or_else(|_| config.clone()))
    }
}
