//! The failure table in the notes is the one in the program.

use std::fs;
use std::path::Path;
use strewn::report::{failure_rows, failure_table};
use strewn_controller::safety::TABLE;

fn notes() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../hardware-notes/safety.md");
    fs::read_to_string(path).expect("hardware-notes/safety.md")
}

#[test]
fn the_failure_table_in_the_notes_is_that_of_the_program() {
    let notes = notes();
    let (_, rest) = notes.split_once("<!-- failure table: begin -->\n").expect("its beginning");
    let (told, _) = rest.split_once("<!-- failure table: end -->").expect("its end");
    assert_eq!(
        told.trim(),
        failure_table().trim(),
        "paste the output of `strewn stops --table` between the marks"
    );
}

#[test]
fn every_condition_has_a_whole_row() {
    let rows = failure_rows();
    assert_eq!(rows.len(), TABLE.len());
    assert!(rows.iter().flatten().all(|cell| !cell.is_empty() && !cell.contains('|')));
}
