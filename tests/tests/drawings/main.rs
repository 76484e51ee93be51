//! The drawings in the hardware notes are those of the texts beside them, and the texts hold together.
//!
//! `STREWN_RENEW_PICTURES=1 cargo test -p strewn-tests --test drawings` draws them anew; look at them.

mod blocks;
mod svg;
mod wiring;

use std::fs;
use std::path::{Path, PathBuf};

fn notes(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../hardware-notes").join(name)
}

fn read(name: &str) -> String {
    fs::read_to_string(notes(name)).unwrap_or_else(|error| panic!("hardware-notes/{name}: {error}"))
}

/// Whether the drawing kept is the one drawn; writes it if asked to.
#[track_caller]
fn assert_kept(name: &str, drawn: &str) {
    if std::env::var_os("STREWN_RENEW_PICTURES").is_some() {
        fs::write(notes(name), drawn).expect("the notes can be written");
    }
    assert!(read(name) == drawn, "hardware-notes/{name} is not what its text draws; renew it");
}

#[test]
fn the_block_diagram_is_that_of_its_text() {
    let diagram = blocks::Diagram::read(&read("blocks.txt")).expect("blocks.txt");
    assert_kept("blocks.svg", &diagram.draw());
}

#[test]
fn the_wiring_is_that_of_the_table_of_connectors() {
    let wiring = wiring::Wiring::read(&read("wiring.md")).expect("wiring.md");
    assert_kept("wiring.svg", &wiring.draw());
}

#[test]
fn every_switch_and_lamp_of_the_program_has_a_wire() {
    let wiring = wiring::Wiring::read(&read("wiring.md")).expect("wiring.md");
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("../controller/src/wires.rs");
    let source = fs::read_to_string(source).expect("wires.rs");
    let names = source.lines().filter_map(|line| line.trim().strip_prefix("pub const "));
    let bits = names.filter(|line| line.contains(": u16 = 1") || line.contains(": u8 = 1"));
    let bits: Vec<&str> = bits.filter_map(|line| line.split(':').next()).collect();
    assert_eq!(bits.len(), 15, "{bits:?}");
    for bit in bits {
        let wires = wiring.wires.iter().filter(|wire| wire.name == format!("`{bit}`"));
        assert_eq!(wires.count(), 1, "wires named `{bit}`");
    }
}

#[test]
fn each_fuse_guards_the_thinnest_of_its_wires_and_carries_its_load() {
    let wiring = wiring::Wiring::read(&read("wiring.md")).expect("wiring.md");
    for fuse in &wiring.fuses {
        let own = wiring.wires.iter().filter(|wire| wire.fuse == fuse.name);
        let carried = own.map(|wire| wiring.carries(wire.mm2)).fold(f64::INFINITY, f64::min);
        assert!(fuse.rating_a <= carried, "{} on a wire for {carried} A", fuse.name);
        assert!(fuse.rating_a >= 1.25 * fuse.load_a, "{} would age under its load", fuse.name);
    }
    for wire in wiring.wires.iter().filter(|wire| !wire.fuse.is_empty()) {
        assert!(
            wiring.fuses.iter().any(|fuse| fuse.name == wire.fuse),
            "{} of {}",
            wire.fuse,
            wire.name
        );
    }
}

#[test]
fn no_pin_is_used_twice() {
    let wiring = wiring::Wiring::read(&read("wiring.md")).expect("wiring.md");
    for (place, wire) in wiring.wires.iter().enumerate() {
        let earlier = &wiring.wires[..place];
        let same =
            |other: &&wiring::Wire| other.connector == wire.connector && other.pin == wire.pin;
        assert!(!earlier.iter().any(|other| same(&other)), "{} {}", wire.connector, wire.pin);
    }
}

#[test]
fn what_is_wrong_in_a_text_is_said() {
    let wrong = [
        ("box a 0 0 1 A\nline signal a > b x", "line 2: there is no box b"),
        ("box a 0 0 1 A\nbox b 2 0 1 B\nline signal a > b x", "line 3: a and b are not neighbours"),
        ("box a 0 0 1 A\nbox b 0 0 1 B", "line 2: b lies on a"),
        ("box a 0 0 1 A name that is far too long for its box", "line 1: does not fit in its box"),
        ("circle a", "line 1: neither box nor line"),
    ];
    for (text, said) in wrong {
        assert_eq!(blocks::Diagram::read(text).err().as_deref(), Some(said));
    }
}
