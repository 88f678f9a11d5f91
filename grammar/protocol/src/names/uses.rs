//! Which file a `use` means.

use gutta_notation::{Span, StanzaKind};
use smallvec::SmallVec;
use smol_str::SmolStr;

use crate::source::{FileId, SourceFile};

/// A `use` of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Use {
    /// The place of its stanza among the file's.
    pub stanza: u32,
    /// The quoted path, from the stanza's start.
    pub span: Span,
    /// The path as written.
    pub path: SmolStr,
    /// The file that is meant.
    pub target: Result<FileId, UseFault>,
}

/// Why a `use` brings nothing in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum UseFault {
    /// The path is empty, absolute, or written with backslashes.
    Malformed,
    /// The path leaves the workspace root.
    Outside,
    /// No such file is in the workspace.
    Missing {
        /// The path from the root.
        path: SmolStr,
    },
    /// The file is there and is no text, or too large to be read.
    NotRead(FileId),
}

/// Every `use` of a file, in the order of its text.
pub(super) fn uses_of(files: &[SourceFile], file: &SourceFile) -> Vec<Use> {
    let mut uses = Vec::new();
    for (index, placed) in file.ast.stanzas.iter().enumerate() {
        let stanza = &placed.stanza;
        if stanza.kind != StanzaKind::Use {
            continue;
        }
        // A `use` without its path carries a mark, which is the finding.
        let Some(title) = &stanza.title else { continue };
        uses.push(Use {
            stanza: u32::try_from(index).unwrap_or(u32::MAX),
            span: title.span,
            path: title.value.clone(),
            target: target(files, &file.path, &title.value),
        });
    }
    uses
}

fn target(files: &[SourceFile], from: &str, path: &str) -> Result<FileId, UseFault> {
    let path = join_path(from, path)?;
    let found = files.binary_search_by(|file| file.path.as_str().cmp(&path));
    match found.map(|index| (FileId::at(index), &files[index])) {
        Ok((id, file)) if file.is_read() => Ok(id),
        Ok((id, _)) => Err(UseFault::NotRead(id)),
        Err(_) => Err(UseFault::Missing { path: path.into() }),
    }
}

/// The path from the root of what `path` means in the file at `from`.
///
/// # Errors
/// Where the path is none that a `use` can have, or leaves the root.
pub fn join_path(from: &str, path: &str) -> Result<String, UseFault> {
    let drive = path.as_bytes().get(1) == Some(&b':');
    if path.trim().is_empty() || path.starts_with('/') || path.contains('\\') || drive {
        return Err(UseFault::Malformed);
    }
    let mut parts: SmallVec<[&str; 8]> = from.split('/').collect();
    parts.pop();
    for part in path.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop().ok_or(UseFault::Outside)?;
            }
            name => parts.push(name),
        }
    }
    Ok(parts.join("/"))
}

/// The path of `to` as a file at `from` writes it; both count from the root.
#[must_use]
pub fn relative_path(from: &str, to: &str) -> String {
    let mut from: Vec<_> = from.split('/').collect();
    from.pop();
    let to: Vec<_> = to.split('/').collect();
    // The file's own name is written, even where it is a folder's too.
    let most = from.len().min(to.len().saturating_sub(1));
    let same = |(a, b): &(&&str, &&str)| a == b;
    let shared = from.iter().zip(&to).take(most).take_while(same).count();
    let up = std::iter::repeat_n("..", from.len() - shared);
    let path: Vec<_> = up.chain(to.iter().skip(shared).copied()).collect();
    path.join("/")
}

#[cfg(test)]
mod tests {
    use super::{UseFault, join_path, relative_path};

    #[test]
    fn a_path_is_relative_to_the_using_file() {
        let from = "wards/icu/orders.gtt";
        assert_eq!(
            join_path(from, "drugs.gtt").as_deref(),
            Ok("wards/icu/drugs.gtt")
        );
        assert_eq!(
            join_path(from, "./drugs.gtt").as_deref(),
            Ok("wards/icu/drugs.gtt")
        );
        assert_eq!(
            join_path(from, "../../reference/drugs.gtt").as_deref(),
            Ok("reference/drugs.gtt")
        );
        assert_eq!(
            join_path(from, "../..//drugs.gtt").as_deref(),
            Ok("drugs.gtt")
        );
    }

    #[test]
    fn a_relative_path_leads_back() {
        let paths = ["a.gtt", "b/c.gtt", "b/d/e.gtt", "b/d.gtt", "f/é.gtt"];
        for from in paths {
            for to in paths {
                let written = relative_path(from, to);
                assert_eq!(join_path(from, &written).as_deref(), Ok(to), "{from}");
            }
        }
        assert_eq!(relative_path("b/d/e.gtt", "a.gtt"), "../../a.gtt");
        assert_eq!(relative_path("b/c.gtt", "b/d.gtt"), "d.gtt");
    }

    #[test]
    fn a_path_stays_inside_the_root() {
        assert_eq!(
            join_path("orders.gtt", "../drugs.gtt"),
            Err(UseFault::Outside)
        );
        assert_eq!(
            join_path("a/orders.gtt", "../../a/drugs.gtt"),
            Err(UseFault::Outside)
        );
    }

    #[test]
    fn absolute_paths_and_backslashes_are_refused() {
        for path in ["/etc/drugs.gtt", "C:/drugs.gtt", "..\\drugs.gtt", "", "  "] {
            assert_eq!(
                join_path("a/orders.gtt", path),
                Err(UseFault::Malformed),
                "{path}"
            );
        }
    }
}
