//! The command `strewn`.

fn main() {}
