//! What the editors share is drawn from the notation's own tables, and must
//! not go stale. `GUTTA_DRAW=1 cargo test -p gutta-tests --test editors` draws
//! it anew.

mod emacs;
mod textmate;
mod vim;
mod words;

use std::fs;
use std::path::{Path, PathBuf};

use words::Words;

/// What Neovim takes from Vim's folder as it is.
const SHARED: [&str; 4] = [
    "autoload/gutta.vim",
    "autoload/gutta/words.vim",
    "indent/gutta.vim",
    "syntax/gutta.vim",
];

fn editors() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../editors")
}

fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_else(|fault| panic!("{}: {fault}", path.display()))
}

/// That the file holds the text, or else has it now.
fn is_drawn(name: &str, text: &str) {
    let path = editors().join(name);
    if std::env::var_os("GUTTA_DRAW").is_some() {
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).expect("the folder can be made");
        }
        fs::write(&path, text).expect("the file can be written");
        return;
    }
    assert_eq!(
        read(&path),
        text,
        "{name} is stale: GUTTA_DRAW=1 cargo test -p gutta-tests --test editors"
    );
}

#[test]
fn vs_codes_grammar_is_drawn() {
    is_drawn(
        "vscode/syntaxes/gutta.tmLanguage.json",
        &textmate::drawn(&Words::of_the_notation()),
    );
}

#[test]
fn vims_words_are_drawn() {
    is_drawn(
        "vim/autoload/gutta/words.vim",
        &vim::drawn(&Words::of_the_notation()),
    );
}

#[test]
fn neovim_has_vims_files() {
    let words = vim::drawn(&Words::of_the_notation());
    for name in SHARED {
        let text = match name {
            "autoload/gutta/words.vim" => words.clone(),
            _ => read(&editors().join("vim").join(name)),
        };
        is_drawn(&format!("neovim/{name}"), &text);
    }
}

#[test]
fn emacs_words_are_drawn() {
    is_drawn(
        "emacs/gutta-words.el",
        &emacs::drawn(&Words::of_the_notation()),
    );
}

/// Each word that the examples use stands in a table: a word of the notation
/// that no editor knew would show as a name.
#[test]
fn the_tables_have_the_words_that_are_written() {
    let words = Words::of_the_notation();
    for (list, some) in [
        (&words.stanzas, vec!["order", "giving-set", "use"]),
        (&words.opening, vec!["order", "use", "specimen"]),
        (&words.lines, vec!["mix", "bolus ceiling", "expect", "line"]),
        (&words.routes, vec!["central vein", "nerve block"]),
        (&words.measures, vec!["pump flow", "single dose", "draw"]),
        (&words.units, vec!["mcg", "micrograms", "%", "unit", "m2"]),
        (
            &words.phrases,
            vec!["made up to", "every", "at most", "up to", "doses", "or"],
        ),
    ] {
        for word in some {
            assert!(list.iter().any(|known| known == word), "{word}: {list:?}");
        }
    }
    assert!(!words.opening.iter().any(|word| word == "drug"));
}
