//! Turns of phrase that messages share.

use gutta_notation::StanzaKind;
use gutta_notation::ast::Route;
use gutta_protocol::Space;

/// Of an osmolarity.
pub(crate) const WORKED_OUT: &str =
    "It is not stated; it is calculated from the contents as the least that it can be.";

/// `a`, `a or b`, `a, b or c`.
#[must_use]
pub fn any_of<T: AsRef<str>>(items: &[T]) -> String {
    joined(items, "or")
}

/// `a`, `a and b`, `a, b and c`.
#[must_use]
pub fn all_of<T: AsRef<str>>(items: &[T]) -> String {
    joined(items, "and")
}

fn joined<T: AsRef<str>>(items: &[T], last: &str) -> String {
    match items {
        [] => String::new(),
        [only] => only.as_ref().to_owned(),
        [front @ .., end] => {
            let front: Vec<_> = front.iter().map(AsRef::as_ref).collect();
            format!("{} {last} {}", front.join(", "), end.as_ref())
        }
    }
}

/// `1 file`, `2 files`.
#[must_use]
pub fn counted(count: usize, word: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {word}{plural}")
}

/// Each in the marks of a literal text: `` `a` ``.
pub(crate) fn quoted<T: AsRef<str>>(items: &[T]) -> Vec<String> {
    items
        .iter()
        .map(|item| format!("`{}`", item.as_ref()))
        .collect()
}

/// How a drug given by this route is given: `by a central vein`, `by the
/// intrathecal route`.
pub(crate) const fn by_route(route: Route) -> &'static str {
    match route {
        Route::CentralVein => "by a central vein",
        Route::PeripheralVein => "by a peripheral vein",
        Route::UmbilicalVein => "by an umbilical vein",
        Route::Intraosseous => "by the intraosseous route",
        Route::Subcutaneous => "by the subcutaneous route",
        Route::Epidural => "by the epidural route",
        Route::Intrathecal => "by the intrathecal route",
        Route::NerveBlock => "by nerve block",
        Route::Wound => "into a wound",
        Route::Arterial => "by the arterial route",
        Route::Enteral => "by the enteral route",
    }
}

/// What a stanza is called: `order`, `giving set`.
#[must_use]
pub const fn kind(kind: StanzaKind) -> &'static str {
    match kind {
        StanzaKind::Preamble => "opening",
        StanzaKind::Unknown => "stanza",
        StanzaKind::Use => "use",
        StanzaKind::Pump => "pump",
        StanzaKind::GivingSet => "giving set",
        StanzaKind::Area => "area",
        StanzaKind::Solution => "solution",
        StanzaKind::Ingredient => "ingredient",
        StanzaKind::Drug => "drug",
        StanzaKind::Order => "order",
        StanzaKind::Specimen => "specimen",
        StanzaKind::Set => "set",
    }
}

/// What a name in this space is a name of.
pub(crate) const fn space(space: Space) -> &'static str {
    match space {
        Space::Stanza(stanza) => kind(stanza),
        Space::Substance => "substance",
    }
}

#[cfg(test)]
mod tests {
    use super::{all_of, any_of};

    #[test]
    fn lists_read_aloud() {
        assert_eq!(any_of(&["mg"]), "mg");
        assert_eq!(any_of(&["mg", "mL"]), "mg or mL");
        assert_eq!(all_of(&["mg", "mL", "min"]), "mg, mL and min");
        assert_eq!(any_of::<&str>(&[]), "");
    }
}
