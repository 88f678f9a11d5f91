//! `gutta fmt`: the layout of the orders.

use std::path::PathBuf;

use gutta_notation::{Style, format_guarded};
use gutta_protocol::Content;
use gutta_protocol::workspace::MAX_FILE_BYTES;
use rayon::prelude::*;
use smol_str::SmolStr;

use crate::correct::{Changed, write_changed};
use crate::failure::{Failure, Outcome};
use crate::files::{Asked, Root};
use crate::progress::Progress;
use crate::report::counted;
use crate::terminal;

/// Lay orders out evenly, changing neither meaning nor comments
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Files and folders; `-` for standard input [default: the workspace]
    #[arg(value_name = "PATH")]
    paths: Vec<PathBuf>,

    /// Write nothing: list the files that would change, with exit code 1
    #[arg(long)]
    check: bool,

    /// Write nothing: show what would change, with exit code 1
    #[arg(long)]
    diff: bool,

    /// The file that standard input stands for
    #[arg(long, value_name = "PATH")]
    stdin_name: Option<PathBuf>,
}

impl Args {
    pub(crate) fn run(self) -> Result<Outcome, Failure> {
        let asked = Asked {
            paths: self.paths.clone(),
            stdin_name: self.stdin_name.clone(),
        };
        let progress = Progress::begin("Formatting");
        let found = asked.find()?;
        let (root, style) = (found.root, found.house.style);
        let one = |(path, content)| formatted(path, content, style, &root);
        let count = found.files.len();
        let texts: Vec<_> = found
            .files
            .into_par_iter()
            .map(one)
            .collect::<Result<_, _>>()?;
        progress.end();
        let looks = self.check || self.diff;
        if asked.stdin() && !looks {
            let text: String = texts.into_iter().map(|(_, _, after)| after).collect();
            terminal::print(text)?;
            return Ok(Outcome::Clean);
        }
        let changed: Vec<_> = texts
            .into_iter()
            .filter_map(|(path, before, after)| Changed::of(path, before, after))
            .collect();
        if self.diff {
            let diffs: String = changed.iter().map(Changed::diff).collect();
            terminal::print(diffs)?;
        } else if self.check {
            let lines = changed.iter().map(|change| root.shown(&change.path) + "\n");
            terminal::print(lines.collect::<String>())?;
        }
        if looks {
            return Ok(Outcome::found(!changed.is_empty()));
        }
        let written = write_changed(&root, &changed)?;
        if let Some(failure) = written.failure {
            return Err(failure);
        }
        let (files, left) = (counted(count, "file"), written.left.len());
        terminal::print(match (changed.len() - left, left) {
            (0, 0) => format!("{files} as they should be\n"),
            (done, _) => format!("{done} of {files} laid out anew\n"),
        })?;
        Ok(Outcome::found(left > 0))
    }
}

/// The file's path, its text, and its text laid out. A file that is no text is
/// refused rather than passed over.
fn formatted(
    path: SmolStr,
    content: Content,
    style: Style,
    root: &Root,
) -> Result<(SmolStr, String, String), Failure> {
    let refused = |why: &str| Failure::new(format!("cannot format {}: {why}", root.shown(&path)));
    let before = match content {
        Content::TooLarge(_) => {
            let limit = MAX_FILE_BYTES / (1024 * 1024);
            return Err(refused(&format!("it is larger than {limit} MiB")));
        }
        Content::Unreadable(why) => return Err(refused(&why)),
        Content::Text(text) => text.to_string(),
        Content::Bytes(bytes) => {
            String::from_utf8(bytes).map_err(|_| refused("it is not UTF-8"))?
        }
    };
    if before.contains('\0') {
        return Err(refused("it is no text"));
    }
    match format_guarded(&before, &style) {
        Some(after) => Ok((path, before, after)),
        None => Err(refused(
            "laid out, it would not say the same; this is a fault of gutta, and nothing was changed",
        )),
    }
}
