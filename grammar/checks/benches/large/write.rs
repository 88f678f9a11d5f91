//! Writes a large repository into a new folder, to measure `gutta check` by:
//! 100,000 orders in 200 files, some 41 MB.
//!
//! ```text
//! cargo run --release -p gutta-checks --example large -- FOLDER
//! ```

#[path = "mod.rs"]
mod large;

use std::io::{Error, ErrorKind, Result};
use std::path::PathBuf;

const FILES: usize = 200;
const ORDERS_A_FILE: usize = 500;

fn main() -> Result<()> {
    let folder = std::env::args_os().nth(1).map(PathBuf::from);
    let folder = folder.ok_or_else(|| Error::new(ErrorKind::InvalidInput, "which folder?"))?;
    std::fs::create_dir_all(&folder)?;
    std::fs::write(folder.join("gutta.toml"), "")?;
    for (name, text) in large::files(FILES, ORDERS_A_FILE) {
        std::fs::write(folder.join(name), text)?;
    }
    Ok(())
}
