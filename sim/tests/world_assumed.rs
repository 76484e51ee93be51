//! The list of assumptions says what the code says.

use std::fs;

const LIST: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../hardware-notes/assumed.md");
const ROOT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../");

/// Rows of the list as (name, default, range, file).
fn rows() -> Vec<[String; 4]> {
    let list = fs::read_to_string(LIST).expect("the list of assumptions is there");
    list.lines()
        .filter(|line| line.starts_with("| ") && line.contains("sim/src/"))
        .map(|line| {
            let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
            [cells[0], cells[2], cells[3], cells[4]].map(str::to_owned)
        })
        .collect()
}

#[test]
fn every_listed_name_and_default_stands_in_its_file() {
    assert!(rows().len() > 40, "the list was not understood");
    for [name, default, _, file] in rows() {
        let code = fs::read_to_string(format!("{ROOT}{file}")).expect("the file named is there");
        assert!(code.contains(&name), "{name} is not in {file}");
        let constant = name.chars().all(|letter| letter.is_uppercase() || letter == '_');
        assert!(
            constant
                || code.contains(&format!(" {name}: {default},"))
                || code.contains(&format!(" {name}: {default} }}")),
            "{name} is not {default} in {file}"
        );
    }
}

#[test]
fn every_default_lies_in_its_range() {
    for [name, default, range, _] in rows() {
        let Ok(default) = default.replace('_', "").parse::<f64>() else { continue };
        let (low, high) = range.split_once(" to ").expect("a range reads `low to high`");
        let (low, high): (f64, f64) = (low.parse().expect("low"), high.parse().expect("high"));
        assert!(low <= default && default <= high, "{name} = {default} is outside {range}");
    }
}

#[test]
fn everything_that_the_code_calls_assumed_is_listed() {
    let names: Vec<String> = rows().into_iter().map(|[name, ..]| name).collect();
    let mut found = 0;
    for file in fs::read_dir(format!("{ROOT}sim/src/world")).expect("the world is there") {
        let code = fs::read_to_string(file.expect("a file").path()).expect("text");
        let mut assumed = false;
        for line in code.lines().map(str::trim) {
            if line.starts_with("///") {
                assumed |= line.starts_with("/// Assumed");
                continue;
            }
            let field = line.strip_prefix("pub ").or(line.strip_prefix("const "));
            if let Some((name, _)) =
                field.and_then(|rest| rest.split_once(": ")).filter(|_| assumed)
            {
                found += 1;
                assert!(
                    names.iter().any(|listed| listed == name),
                    "{name} is assumed but not listed"
                );
            }
            assumed = false;
        }
    }
    assert!(found > 30, "only {found} assumptions were found in the code");
}
