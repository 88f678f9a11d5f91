//! Writing a site whole, or not at all.

use std::io::ErrorKind;
use std::path::Path;

use tempfile::TempDir;

use super::Site;
use crate::failure::Failure;

/// Marks a folder as a site of ours, which may be written anew.
const MARK: &str = ".gutta-site";

impl Site {
    /// Writes all pages beside the folder, which they then become at once. Only
    /// a folder that is empty, or an earlier site, gives way.
    pub(crate) fn write(&self, folder: &Path) -> Result<(), Failure> {
        let wrong = |error: std::io::Error| {
            Failure::system(format!("cannot write {}", folder.display()), &error)
        };
        let old = match std::fs::read_dir(folder) {
            Err(error) if error.kind() == ErrorKind::NotFound => false,
            Err(error) => return Err(wrong(error)),
            Ok(mut entries) => {
                if entries.next().is_some() && !folder.join(MARK).is_file() {
                    return Err(Failure::new(format!(
                        "{} holds something else; nothing was written",
                        folder.display()
                    )));
                }
                true
            }
        };
        let around = folder.parent().filter(|around| *around != Path::new(""));
        let around = around.unwrap_or(Path::new("."));
        let beside = TempDir::with_prefix_in(".gutta-", around).map_err(wrong)?;
        let new = beside.path().join("new");
        self.fill(&new).map_err(wrong)?;
        let before = beside.path().join("old");
        if old {
            std::fs::rename(folder, &before).map_err(wrong)?;
        }
        if let Err(error) = std::fs::rename(&new, folder) {
            // What was there stays there, or at least stays.
            if old && std::fs::rename(&before, folder).is_err() {
                let kept = beside.keep();
                return Err(Failure::new(format!(
                    "cannot write {}; what was there is in {}",
                    folder.display(),
                    kept.display()
                )));
            }
            return Err(wrong(error));
        }
        Ok(())
    }

    fn fill(&self, folder: &Path) -> std::io::Result<()> {
        for inner in ["orders", "sets", "drugs"] {
            std::fs::create_dir_all(folder.join(inner))?;
        }
        std::fs::write(folder.join(MARK), "Written by `gutta sheet --site`.\n")?;
        std::fs::write(folder.join("index.html"), self.index())?;
        for entry in self.orders.iter().chain(&self.sets) {
            std::fs::write(folder.join(&entry.path), entry.html())?;
        }
        for drug in &self.drugs {
            std::fs::write(folder.join(&drug.path), drug.html())?;
        }
        Ok(())
    }
}
