//! What a workspace does not read, and why.

use std::path::{Path, PathBuf};

use super::ignored::Ignored;
use super::nearly::Nearly;

/// A file or folder that is not read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Skipped {
    /// Absolute.
    pub path: PathBuf,
    /// Whether it is a folder, with all that is in it.
    pub is_folder: bool,
    /// Why.
    pub why: SkipReason,
}

/// Why a file or folder is not read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SkipReason {
    /// Its name begins with a dot.
    Hidden,
    /// `exclude` in `gutta.toml` names it.
    Excluded,
    /// A file in the workspace ignores it.
    Ignored(Ignored),
    /// A file in the workspace ignores the folder; no order is in it.
    IgnoredBare(Ignored),
    /// It does not end in `.gtt`.
    OtherEnding,
    /// It is a link to a folder: what is there is read where it stands, or is
    /// no order.
    LinkToFolder,
    /// It is a link to what lies outside of the workspace.
    LinkOut,
    /// It is there and is no file, or cannot be read, as the system says.
    Unreadable(String),
    /// Its name is not UTF-8.
    NotUtf8,
    /// Its name is nearly that of a file that is read.
    Nearly(Nearly),
    /// It is a workspace of its own.
    Inner,
}

impl SkipReason {
    /// Whether somebody chose so, or there is nothing in it to read: then it is
    /// worth no word.
    #[must_use]
    pub const fn is_plain(&self) -> bool {
        use SkipReason::{Excluded, Hidden, IgnoredBare, LinkToFolder, OtherEnding};
        matches!(
            self,
            Hidden | Excluded | OtherEnding | LinkToFolder | IgnoredBare(_)
        )
    }

    /// Whether an order could be in it that nobody meant to leave out.
    #[must_use]
    pub const fn is_fault(&self) -> bool {
        use SkipReason::{LinkOut, Nearly, NotUtf8, Unreadable};
        matches!(self, LinkOut | NotUtf8 | Unreadable(_) | Nearly(_))
    }

    /// The reason, as it follows the name and a colon; `shown` writes a path.
    #[must_use]
    pub fn told(&self, shown: impl Fn(&Path) -> String) -> String {
        match self {
            Self::Hidden => "hidden".to_owned(),
            Self::Excluded => "excluded by gutta.toml".to_owned(),
            Self::Ignored(ignored) | Self::IgnoredBare(ignored) => {
                let by = shown(&ignored.by);
                format!("ignored by `{}` in {by}", ignored.pattern)
            }
            Self::OtherEnding => "does not end in .gtt".to_owned(),
            Self::LinkToFolder => "a link to a folder".to_owned(),
            Self::LinkOut => "a link out of the workspace".to_owned(),
            Self::Unreadable(why) => format!("cannot be read: {why}"),
            Self::NotUtf8 => "its name is not UTF-8".to_owned(),
            Self::Nearly(Nearly::Order) => "an order file's name ends in `.gtt`, in small \
                letters and with nothing after it: rename it, or name it in `exclude`"
                .to_owned(),
            Self::Nearly(Nearly::House) => "the settings' name is `gutta.toml`, in small letters \
                and with nothing after it: nothing in this file applies until it is renamed"
                .to_owned(),
            Self::Inner => "a workspace of its own".to_owned(),
        }
    }
}
