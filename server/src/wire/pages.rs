//! The rules' pages as files, so that any editor can open them.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use gutta_checks::{rule, rules};
use tower_lsp::lsp_types::Url;

/// Where a rule's page stands; nothing where it could not be written.
pub(super) fn url(rule_name: &str) -> Option<Url> {
    static FOLDER: OnceLock<Option<PathBuf>> = OnceLock::new();
    let folder = FOLDER.get_or_init(|| write_all().ok()).as_ref()?;
    rule(rule_name)?;
    Url::from_file_path(folder.join(file_name(rule_name))).ok()
}

fn file_name(rule_name: &str) -> String {
    format!("{rule_name}.md")
}

fn write_all() -> std::io::Result<PathBuf> {
    let folder = cache().join(concat!("gutta/rules-", env!("CARGO_PKG_VERSION")));
    std::fs::create_dir_all(&folder)?;
    for rule in rules() {
        let path = folder.join(file_name(rule.name));
        let held = std::fs::read(&path).ok();
        if held.as_deref() != Some(rule.page.as_bytes()) {
            write(&path, rule.page)?;
        }
    }
    Ok(folder)
}

/// Whole or not at all: another server may read it at the same time.
fn write(path: &Path, page: &str) -> std::io::Result<()> {
    let beside = path.with_extension(format!("{}.part", std::process::id()));
    std::fs::write(&beside, page)?;
    std::fs::rename(&beside, path)
}

/// The user's folder for what can be made again.
fn cache() -> PathBuf {
    let named = |name: &str| {
        let path = PathBuf::from(std::env::var_os(name)?);
        path.is_absolute().then_some(path)
    };
    named("XDG_CACHE_HOME")
        .or_else(|| named("LOCALAPPDATA"))
        .or_else(|| Some(named("HOME")?.join(".cache")))
        .unwrap_or_else(std::env::temp_dir)
}
