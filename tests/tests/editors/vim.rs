//! The words for Vim's script.

use super::words::Words;

/// `autoload/gutta/words.vim`.
pub(crate) fn drawn(words: &Words) -> String {
    let mut text = String::from(
        "\" The notation's words. Drawn from its own tables by the test `editors`: not to be\n\
         \" edited by hand.\n",
    );
    for (name, list) in [
        ("stanzas", &words.stanzas),
        ("opening", &words.opening),
        ("lines", &words.lines),
        ("parts", &words.parts),
        ("routes", &words.routes),
        ("measures", &words.measures),
        ("units", &words.units),
        ("phrases", &words.phrases),
    ] {
        text.push_str(&format!("\nlet g:gutta#words#{name} = [\n"));
        for word in list {
            text.push_str(&format!("      \\ '{}',\n", word.replace('\'', "''")));
        }
        text.push_str("      \\ ]\n");
    }
    text
}
