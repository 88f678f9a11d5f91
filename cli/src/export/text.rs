//! Text that came from a file, made fit for what it goes into.

use gutta_notation::visible_line;
use gutta_quantity::{Quantity, Style};

/// The text on one line, without control characters and with single plain
/// blanks: the standard's strings hold no others.
pub(crate) fn plain(text: &str) -> String {
    let words: Vec<_> = text.split_whitespace().collect();
    visible_line(&words.join(" ")).into_owned()
}

/// A value with its unit, all its decimals written; where they do not end,
/// rounded, which it says.
pub(crate) fn told(quantity: &Quantity, style: Style) -> String {
    if let Some(exact) = style.quantity_exact(quantity) {
        return exact.to_string();
    }
    let shown = style.quantity_shown(quantity);
    let exact = style.fraction(&quantity.value);
    let unit = style.unit(quantity.unit);
    format!("about {shown} (rounded; exactly {exact} {unit})")
}
