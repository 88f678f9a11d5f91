//! The list of what a site's folder holds of ours: every page with its SHA-256,
//! as `sha256sum --check` reads it. Only what it names, and is still as it says,
//! is ever replaced or removed.

use std::collections::{BTreeMap, BTreeSet};

use gutta_server::writing::Digest;
use gutta_views::site::FOLDERS;

/// The list's name in the folder.
pub(super) const NAME: &str = ".gutta-site";

const HEAD: &str = "\
# Written by `gutta sheet --site`: the pages that it made, with their SHA-256.
# Nothing else in this folder is touched, nor a page that was changed since.
";

/// Pages, from the folder, with what each holds. While they are being written,
/// a page may hold either of two things.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct List(BTreeMap<String, BTreeSet<Digest>>);

impl List {
    /// Reads it; `None` where it is no list of ours, or names what no site holds.
    pub(super) fn read(text: &str) -> Option<Self> {
        let mut list = Self::default();
        let lines = text.strip_prefix(HEAD)?.lines();
        for line in lines {
            let (digest, path) = line.split_once("  ")?;
            if !is_page(path) {
                return None;
            }
            list.add(path, Digest::read(digest)?);
        }
        Some(list)
    }

    pub(super) fn text(&self) -> String {
        let mut text = HEAD.to_owned();
        for (path, digests) in &self.0 {
            for digest in digests {
                text.push_str(&format!("{digest}  {path}\n"));
            }
        }
        text
    }

    pub(super) fn add(&mut self, path: &str, digest: Digest) {
        self.0.entry(path.to_owned()).or_default().insert(digest);
    }

    /// Takes over what another list says of a page.
    pub(super) fn add_from(&mut self, other: &Self, path: &str) {
        if let Some(digests) = other.0.get(path) {
            self.0.entry(path.to_owned()).or_default().extend(digests);
        }
    }

    pub(super) fn holds(&self, path: &str) -> bool {
        self.0.contains_key(path)
    }

    pub(super) fn says(&self, path: &str, digest: Digest) -> bool {
        self.0
            .get(path)
            .is_some_and(|digests| digests.contains(&digest))
    }

    pub(super) fn paths(&self) -> impl Iterator<Item = &str> {
        self.0.keys().map(String::as_str)
    }
}

/// Whether a site may have a page there. The list is a file like any other, and
/// what it says must not lead out of the folder.
fn is_page(path: &str) -> bool {
    let name = path.strip_suffix(".html").unwrap_or("");
    if name == "index" {
        return true;
    }
    let Some((folder, name)) = name.split_once('/') else {
        return false;
    };
    let plain = |c: char| c.is_alphanumeric() || c == '-';
    FOLDERS.contains(&folder) && !name.is_empty() && name.chars().all(plain)
}

#[cfg(test)]
mod tests {
    use super::{Digest, HEAD, List, is_page};

    #[test]
    fn a_list_reads_as_it_was_written() {
        let mut list = List::default();
        list.add("index.html", Digest::of(b"a"));
        list.add("orders/kä-2.html", Digest::of(b"b"));
        list.add("orders/kä-2.html", Digest::of(b"c"));
        assert_eq!(List::read(&list.text()), Some(list));
        assert_eq!(List::read(HEAD), Some(List::default()));
    }

    #[test]
    fn what_no_site_holds_makes_it_no_list() {
        let digest = Digest::of(b"a");
        for path in [
            "../index.html",
            "/orders/a.html",
            "orders/../a.html",
            "orders/a.txt",
            "orders/.html",
            "notes/a.html",
            "orders/a/b.html",
            ".git/config",
            "notes.html",
            "",
        ] {
            assert!(!is_page(path), "{path}");
            assert_eq!(List::read(&format!("{HEAD}{digest}  {path}\n")), None);
        }
        assert_eq!(List::read(&format!("{HEAD}abc  index.html\n")), None);
        assert_eq!(List::read("Written by hand\n"), None);
        assert_eq!(List::read(""), None);
    }
}
