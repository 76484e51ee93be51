//! A machine file: settings of the controller that a person or a fit knows better than a scenario.

use super::scenario::ScenarioError;
use crate::table::{Table, parsed};
use serde::Serialize;
use serde::de::DeserializeOwned;
use strewn_controller::settings::{Config, EstimateConfig, Field, MeteringConfig, TICKETS};

/// Settings that replace those made from a scenario. The default replaces none.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MachineFile {
    metering: Vec<(&'static str, i32)>,
    estimate: Vec<(&'static str, i32)>,
    /// Ticket, counted from 0, and the bite of a full bale, g a turn.
    bites: Vec<(usize, i32)>,
}

/// There are fewer tickets than the machine file knows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("[[ticket]] {number} is not a ticket of those settings; allowed is 1 to {tickets}")]
pub struct NoSuchTicket {
    number: usize,
    tickets: usize,
}

/// A setting that a machine file may replace, and its present value.
#[derive(Clone, Copy, Debug)]
pub struct Knob {
    /// The table of the file that it stands in.
    pub section: &'static str,
    /// Its name, words and range.
    pub field: &'static Field,
    /// Its value.
    pub value: i32,
}

/// What belongs to the job and not to the machine.
pub(crate) const OF_THE_JOB: [&str; 2] = ["target_g_per_m", "row_length_mm"];
const METERING: &str = "metering";
const ESTIMATE: &str = "estimate";

impl MachineFile {
    /// Reads a machine file from the text of a TOML file.
    ///
    /// # Errors
    /// The first thing that is wrong, with its line: syntax, an unknown key, a value not allowed.
    pub fn parse(text: &str) -> Result<Self, ScenarioError> {
        parsed(text, |top| {
            let mut file = Self::default();
            if let Some(mut table) = top.table(METERING)? {
                file.metering = fields(&mut table, MeteringConfig::FIELDS)?;
            }
            if let Some(mut table) = top.table(ESTIMATE)? {
                file.estimate = fields(&mut table, EstimateConfig::FIELDS)?;
            }
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

    /// Every setting of metering and estimate that a machine file may replace, with its value in a
    /// configuration.
    #[must_use]
    pub fn knobs(config: &Config) -> Vec<Knob> {
        let metering = knobs(METERING, MeteringConfig::FIELDS, &config.metering);
        metering.chain(knobs(ESTIMATE, EstimateConfig::FIELDS, &config.estimate)).collect()
    }

    /// Replaces one setting; a value beyond its range becomes the nearest one allowed.
    pub fn set(&mut self, knob: &Knob, value: i32) {
        let values = if knob.section == METERING { &mut self.metering } else { &mut self.estimate };
        values.retain(|(name, _)| *name != knob.field.name);
        values.push((knob.field.name, value.clamp(knob.field.low, knob.field.high)));
    }

    /// The file as a text that [`MachineFile::parse`] reads again, each setting with its words.
    #[must_use]
    pub fn text(&self) -> String {
        let mut text = String::from("# Settings in place of those made from a scenario.\n");
        let mut section = "";
        for (table, field, value) in self.values() {
            if table != section {
                section = table;
                text += &format!("\n[{section}]\n");
            }
            text += &format!("{} = {value} # {}\n", field.name, field.words.trim());
        }
        for (index, bite_g) in &self.bites {
            text += &format!("\n[[ticket]]\nnumber = {}\nbite_g = {bite_g}\n", index + 1);
        }
        text
    }

    /// Every setting of metering and estimation that the file has: its table, what it is, its value.
    #[must_use]
    pub fn values(&self) -> Vec<(&'static str, Field, i32)> {
        let sections = [
            (METERING, &self.metering, MeteringConfig::FIELDS),
            (ESTIMATE, &self.estimate, EstimateConfig::FIELDS),
        ];
        let mut values = Vec::new();
        for (section, given, fields) in sections {
            for (name, value) in given {
                let field = fields.iter().find(|field| field.name == *name);
                values.extend(field.map(|field| (section, *field, *value)));
            }
        }
        values
    }

    /// Puts the settings in place of those of a configuration.
    ///
    /// # Errors
    /// A ticket that the configuration does not have.
    pub fn apply(&self, config: &mut Config) -> Result<(), NoSuchTicket> {
        let tickets = config.tickets.len();
        for (index, bite_g) in &self.bites {
            let missing = NoSuchTicket { number: index + 1, tickets };
            config.tickets.get_mut(*index).ok_or(missing)?.bite_g = *bite_g;
        }
        replace(&mut config.metering, &self.metering);
        replace(&mut config.estimate, &self.estimate);
        Ok(())
    }
}

/// The settings of one record that a table has.
fn fields(
    table: &mut Table<'_>,
    known: &'static [Field],
) -> Result<Vec<(&'static str, i32)>, ScenarioError> {
    let mut found = Vec::new();
    for field in known.iter().filter(|field| !OF_THE_JOB.contains(&field.name)) {
        if let Some(value) = table.whole(field.name, field.words, field.low..=field.high)? {
            found.push((field.name, value));
        }
    }
    table.finish()?;
    Ok(found)
}

fn knobs<T: Serialize>(
    section: &'static str,
    fields: &'static [Field],
    record: &T,
) -> impl Iterator<Item = Knob> {
    let table = toml::Table::try_from(record).unwrap_or_default();
    fields.iter().filter(|field| !OF_THE_JOB.contains(&field.name)).map(move |field| {
        let value = table.get(field.name).and_then(toml::Value::as_integer);
        let value = value.and_then(|value| i32::try_from(value).ok()).unwrap_or(field.typical);
        Knob { section, field, value }
    })
}

/// A record of integers knows its fields by name only as a table. The names are its own.
fn replace<T: Serialize + DeserializeOwned>(record: &mut T, values: &[(&'static str, i32)]) {
    let Ok(mut table) = toml::Table::try_from(&*record) else { return };
    for (name, value) in values {
        table.insert((*name).to_owned(), i64::from(*value).into());
    }
    if let Ok(replaced) = table.try_into() {
        *record = replaced;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refusal(text: &str) -> String {
        MachineFile::parse(text).unwrap_err().to_string()
    }

    fn config(tickets: usize) -> Config {
        let scenario = crate::bench::scenario::Scenario::parse("").unwrap();
        let mut config = super::super::settings::config(&scenario, None);
        while config.tickets.len() < tickets {
            let again = config.tickets[0];
            config.tickets.push(again).unwrap();
        }
        config
    }

    #[test]
    fn every_setting_is_replaced_by_name() {
        for (section, fields) in
            [("metering", MeteringConfig::FIELDS), ("estimate", EstimateConfig::FIELDS)]
        {
            for field in fields.iter().filter(|field| !OF_THE_JOB.contains(&field.name)) {
                let text = format!("[{section}]\n{} = {}\n", field.name, field.low);
                let mut config = config(1);
                MachineFile::parse(&text).unwrap().apply(&mut config).unwrap();
                let table = toml::Table::try_from(&config).unwrap();
                assert_eq!(table[section][field.name].as_integer(), Some(field.low.into()));
            }
        }
        let mut config = config(2);
        let file = MachineFile::parse("[[ticket]]\nnumber = 2\nbite_g = 9000\n").unwrap();
        file.apply(&mut config).unwrap();
        assert_eq!(config.tickets[1].bite_g, 9_000);
        assert_ne!(config.tickets[0].bite_g, 9_000);
    }

    #[test]
    fn what_is_set_is_written_and_read_again() {
        let before = config(2);
        let mut file = MachineFile::parse("[[ticket]]\nnumber = 2\nbite_g = 9000\n").unwrap();
        for knob in MachineFile::knobs(&before) {
            file.set(&knob, knob.field.low);
            file.set(&knob, i32::MAX);
        }
        assert_eq!(MachineFile::parse(&file.text()).unwrap(), file);
        let mut after = before.clone();
        file.apply(&mut after).unwrap();
        for knob in MachineFile::knobs(&after) {
            assert_eq!(knob.value, knob.field.high, "{}", knob.field.name);
        }
        assert!(MachineFile::knobs(&before).len() > 20);
    }

    #[test]
    fn refusals_name_line_range_and_meaning() {
        let told = refusal("\n[metering]\ndead_band_permille = 500\n");
        for words in
            ["line 3", "`dead_band_permille` in [metering] is 500", "0 to 400", "nothing flows"]
        {
            assert!(told.contains(words), "no {words:?} in: {told}");
        }
        assert!(refusal("[metering]\nfall_ms = 1.5\n").contains("a whole number, 0 to 2000"));
        assert!(refusal("[metering]\nfall_ms = \"x\"\n").contains("a whole number, 0 to 2000"));
        assert!(
            refusal("[metering]\ndead_band_permil = 1\n")
                .contains("did you mean `dead_band_permille`?")
        );
        assert!(
            refusal("[metering]\ntarget_g_per_m = 4000\n").contains("unknown key `target_g_per_m`")
        );
        assert!(refusal("[safety]\n").contains("unknown key `safety`"));
        assert!(refusal("[[ticket]]\nnumber = 9\n").contains("1 to 4"));
        assert!(refusal("[[ticket]]\nbite_g = 1\n").contains("200 to 60000"));
        assert!(refusal("hay").contains("line 1"));
        let file = MachineFile::parse("[[ticket]]\nnumber = 2\nbite_g = 9000\n").unwrap();
        let told = file.apply(&mut config(1)).unwrap_err().to_string();
        assert_eq!(told, "[[ticket]] 2 is not a ticket of those settings; allowed is 1 to 1");
    }
}
