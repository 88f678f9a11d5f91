//! Finding and reading a repository's files; the command does it by these too.

mod walk;
mod watch;

use std::collections::BTreeMap;
use std::io::Read;
use std::path::{Component, Path, PathBuf};

use gutta_notation::Span;
use gutta_protocol::workspace::MAX_FILE_BYTES;
use gutta_protocol::{Content, House};
use smol_str::SmolStr;
use tower_lsp::lsp_types::Url;

pub use walk::Exclusions;
pub(crate) use walk::{orders, orders_among, orders_below, repositories};
pub(crate) use watch::{decides, watch_files};
pub use watch::{may_matter, watch};

/// The file that marks a repository's root.
pub const HOUSE_FILE: &str = "gutta.toml";

/// The files that say what is passed over.
pub(crate) const IGNORE_FILES: [&str; 2] = [".gitignore", ".ignore"];

/// What is read and judged.
pub const EXTENSION: &str = "gtt";

/// Reads a file, unless it is larger than the tool takes.
///
/// # Errors
/// Where it cannot be read, or is a folder.
pub fn read(path: &Path) -> std::io::Result<Content> {
    let file = std::fs::File::open(path)?;
    let meta = file.metadata()?;
    if meta.is_dir() {
        return Err(std::io::ErrorKind::IsADirectory.into());
    }
    if meta.len() > MAX_FILE_BYTES {
        return Ok(Content::TooLarge(meta.len()));
    }
    read_bounded(file)
}

/// What a file of the workspace holds; `None` where there is none (any more).
/// One that is there and cannot be read is not passed over: it is a finding.
pub(crate) fn found(path: &Path) -> Option<Content> {
    use std::io::ErrorKind::{IsADirectory, NotADirectory, NotFound};
    match read(path) {
        Ok(content) => Some(content),
        Err(error) if matches!(error.kind(), IsADirectory | NotADirectory | NotFound) => None,
        Err(error) => Some(Content::Unreadable(error.to_string())),
    }
}

/// Reads to the end, or to where the text is certainly too large: a device or
/// a growing file has no size to ask for beforehand.
///
/// # Errors
/// Where reading fails.
pub fn read_bounded(from: impl Read) -> std::io::Result<Content> {
    let mut bytes = Vec::new();
    from.take(MAX_FILE_BYTES + 1).read_to_end(&mut bytes)?;
    let size = bytes.len() as u64;
    Ok(if size > MAX_FILE_BYTES {
        Content::TooLarge(size)
    } else {
        Content::Bytes(bytes)
    })
}

/// What the repository's `gutta.toml` says; where it cannot be read or is
/// wrong, the notation's defaults, and why.
pub(crate) fn house(folder: &Path) -> (House, Vec<gutta_protocol::house::HouseFault>) {
    let text = match std::fs::read_to_string(folder.join(HOUSE_FILE)) {
        Ok(text) => text,
        Err(error) => {
            let message = format!("{HOUSE_FILE} cannot be read: {error}");
            let fault = gutta_protocol::house::HouseFault {
                message,
                line: 1,
                column: 1,
            };
            return (House::default(), vec![fault]);
        }
    };
    match House::from_toml(&text) {
        Ok(house) => (house, Vec::new()),
        Err(faults) => (House::default(), faults),
    }
}

/// The nearest folder, from `path` upwards, that a `gutta.toml` marks.
pub(crate) fn marked_root(path: &Path) -> Option<PathBuf> {
    path.ancestors()
        .find(|folder| folder.join(HOUSE_FILE).is_file())
        .map(Path::to_owned)
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
/// outside.
pub(crate) fn relative(folder: &Path, path: &Path) -> Option<SmolStr> {
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
pub(crate) fn inside(folder: &Path, path: &str) -> Option<PathBuf> {
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
    let text = std::fs::read_to_string(folder.join(HOUSE_FILE)).ok()?;
    let settings: Settings = toml::from_str(&text).ok()?;
    let bytes = settings.default.get(key)?.span();
    let (start, end) = (bytes.start.try_into().ok()?, bytes.end.try_into().ok()?);
    Some((text, Span::new(start, end)))
}
