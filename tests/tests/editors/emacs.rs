//! The words for Emacs.

use super::words::Words;

/// `gutta-words.el`.
pub(crate) fn drawn(words: &Words) -> String {
    let mut text = String::from(
        ";;; gutta-words.el --- The notation's words  -*- lexical-binding: t; -*-\n\n\
         ;;; Commentary:\n\n\
         ;; Drawn from the notation's own tables by the test `editors': not to be edited\n\
         ;; by hand.\n\n\
         ;;; Code:\n",
    );
    for (name, list, what) in [
        ("stanzas", &words.stanzas, "What starts a stanza."),
        (
            "opening",
            &words.opening,
            "What starts a stanza, and never a line.",
        ),
        ("lines", &words.lines, "What starts a line."),
        ("parts", &words.parts, "What begins a part of an order."),
        ("routes", &words.routes, "The routes."),
        (
            "measures",
            &words.measures,
            "What limits and worked examples measure.",
        ),
        (
            "units",
            &words.units,
            "The units, in every spelling that is read.",
        ),
        (
            "phrases",
            &words.phrases,
            "What stands between quantities and names.",
        ),
    ] {
        text.push_str(&format!("\n(defconst gutta-words-{name}\n  '("));
        for (place, word) in list.iter().enumerate() {
            if place > 0 {
                text.push_str("\n    ");
            }
            text.push_str(&format!("{word:?}"));
        }
        text.push_str(&format!(")\n  {what:?})\n"));
    }
    text.push_str("\n(provide 'gutta-words)\n\n;;; gutta-words.el ends here\n");
    text
}
