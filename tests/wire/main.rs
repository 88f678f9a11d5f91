//! The language server over its real wire: the built binary, its standard
//! streams, and a raw JSON client.

#![allow(
    clippy::unwrap_used,
    reason = "a helper that cannot go on fails its test"
)]

mod actions;
mod completion;
mod derived;
mod diagnostics;
#[cfg(unix)]
mod files;
mod frames;
mod greeting;
mod hazards;
mod layout;
mod long;
mod moves;
mod nasty;
mod navigation;
mod steps;
#[path = "../styles/mod.rs"]
mod styles;
mod styles_told;
mod support;
mod surroundings;
mod typing;
#[path = "../voice/mod.rs"]
mod voice;
mod watching;
mod workspace;
