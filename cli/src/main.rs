//! `gutta`: write, derive and check infusion orders in plain text.

fn main() {}
