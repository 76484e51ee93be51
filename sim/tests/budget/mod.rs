//! The budget of the core on the board: what each figure may reach, and what it shall come to.

use std::fs;
use std::path::Path;

/// Asserts that a figure keeps within what `controller/firmware/budget.toml` holds it to, and prints it
/// beside its goal.
pub(crate) fn hold(name: &str, reached: u64) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../controller/firmware/budget.toml");
    let text = fs::read_to_string(path).expect("the budget");
    let budget: toml::Table = text.parse().expect("a budget in TOML");
    let bound = |kind: &str| {
        let bound = budget.get(name).and_then(|figure| figure.get(kind));
        let bound = bound.and_then(toml::Value::as_integer);
        bound.and_then(|bound| u64::try_from(bound).ok()).expect("a figure with held and goal")
    };
    let (held, goal) = (bound("held"), bound("goal"));
    let verdict = if reached <= goal { "within its goal" } else { "above its goal" };
    println!("{name}: {reached}, held to {held}, goal {goal}: {verdict}");
    assert!(reached <= held, "{name} has come to {reached}; the budget holds it to {held}");
}
