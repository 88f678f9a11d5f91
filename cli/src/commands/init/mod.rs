//! `gutta init`: a workspace to begin with.

use std::borrow::Cow;
use std::path::{Path, PathBuf};

use gutta_protocol::CAUTION;
use gutta_protocol::house::settings;
use gutta_server::disk;
use gutta_server::writing::{Before, Digest, Unwritten};

use crate::failure::{Failure, Outcome};
use crate::files::{begin, not_written, tell_left};
use crate::out::Out;
use crate::prose::Prose;
use crate::terminal;

/// Start a workspace: a gutta.toml, a small reference and one sample order
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The folder to start it in [default: the current one]
    #[arg(value_name = "FOLDER", default_value = ".", hide_default_value = true)]
    folder: PathBuf,
}

macro_rules! sample {
    ($($path:literal),+) => {
        [$(($path, include_str!(concat!("sample/", $path)))),+]
    };
}

/// The head of the settings' file.
const SETTINGS_HEAD: &str = "\
## The settings of Tarnwick General, an invented hospital. This file marks the
## root folder of the workspace. Each line that begins with a single # shows the
## default, or an example: remove the # and change the value.
";

/// The other files of a new workspace, and what they hold.
const SAMPLE: [(&str, &str); 5] = sample![
    "reference/areas.gtt",
    "reference/drugs.gtt",
    "reference/pumps.gtt",
    "reference/solutions.gtt",
    "orders/noradrenaline.gtt"
];

impl Args {
    pub(crate) fn run(self) -> Result<Outcome, Failure> {
        let missing = self.missing()?;
        let mut said = String::new();
        for (path, _) in &missing {
            said.push_str(&format!("  {}\n", shown(path)));
        }
        write_all(&missing)?;
        let go = match shown(&self.folder) {
            here if here.is_empty() || here == "." => String::new(),
            there => format!("cd {there}, then "),
        };
        let caution = Prose::new(false, 80).paragraph(CAUTION, "");
        let caution = caution.trim_end();
        let told = format!(
            "Wrote\n{said}\nTarnwick General and its limits are invented.\n{caution}\nNext: {go}\n\
             \x20 gutta check     finds what is wrong; at present nothing\n\
             \x20 gutta derive    shows flows, times and totals, exactly\n\
             \x20 gutta explain limit.never\n\
             \nThen write your own drugs into reference/ and your own orders into orders/.\n"
        );
        terminal::print(Out::text(told, false))?;
        Ok(Outcome::Clean)
    }
}

impl Args {
    /// The files that are not there yet. What is there and otherwise is somebody's;
    /// what is there just as it is to be was left by a run that was killed, unless
    /// nothing is missing.
    fn missing(&self) -> Result<Vec<(PathBuf, Cow<'static, str>)>, Failure> {
        let caution = Prose::new(false, 80).hanging(CAUTION, "## ", "## ");
        let settings = format!("{SETTINGS_HEAD}{caution}{}", settings::commented());
        let mut files: Vec<(PathBuf, Cow<_>)> =
            vec![(self.folder.join("gutta.toml"), settings.into())];
        let others = SAMPLE.into_iter();
        files.extend(others.map(|(path, text)| (self.folder.join(path), text.into())));
        let is_there = |path: &Path| path.symlink_metadata().is_ok();
        let none_missing = files.iter().all(|(path, _)| is_there(path));
        for (path, text) in &files {
            let same = || disk::text(path, disk::MAX_OWN_BYTES).is_ok_and(|held| held == **text);
            if is_there(path) && (none_missing || !same()) {
                return Err(nothing_written(path, Unwritten::There));
            }
        }
        let missing = files.into_iter().filter(|(path, _)| !is_there(path));
        Ok(missing.collect())
    }
}

fn shown(path: &Path) -> String {
    let path = path.strip_prefix(".").unwrap_or(path);
    path.display().to_string().replace('\\', "/")
}

/// Writes files that must not be there yet: all, or none.
fn write_all(files: &[(PathBuf, Cow<'_, str>)]) -> Result<(), Failure> {
    let mut batch = begin()?;
    // The one that makes it a workspace comes last.
    for (path, text) in files.iter().rev() {
        let folder = path.parent().unwrap_or(Path::new("."));
        batch
            .folder(folder)
            .and_then(|()| batch.stage(path, text.as_bytes(), Before::Nothing))
            .map_err(|why| nothing_written(path, why))?;
    }
    tell_left(&batch);
    let mut failed = batch.swap();
    if failed.is_empty() {
        return Ok(());
    }
    // Somebody was faster with one of them: the others go again.
    let mut batch = begin()?;
    for (path, text) in files {
        if failed.iter().all(|(other, _)| other != path) {
            batch
                .take_away(path, Digest::of(text.as_bytes()))
                .map_err(|why| not_written(&shown(path), why))?;
        }
    }
    failed.extend(batch.swap());
    let told = failed
        .into_iter()
        .map(|(path, why)| nothing_written(&path, why));
    Err(told
        .reduce(Failure::and)
        .unwrap_or_else(|| Failure::new("nothing was written")))
}

fn nothing_written(path: &Path, why: Unwritten) -> Failure {
    match why {
        Unwritten::There => Failure::new(format!(
            "{} is there already; nothing was written",
            path.display()
        )),
        why => not_written(&path.display().to_string(), why),
    }
}
