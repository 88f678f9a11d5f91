//! `gutta fmt`: the layout of the orders.

use std::path::PathBuf;

use gutta_checks::words::counted;
use gutta_notation::{Style, format_guarded};
use gutta_protocol::Content;
use gutta_protocol::source::MAX_FILE_BYTES;
use rayon::prelude::*;
use smol_str::SmolStr;

use crate::correct::{Changed, write_changed};
use crate::failure::{Failure, Outcome};
use crate::files::{FileSelection, Listing, Root};
use crate::out::Out;
use crate::progress::Progress;
use crate::terminal;

/// Put orders into the standard layout, changing neither meaning nor comments
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

    /// The file name to use for standard input
    #[arg(long, value_name = "PATH")]
    stdin_name: Option<PathBuf>,

    #[command(flatten)]
    listing: Listing,
}

impl Args {
    pub(crate) fn run(self) -> Result<Outcome, Failure> {
        let asked = FileSelection {
            paths: self.paths.clone(),
            stdin_name: self.stdin_name.clone(),
        };
        if self.listing.is_asked() {
            let own = [(self.check, "--check"), (self.diff, "--diff")];
            return self.listing.alone(&own)?.show(&asked, false);
        }
        let progress = Progress::begin("Formatting");
        let looks = self.check || self.diff;
        let only_prints = asked.stdin() && !looks;
        let (mut count, mut printed) = (0, String::new());
        // By workspace; all are laid out before any is written.
        let mut changed = Vec::new();
        for found in asked.find_all()? {
            found.tell_passed();
            let (root, style) = (found.root, found.house.style);
            let one = |(path, content)| formatted(path, content, style, &root);
            let texts: Vec<_> = found
                .files
                .into_par_iter()
                .map(one)
                .collect::<Result<_, _>>()?;
            count += texts.len();
            if only_prints {
                printed.extend(texts.into_iter().map(|(_, _, after)| after));
                continue;
            }
            let own = texts
                .into_iter()
                .filter_map(|(path, before, after)| Changed::of(path, before, after));
            changed.push((root, own.collect::<Vec<_>>()));
        }
        progress.end();
        if only_prints {
            terminal::print(Out::file(printed))?;
            return Ok(Outcome::Clean);
        }
        for (root, own) in &changed {
            if self.diff {
                printed.extend(own.iter().map(Changed::diff));
            } else if self.check {
                printed.extend(own.iter().map(|change| root.shown(&change.path) + "\n"));
            }
        }
        let all: usize = changed.iter().map(|(_, own)| own.len()).sum();
        if looks {
            terminal::print(Out::text(printed, false))?;
            return Ok(Outcome::found(all > 0));
        }
        let mut left = 0;
        for (root, changes) in &changed {
            let written = write_changed(root, changes)?;
            if let Some(failure) = written.failure {
                return Err(failure);
            }
            left += written.left.len();
        }
        let files = counted(count, "file");
        let told = match (all - left, left) {
            (0, 0) => format!("{files} already in the standard layout\n"),
            (done, _) => format!("{done} of {files} reformatted\n"),
        };
        terminal::print(Out::text(told, false))?;
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
        return Err(refused("it is not text"));
    }
    match format_guarded(&before, &style) {
        Some(after) => Ok((path, before, after)),
        None => Err(refused(
            "in the standard layout its meaning would change; this is a fault in gutta, and nothing was changed",
        )),
    }
}
