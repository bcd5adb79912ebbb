//! The `whytrip` program.
fn main() {}
