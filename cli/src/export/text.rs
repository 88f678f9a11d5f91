//! Text that came from a file, made fit for what it goes into.

use gutta_notation::visible_line;
use gutta_protocol::CAUTION;
use gutta_quantity::{Quantity, Style};

use super::fhir::Narrative;
use super::left_out::Omission;

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

/// The text of a resource: its title, the caution, the lines as written, and
/// what of them no field holds.
pub(crate) fn narrative<'a>(
    title: &str,
    lines: impl Iterator<Item = &'a str>,
    omissions: &[Omission],
) -> Narrative {
    let mut div = String::from("<div xmlns=\"http://www.w3.org/1999/xhtml\">");
    div.push_str(&format!("<p>{}</p>", escaped(title)));
    div.push_str(&format!(
        "<p>A draft for checking. {}</p>",
        escaped(CAUTION)
    ));
    let lines: Vec<_> = lines.map(|line| escaped(&plain(line))).collect();
    if !lines.is_empty() {
        div.push_str(&format!(
            "<p>As written:</p><pre>{}</pre>",
            lines.join("\n")
        ));
    }
    if !omissions.is_empty() {
        div.push_str("<p>In no field, or in part:</p><ul>");
        for omission in omissions {
            let Omission {
                line, text, why, ..
            } = omission;
            div.push_str(&format!(
                "<li>line {line}: {}: {}</li>",
                escaped(text),
                escaped(why)
            ));
        }
        div.push_str("</ul>");
    }
    div.push_str("</div>");
    Narrative {
        status: "generated",
        div,
    }
}

fn escaped(text: &str) -> String {
    quick_xml::escape::escape(text).into_owned()
}
