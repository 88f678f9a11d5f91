//! The rules' pages as files, so that any editor can open them.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use gutta_checks::{rule, rules};
use gutta_notation::{DigitGroups, Micro, Style};
use tower_lsp::lsp_types::Url;

use crate::disk;
use crate::writing::{Batch, Before, Unwritten};

/// Where a rule's page stands; nothing where it could not be written.
pub(super) fn url(rule_name: &str, style: Style) -> Option<Url> {
    static FOLDERS: [OnceLock<Option<PathBuf>>; 4] = [const { OnceLock::new() }; 4];
    let folder = FOLDERS.get(place(style))?;
    let folder = folder.get_or_init(|| write_all(&cache()?, style).ok());
    let folder = folder.as_ref()?;
    rule(rule_name)?;
    Url::from_file_path(folder.join(file_name(rule_name))).ok()
}

/// Which of the ways in which a house may write.
const fn place(style: Style) -> usize {
    let micro = match style.micro {
        Micro::Mcg => 0,
        Micro::Micrograms => 1,
    };
    match style.digit_groups {
        DigitGroups::Comma => micro,
        DigitGroups::Space => 2 + micro,
    }
}

/// What the folder of their pages is called by.
const WAYS: [&str; 4] = ["", "-micrograms", "-space", "-space-micrograms"];

fn file_name(rule_name: &str) -> String {
    format!("{rule_name}.md")
}

/// Another server may read them, or write them, at the same time.
fn write_all(cache: &Path, style: Style) -> Result<PathBuf, Unwritten> {
    let way = WAYS.get(place(style)).copied().unwrap_or_default();
    let version = env!("CARGO_PKG_VERSION");
    let folder = cache.join(format!("gutta/rules-{version}{way}"));
    let mut batch = Batch::begin()?;
    batch.folder(&folder)?;
    for rule in rules() {
        let path = folder.join(file_name(rule.name));
        let held = disk::text(&path, disk::MAX_OWN_BYTES).ok();
        let page = rule.page(style);
        if held.as_deref() != Some(&*page) {
            batch.stage(&path, page.as_bytes(), Before::Anything)?;
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
