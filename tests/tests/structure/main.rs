//! How the code is divided: no two modules beside each other need each other, at
//! any depth of any crate, and no file is long.
//!
//! What a module takes from others is read from its text, tests aside: every
//! `use`, and every path that begins with a module or with an imported name.
//! What is re-exported counts where it is defined, so that nothing hides behind
//! a `pub use` of the module above.

mod circles;
mod modules;
mod text;

use std::fs;
use std::path::{Path, PathBuf};

use modules::Modules;

/// The most lines of a Rust file.
const MOST_LINES: usize = 400;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Every Rust file below a folder, but for what is built or fetched.
fn rust_files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder").flatten() {
        let (path, name) = (entry.path(), entry.file_name());
        let name = name.to_string_lossy();
        if path.is_dir() {
            if !name.starts_with('.') && name != "target" && name != "node_modules" {
                rust_files(&path, found);
            }
        } else if name.ends_with(".rs") {
            found.push(path);
        }
    }
}

/// The modules of a crate, by the folder of its sources.
fn modules_of(folder: &str) -> Modules {
    let folder = root().join(folder);
    let mut files = Vec::new();
    rust_files(&folder, &mut files);
    let texts = files.iter().map(|file| {
        let path = file.strip_prefix(&folder).expect("below the folder");
        let path = path.with_extension("");
        let parts = path.iter().map(|part| part.to_string_lossy().into_owned());
        (parts.collect(), fs::read_to_string(file).expect("a text"))
    });
    Modules::of(texts.collect())
}

#[test]
fn no_two_modules_need_each_other() {
    let mut told = Vec::new();
    for folder in [
        "grammar/quantity/src",
        "grammar/notation/src",
        "grammar/protocol/src",
        "grammar/checks/src",
        "grammar/views/src",
        "server/src",
        "cli/src",
        "tests/src",
    ] {
        let modules = modules_of(folder);
        assert!(modules.len() > 5, "{folder} was not read");
        let found = circles::circles(&modules.needs());
        told.extend(found.iter().map(|circle| format!("{folder}: {circle}")));
    }
    assert!(told.is_empty(), "\n{}", told.join("\n"));
}

#[test]
fn no_file_is_long() {
    let mut files = Vec::new();
    rust_files(&root(), &mut files);
    assert!(files.len() > 500, "{} files", files.len());
    let long: Vec<_> = files
        .iter()
        .filter_map(|file| {
            let lines = fs::read_to_string(file).expect("a text").lines().count();
            (lines > MOST_LINES).then(|| format!("{}: {lines}", file.display()))
        })
        .collect();
    assert!(long.is_empty(), "divide by meaning:\n{}", long.join("\n"));
}

/// Modules as in a crate: a path and a text each.
fn told(files: &[(&str, &str)]) -> Vec<String> {
    let files = files.iter().map(|(path, text)| {
        let parts = path.split('/').map(str::to_owned).collect();
        (parts, (*text).to_owned())
    });
    circles::circles(&Modules::of(files.collect()).needs())
}

#[test]
fn a_circle_is_found() {
    let found = told(&[
        ("lib", "mod a;\nmod b;\nmod c;\n"),
        ("a", "use crate::b::Thing;\npub struct Other;\n"),
        ("b", "pub struct Thing(crate::c::Third);\n"),
        ("c", "pub struct Third(super::a::Other);\n"),
    ]);
    assert_eq!(
        found,
        ["a -> b (a takes Thing), b -> c (b takes Third), c -> a (c takes Other)"]
    );
}

#[test]
fn a_circle_behind_a_reexport_or_a_glob_is_found() {
    let reexported = told(&[
        ("lib", "mod a;\nmod b;\npub use a::Other;\n"),
        ("a", "use crate::b;\npub struct Other(b::Thing);\n"),
        ("b", "use crate::Other as Own;\npub struct Thing(Own);\n"),
    ]);
    assert_eq!(
        reexported,
        ["a -> b (a takes Thing and self), b -> a (b takes Other)"]
    );
    let globbed = told(&[
        ("lib", "mod a;\nmod b;\n"),
        ("a", "use crate::b::*;\npub struct Other;\n"),
        ("b", "use super::a::{self, Other};\n"),
    ]);
    assert_eq!(
        globbed,
        ["a -> b (a takes *), b -> a (b takes Other and self)"]
    );
}

#[test]
fn a_circle_below_is_found() {
    let found = told(&[
        ("lib", "mod a;\n"),
        ("a/mod", "mod one;\nmod two;\n"),
        ("a/one", "use super::two::f;\npub fn g() { f() }\n"),
        ("a/two", "pub fn f() { super::one::g() }\n"),
    ]);
    assert_eq!(
        found,
        ["a::one -> a::two (a::one takes f), a::two -> a::one (a::two takes g)"]
    );
}

#[test]
fn tests_comments_texts_and_children_make_no_circle() {
    let found = told(&[
        ("lib", "mod a;\nmod b;\n#[cfg(test)]\nmod harness;\n"),
        ("a", "use crate::b::Thing;\npub struct Other;\n"),
        (
            "b",
            "mod child;\n// crate::a::Other\nconst A: &str = \"crate::a::Other\";\n\
             const B: &str = r#\"crate::a::\"Other\"#;\npub struct Thing;\n\
             #[cfg(test)]\nmod tests {\n    use crate::a::Other;\n}\n",
        ),
        ("b/child", "use super::Thing;\n"),
        ("harness", "use crate::a::Other;\n"),
    ]);
    assert_eq!(found, [""; 0]);
}
