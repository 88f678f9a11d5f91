//! `gutta compare`: what changed clinically.

use std::path::{Path, PathBuf};

use clap::ValueEnum;
use gutta_views::compare::compare;
use gutta_views::compared::Compared;

use crate::compared::{markdown, text};
use crate::failure::{Failure, Outcome};
use crate::files::state::{self, State};
use crate::out::Out;
use crate::progress::Progress;
use crate::prose::Prose;
use crate::terminal::{self, Colour};

/// Compare what two states of the orders mean, not their lines
///
/// Each state is a revision that git knows (a commit, a branch, a tag,
/// `main:orders`) or a folder; a name that is both is taken as a folder.
/// Without NEW, the files as they are now. It reports what changed for a
/// patient: first what was edited (the drug in the bag, a dose, a limit
/// widened or narrowed, a waiver, a worked example removed), then in one
/// sentence what follows from it: each calculated value with its greatest
/// ratio over all weights. Comments, layout and spelling make no difference.
/// Changes of more than `marked-change` in gutta.toml (10 % unless set), or
/// that cannot be measured, are marked and come first. Exit codes: 0 the same
/// meaning, 1 something changed or could not be compared, 2 could not run.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The state before
    #[arg(value_name = "OLD")]
    old: String,

    /// The state after [default: the files as they are now]
    #[arg(value_name = "NEW")]
    new: Option<String>,

    /// Show every value separately, before and after, with a row for each
    /// patient
    ///
    /// JSON always has the rows.
    #[arg(long)]
    rows: bool,

    /// The form of the comparison
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Clone, Copy, Debug, Default, ValueEnum)]
enum Format {
    /// For people
    #[default]
    Text,
    /// For a pull request
    Markdown,
    /// One document
    Json,
}

impl Args {
    pub(crate) fn run(self, colour: Colour) -> Result<Outcome, Failure> {
        let progress = Progress::begin("Comparing");
        let (before, after) = self.states()?;
        let faulty = before.faulty || after.faulty;
        let (before, after) = (before.workspace, after.workspace);
        let compared = Compared {
            before: self.old.clone(),
            after: self
                .new
                .clone()
                .unwrap_or_else(|| "the files as they are now".to_owned()),
            comparison: compare(&before, &after),
            style: after.house.style,
            rows: self.rows,
        };
        progress.end();
        match self.format {
            Format::Text => {
                let width = terminal::width();
                let prose = Prose::new(colour.on(), width);
                terminal::print(Out::text(text(&compared, prose, width), prose.coloured()))?;
            }
            Format::Markdown => terminal::print(Out::markdown(&markdown(&compared)))?,
            Format::Json => terminal::print(Out::json(&compared.document())?)?,
        }
        Ok(Outcome::found(faulty || !compared.comparison.is_same()))
    }

    fn states(&self) -> Result<(State, State), Failure> {
        let folder = |name: &str| Some(PathBuf::from(name)).filter(|path| path.is_dir());
        let (old, new) = (folder(&self.old), self.new.as_deref().map(folder));
        // A revision is looked at where the other state, a folder, stands.
        let around = match (&old, &new) {
            (Some(folder), _) | (None, Some(Some(folder))) => folder.clone(),
            (None, _) => state::root_here()?,
        };
        let of = |folder: Option<&Path>, name: &str| match folder {
            Some(folder) => state::of_folder(folder),
            None => state::at_revision(&around, name),
        };
        let before = of(old.as_deref(), &self.old)?;
        let after = match (&self.new, new) {
            (Some(name), folder) => of(folder.flatten().as_deref(), name)?,
            (None, _) => state::here()?,
        };
        Ok((before, after))
    }
}
