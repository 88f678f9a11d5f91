//! The command from end to end: what a person reads, what a program reads, and
//! what happens where something is wrong with the files themselves.

#![allow(clippy::unwrap_used, reason = "a test fails where it cannot go on")]

mod baseline;
mod check;
mod compare;
mod derive;
mod export;
mod files;
mod files_named;
#[cfg(unix)]
mod files_unix;
mod fix;
mod fmt;
mod formats;
mod hostile;
mod nasty;
mod others;
mod plain_words;
mod sheet;
mod sheet_values;
mod since;
mod site;
mod site_folder;
#[path = "../styles/mod.rs"]
mod styles;
mod styles_told;
mod support;
#[path = "../voice/mod.rs"]
mod voice;
mod watch;
mod writing;
