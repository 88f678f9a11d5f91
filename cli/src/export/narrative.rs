//! The text of a resource.

use gutta_protocol::CAUTION;

use super::fhir::Narrative;
use super::left_out::Omission;
use super::text::plain;

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
