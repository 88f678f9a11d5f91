//! `gutta init`: a workspace to begin with.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::failure::{Failure, Outcome};
use crate::terminal;

/// Begin a workspace: a gutta.toml, a small reference and one sample order
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The folder to begin it in [default: the current one]
    #[arg(value_name = "FOLDER", default_value = ".", hide_default_value = true)]
    folder: PathBuf,
}

macro_rules! sample {
    ($($path:literal),+) => {
        [$(($path, include_str!(concat!("sample/", $path)))),+]
    };
}

/// The files of a new workspace, and what they hold.
const SAMPLE: [(&str, &str); 6] = sample![
    "gutta.toml",
    "reference/areas.gtt",
    "reference/drugs.gtt",
    "reference/pumps.gtt",
    "reference/solutions.gtt",
    "orders/noradrenaline.gtt"
];

impl Args {
    pub(crate) fn run(self) -> Result<Outcome, Failure> {
        // Nothing is written unless all of it can be.
        if let Some((path, _)) = SAMPLE
            .iter()
            .find(|(path, _)| self.folder.join(path).exists())
        {
            return Err(Failure::new(format!(
                "{} is there already; nothing was written",
                self.folder.join(path).display()
            )));
        }
        let mut said = String::new();
        for (path, text) in SAMPLE {
            let path = self.folder.join(path);
            write_new(&path, text).map_err(|error| {
                Failure::system(format!("cannot write {}", path.display()), &error)
            })?;
            said.push_str(&format!("  {}\n", shown(&path)));
        }
        let go = match shown(&self.folder) {
            here if here.is_empty() || here == "." => String::new(),
            there => format!("cd {there}, then "),
        };
        terminal::print(format!(
            "Wrote\n{said}\nTarnwick General and its limits are invented. Next: {go}\n\
             \x20 gutta check     finds what is wrong; now that is nothing\n\
             \x20 gutta derive    shows flows, times and totals, exactly\n\
             \x20 gutta explain limit.never\n\
             \nThen write your own drugs into reference/ and your own orders into orders/.\n"
        ))?;
        Ok(Outcome::Clean)
    }
}

fn shown(path: &Path) -> String {
    let path = path.strip_prefix(".").unwrap_or(path);
    path.display().to_string().replace('\\', "/")
}

/// Writes a file that must not be there yet.
fn write_new(path: &Path, text: &str) -> std::io::Result<()> {
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder)?;
    }
    std::fs::File::create_new(path)?.write_all(text.as_bytes())
}
