//! brakewright
fn main() {}
