//! Writes a large mixed repository into a folder, to measure `gutta` by.
//!
//! ```text
//! cargo run --release -p gutta-tests -- FOLDER [NAME=NUMBER]...
//! ```
//!
//! `orders=100000`: so many orders, or a few more, in files of some 20 kB;
//! `files=10000`: so many files instead; `lines=1000`: one file `all.gtt` of
//! about so many lines instead. `copies=5`: of each file of the hospital, in one
//! file. `wrong=5`: of a hundred orders and sets, with a slip. `seed=1`.
//!
//! Prints how many files, orders and bytes were written.

use std::fs;
use std::io::{Error, ErrorKind, Result};
use std::path::{Path, PathBuf};

use gutta_tests::corpus::{Corpus, File};

/// What is asked for.
struct Asked {
    orders: usize,
    files: usize,
    lines: usize,
    copies: usize,
    wrong: usize,
    seed: u64,
}

impl Asked {
    fn of(arguments: impl Iterator<Item = String>) -> Option<Self> {
        let mut asked = Self {
            orders: 100_000,
            files: usize::MAX,
            lines: 0,
            copies: 5,
            wrong: 5,
            seed: 1,
        };
        for argument in arguments {
            let (name, number) = argument.split_once('=')?;
            let number: usize = number.parse().ok()?;
            match name {
                "orders" => asked.orders = number,
                "files" => (asked.files, asked.orders) = (number, usize::MAX),
                "lines" => asked.lines = number,
                "copies" if number > 0 => asked.copies = number,
                "wrong" => asked.wrong = number,
                "seed" => asked.seed = u64::try_from(number).ok()?,
                _ => return None,
            }
        }
        Some(asked)
    }
}

fn main() -> Result<()> {
    let mut arguments = std::env::args_os().skip(1);
    let folder = arguments.next().map(PathBuf::from);
    let arguments = arguments.map(|argument| argument.to_string_lossy().into_owned());
    let (Some(folder), Some(asked)) = (folder, Asked::of(arguments)) else {
        let words = "large FOLDER [orders=N|files=N|lines=N] [copies=N] [wrong=N] [seed=N]";
        return Err(Error::new(ErrorKind::InvalidInput, words));
    };
    let corpus = Corpus::new(asked.seed, asked.wrong);
    write(&folder.join("gutta.toml"), "")?;
    let (mut files, mut orders, mut bytes) = (0, 0, 0);
    for (path, text) in corpus.reference() {
        write(&folder.join(path), text)?;
        bytes += text.len();
    }
    let made: Box<dyn Iterator<Item = File>> = if asked.lines > 0 {
        Box::new(std::iter::once(corpus.one_file("all.gtt", asked.lines)))
    } else {
        let made = corpus.files(asked.orders, asked.copies);
        Box::new(made.take(asked.files))
    };
    for file in made {
        let text = file.text();
        write(&folder.join(&file.path), &text)?;
        files += 1;
        orders += file.orders();
        bytes += text.len();
    }
    println!("{files} files beside the reference, {orders} orders, {bytes} bytes");
    Ok(())
}

fn write(path: &Path, text: &str) -> Result<()> {
    fs::create_dir_all(path.parent().unwrap_or(path))?;
    fs::write(path, text)
}
