//! A machine file: every setting by its name, sensors fitted whole, and what is refused.

use strewn::bench::scenario::Scenario;
use strewn::bench::{MachineFile, SECTIONS, Section, configured};
use strewn_controller::settings::{Config, EstimateConfig, MeteringConfig, SignalConfig};

fn refusal(text: &str) -> String {
    MachineFile::parse(text).unwrap_err().to_string()
}

/// Settings with so many tickets and every sensor.
fn config(tickets: usize) -> Config {
    let scenario = Scenario::parse("").unwrap();
    let mut config = configured(&scenario, None, &MachineFile::default()).unwrap();
    config.signals = SignalConfig::TYPICAL;
    while config.tickets.len() < tickets {
        let again = config.tickets[0];
        config.tickets.push(again).unwrap();
    }
    config
}

/// The same without sensors of the hay and the ground.
fn bare() -> Config {
    let mut bare = config(1);
    let signals = bare.signals;
    bare.signals =
        SignalConfig { ground: None, weigh: None, pressure: None, gauge: None, ..signals };
    bare
}

/// Where a table stands in that of a whole configuration, if it is there.
fn place<'t>(config: &'t mut toml::Table, section: &Section) -> Option<&'t mut toml::Table> {
    section.name.split('.').try_fold(config, |table, key| table.get_mut(key)?.as_table_mut())
}

/// A table with each of its settings at its lowest.
fn lowest(section: &Section) -> String {
    let lines = section.of_the_machine().map(|field| format!("{} = {}\n", field.name, field.low));
    format!("[{}]\n{}", section.name, lines.collect::<String>())
}

#[test]
fn every_setting_is_replaced_by_name_and_no_other() {
    for section in SECTIONS {
        for field in section.of_the_machine() {
            for value in [field.low, field.high] {
                let text = format!("[{}]\n{} = {value}\n", section.name, field.name);
                let mut after = config(2);
                MachineFile::parse(&text).unwrap().apply(&mut after).unwrap();
                let mut wanted = toml::Table::try_from(config(2)).unwrap();
                let place = place(&mut wanted, &section).unwrap();
                assert!(place.insert(field.name.to_owned(), i64::from(value).into()).is_some());
                assert_eq!(toml::Table::try_from(&after).unwrap(), wanted, "{text}");
            }
        }
    }
    let mut config = config(2);
    let file = MachineFile::parse("[[ticket]]\nnumber = 2\nbite_g = 9000\n").unwrap();
    file.apply(&mut config).unwrap();
    assert_eq!(config.tickets[1].bite_g, 9_000);
    assert_ne!(config.tickets[0].bite_g, 9_000);
}

#[test]
fn a_file_of_every_setting_is_written_and_read_again() {
    let text: String = SECTIONS.iter().map(lowest).collect();
    let file = MachineFile::parse(&text).unwrap();
    assert_eq!(MachineFile::parse(&file.text()).unwrap(), file);
    let settable = SECTIONS.iter().map(|section| section.of_the_machine().count()).sum::<usize>();
    assert_eq!(file.values().len(), settable);
    assert!(file.values().iter().all(|(_, field, value)| *value == field.low));
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
    assert_eq!((&after.safety, &after.signals), (&before.safety, &before.signals));
    let tried = MeteringConfig::FIELDS.len() + EstimateConfig::FIELDS.len() - 2;
    assert_eq!(MachineFile::knobs(&before).len(), tried);
}

#[test]
fn a_sensor_is_fitted_whole_and_one_not_named_stays() {
    let sensors = SECTIONS.iter().filter(|section| section.name.contains('.'));
    for section in sensors.clone() {
        let whole = lowest(section);
        let mut fitted = bare();
        MachineFile::parse(&whole).unwrap().apply(&mut fitted).unwrap();
        let mut table = toml::Table::try_from(&fitted).unwrap();
        assert_eq!(place(&mut table, section).unwrap().len(), section.fields.len());
        for other in sensors.clone().filter(|other| *other != section) {
            assert!(place(&mut table, other).is_none(), "{}", other.name);
        }
        for field in section.fields {
            let line = format!("{} = {}\n", field.name, field.low);
            let lacking = MachineFile::parse(&whole.replacen(&line, "", 1)).unwrap();
            let mut config = bare();
            let told = lacking.apply(&mut config).unwrap_err().to_string();
            let range = format!("{} to {}", field.low, field.high);
            for words in [field.name, &format!("in [{}]", section.name), "no such sensor", &range] {
                assert!(told.contains(words), "no {words:?} in: {told}");
            }
            assert_eq!(config, bare());
        }
    }
    let empty = MachineFile::parse("[signals.gauge]\n").unwrap();
    assert!(empty.apply(&mut bare()).is_err());
    let mut all = config(1);
    empty.apply(&mut all).unwrap();
    assert_eq!(all, config(1));
}

