//! Start-up.
fn main() {}
