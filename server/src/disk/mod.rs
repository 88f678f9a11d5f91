//! Finding and reading a repository's files; the command does it by these too.

mod by_name;
mod ignored;
mod nearly;
mod open;
mod orders;
mod skipped;
mod used;
mod walk;
mod watch;

use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};

use gutta_notation::Span;
use gutta_protocol::House;
use gutta_protocol::house::HouseFault;
use smol_str::SmolStr;
use tower_lsp::lsp_types::Url;

pub use by_name::by_name;
pub(crate) use ignored::IGNORE_FILES;
pub use ignored::{Exclusions, Ignored, IgnoredThen, is_list};
pub use nearly::Nearly;
pub use open::{MAX_OWN_BYTES, found, plainly, read, read_bounded, text};
pub use skipped::{SkipReason, Skipped};
pub use used::{Used, add_used};
pub use walk::{FileFilter, Listing};
pub(crate) use watch::{decides, watch_files};
pub use watch::{may_matter, watch};

/// The file that marks a repository's root.
pub const HOUSE_FILE: &str = "gutta.toml";

/// So many bytes of a `gutta.toml` are read, far more than its keys need.
pub const MAX_HOUSE_BYTES: u64 = 256 * 1024;

/// What is read and judged.
pub const EXTENSION: &str = "gtt";

/// What the folder's `gutta.toml` says; where it cannot be read or is wrong,
/// the notation's defaults, and why.
#[must_use]
pub fn house(folder: &Path) -> (House, Vec<HouseFault>) {
    let read = match house_text(folder) {
        Ok(text) => House::from_toml(&text),
        Err(error) => Err(vec![HouseFault {
            message: format!("{HOUSE_FILE} cannot be read: {}", plainly(&error)),
            line: 1,
            column: 1,
        }]),
    };
    match read {
        Ok(house) => (house, Vec::new()),
        Err(faults) => (House::default(), faults),
    }
}

/// The text of the folder's `gutta.toml`.
///
/// # Errors
/// Where it cannot be read, is no plain file, too large or not UTF-8.
pub fn house_text(folder: &Path) -> std::io::Result<String> {
    text(&folder.join(HOUSE_FILE), MAX_HOUSE_BYTES)
}

/// Whether a workspace begins at the folder: a `gutta.toml` is there. What it
/// is does not matter, so that one that cannot be read counts for none nowhere.
#[must_use]
pub fn marks(folder: &Path) -> bool {
    folder.join(HOUSE_FILE).symlink_metadata().is_ok()
}

/// The nearest folder, from `path` upwards, at which a workspace begins.
#[must_use]
pub fn marked_root(path: &Path) -> Option<PathBuf> {
    let mut around = path.ancestors();
    around.find(|folder| marks(folder)).map(Path::to_owned)
}

/// The path of a file's URL. Whatever the client percent-encodes, one file has
/// one path.
pub(crate) fn path(url: &Url) -> Option<PathBuf> {
    let path = url.to_file_path().ok()?;
    // A drive's letter is written either way.
    if cfg!(windows)
        && let Some(text) = path.to_str()
        && text.get(1..2) == Some(":")
    {
        let (drive, rest) = text.split_at(1);
        return Some(PathBuf::from(drive.to_ascii_uppercase() + rest));
    }
    Some(path)
}

/// The path from the folder, with forward slashes; nothing for what lies
/// outside, or has a name that is not UTF-8.
#[must_use]
pub fn relative(folder: &Path, path: &Path) -> Option<SmolStr> {
    let inner = path.strip_prefix(folder).ok()?;
    let parts = inner.components().map(|part| match part {
        Component::Normal(part) => part.to_str(),
        _ => None,
    });
    let parts: Option<Vec<_>> = parts.collect();
    let path = parts?.join("/");
    (!path.is_empty()).then(|| path.into())
}

/// The file at a path from the folder, if it is there, and not a link out.
#[must_use]
pub fn inside(folder: &Path, path: &str) -> Option<PathBuf> {
    let real = folder.join(path).canonicalize().ok()?;
    real.starts_with(folder.canonicalize().ok()?)
        .then(|| folder.join(path))
}

/// The text of the folder's `gutta.toml`, and where in it the value of a
/// default (`pump`, `area`, `giving-set`) stands, its quotes included.
pub(crate) fn house_default(folder: &Path, key: &str) -> Option<(String, Span)> {
    #[derive(serde::Deserialize)]
    struct Settings {
        default: BTreeMap<String, toml::Spanned<toml::Value>>,
    }
    let text = house_text(folder).ok()?;
    let settings: Settings = toml::from_str(&text).ok()?;
    let bytes = settings.default.get(key)?.span();
    let (start, end) = (bytes.start.try_into().ok()?, bytes.end.try_into().ok()?);
    Some((text, Span::new(start, end)))
}
