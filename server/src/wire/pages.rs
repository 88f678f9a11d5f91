//! The rules' pages as files, so that any editor can open them.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use gutta_checks::{rule, rules};
use tower_lsp::lsp_types::Url;

use crate::disk;
use crate::writing::{Batch, Before, Unwritten};

/// Where a rule's page stands; nothing where it could not be written.
pub(super) fn url(rule_name: &str) -> Option<Url> {
    static FOLDER: OnceLock<Option<PathBuf>> = OnceLock::new();
    let folder = FOLDER.get_or_init(|| write_all(&cache()?).ok()).as_ref()?;
    rule(rule_name)?;
    Url::from_file_path(folder.join(file_name(rule_name))).ok()
}

fn file_name(rule_name: &str) -> String {
    format!("{rule_name}.md")
}

/// Another server may read them, or write them, at the same time.
fn write_all(cache: &Path) -> Result<PathBuf, Unwritten> {
    let folder = cache.join(concat!("gutta/rules-", env!("CARGO_PKG_VERSION")));
    let mut batch = Batch::begin()?;
    batch.folder(&folder)?;
    for rule in rules() {
        let path = folder.join(file_name(rule.name));
        let held = disk::text(&path, disk::MAX_OWN_BYTES).ok();
        if held.as_deref() != Some(rule.page) {
            batch.stage(&path, rule.page.as_bytes(), Before::Anything)?;
        }
    }
    match batch.swap().pop() {
        None => Ok(folder),
        Some((_, why)) => Err(why),
    }
}

/// The user's own folder for what can be made again. Where there is none, there
/// are no pages: in a folder for everybody, anybody could have put others there.
fn cache() -> Option<PathBuf> {
    let named = |name: &str| {
        let path = PathBuf::from(std::env::var_os(name)?);
        path.is_absolute().then_some(path)
    };
    named("XDG_CACHE_HOME")
        .or_else(|| named("LOCALAPPDATA"))
        .or_else(|| Some(named("HOME")?.join(".cache")))
}
