//! The tables of a machine file, and what may be set in each.

use strewn_controller::settings::{
    EstimateConfig, Field, GaugeConfig, GroundConfig, MeteringConfig, PressureConfig, SafetyConfig,
    SignalConfig, WeighConfig,
};

/// A table of settings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Section {
    /// Its name in a file; what stands before a dot is the table that it stands in.
    pub name: &'static str,
    /// Every setting of its record.
    pub fields: &'static [Field],
}

/// What belongs to the job and not to the machine.
const OF_THE_JOB: [&str; 2] = ["target_g_per_m", "row_length_mm"];

/// The settings that may be tried out. Limits and calibration are nothing to be searched.
pub const TRIED: [Section; 2] = [
    Section { name: "metering", fields: MeteringConfig::FIELDS },
    Section { name: "estimate", fields: EstimateConfig::FIELDS },
];

/// Every table, in the order of a file.
pub const SECTIONS: [Section; 8] = [
    TRIED[0],
    TRIED[1],
    Section { name: "safety", fields: SafetyConfig::FIELDS },
    Section { name: "signals", fields: SignalConfig::FIELDS },
    Section { name: "signals.ground", fields: GroundConfig::FIELDS },
    Section { name: "signals.weigh", fields: WeighConfig::FIELDS },
    Section { name: "signals.pressure", fields: PressureConfig::FIELDS },
    Section { name: "signals.gauge", fields: GaugeConfig::FIELDS },
];

impl Section {
    /// What a machine file may set.
    pub fn of_the_machine(&self) -> impl Iterator<Item = &'static Field> + use<> {
        self.fields.iter().filter(|field| !OF_THE_JOB.contains(&field.name))
    }

    /// The table that it stands in; empty for the top of the file.
    pub(super) fn within(&self) -> &'static str {
        self.name.rsplit_once('.').map_or("", |(within, _)| within)
    }

    /// Its place in the table of a whole configuration; an empty one is made if there is none.
    pub(super) fn place<'t>(&self, config: &'t mut toml::Table) -> Option<&'t mut toml::Table> {
        self.name.split('.').try_fold(config, |table, key| {
            let below = table.entry(key).or_insert_with(|| toml::Table::new().into());
            below.as_table_mut()
        })
    }
}