/// The check of the build, for which the file alone is not enough.
#[test]
fn settings_at_odds_with_each_other_are_refused_by_name() {
    for (text, field) in [
        ("[safety]\ncoil_none_counts = 3500\n", "coil_full_counts is "),
        ("[safety]\ncoil_most_counts = 400\n", "coil_most_counts is 400, but must be from "),
        ("[safety]\nroller_limit_milliturns_s = 600\n", "roller_limit_milliturns_s is 600"),
        (
            "[safety]\ntest_duty_permille = 100\n[metering]\ndead_band_permille = 90\n",
            "test_duty_permille is 100, but must be from 0 to 90",
        ),
        ("[signals]\nreference_lowest_counts = 2200\n", "reference_highest_counts is 2108"),
        ("[signals.weigh]\nlowest_counts = 4000000\n", "weigh.highest_counts is 4000000"),
        (
            "[signals.pressure]\nfirst_counts = 3500\n",
            "pressure.second_counts is 3686, but must be from 3756 to 4095",
        ),
        ("[signals.gauge]\nlowest_counts = 4000\n", "gauge.highest_counts is 3891"),
    ] {
        let mut config = config(1);
        MachineFile::parse(text).unwrap().apply(&mut config).unwrap();
        let told = config.build().unwrap_err().to_string();
        assert!(told.starts_with(field), "{told}");
    }
    assert!(config(1).build().is_ok() && bare().build().is_ok());
}

#[test]
fn refusals_name_line_range_and_meaning() {
    for (text, words) in [
        (
            "\n[metering]\ndead_band_permille = 500\n",
            ["line 3", "`dead_band_permille` in [metering] is 500", "0 to 400", "nothing flows"],
        ),
        (
            "[safety]\n\npressure_limit_kpa = 90000\n",
            [
                "line 3",
                "`pressure_limit_kpa` in [safety] is 90000",
                "1000 to 30000",
                "highest pressure",
            ],
        ),
        (
            "[signals]\nrun_release_ms = 51\n",
            ["line 2", "`run_release_ms` in [signals] is 51", "10 to 50", "let go"],
        ),
        (
            "[signals.weigh]\nmg_per_count = 9\n",
            [
                "line 2",
                "`mg_per_count` in [signals.weigh] is 9",
                "10 to 20000",
                "mass of one count",
            ],
        ),
        (
            "[signals.gauge]\nfirst_kpa = 9\n",
            ["line 2", "unknown key `first_kpa`", "[signals.gauge]", "first_mm"],
        ),
        (
            "[signals]\nweight = 9\n",
            ["line 2", "unknown key `weight`", "[signals]", "did you mean `weigh`?"],
        ),
        (
            "[signals]\nweigh = 9\n",
            ["line 2", "`weigh` in [signals]", "a number", "a table [signals.weigh]"],
        ),
        (
            "[weigh]\nmg_per_count = 9\n",
            ["line 1", "unknown key `weigh`", "known keys are", "`signals`"],
        ),
    ] {
        let told = refusal(text);
        for words in words {
            assert!(told.contains(words), "no {words:?} in: {told}");
        }
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
    assert!(refusal("[[ticket]]\nnumber = 9\n").contains("1 to 4"));
    assert!(refusal("[[ticket]]\nbite_g = 1\n").contains("200 to 60000"));
    assert!(refusal("hay").contains("line 1"));
    let file = MachineFile::parse("[[ticket]]\nnumber = 2\nbite_g = 9000\n").unwrap();
    let told = file.apply(&mut config(1)).unwrap_err().to_string();
    assert_eq!(told, "[[ticket]] 2 is not a ticket of those settings; allowed is 1 to 1");
}
