//! Judging a unit as it was written.

use gutta_quantity::{Atom, Unit};

use crate::Style;

/// What is to be said of a unit.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Verdict {
    /// The unit, where it could be read; weight or surface before time.
    pub(super) unit: Option<Unit>,
    /// What is to be remarked.
    pub(super) remark: Remark,
    /// Whether time stands before weight or surface.
    pub(super) order: bool,
    /// The notation's way of writing it, where something is to be remarked;
    /// for an unknown unit the nearest, if any is near.
    pub(super) safe: Option<String>,
}

/// How a unit was written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Remark {
    /// As the notation writes it.
    #[default]
    None,
    /// In a spelling that is read and put right.
    Spelling,
    /// In a form that safe-writing lists warn of.
    Risky,
    /// In pounds or ounces.
    Pounds,
    /// Not a unit.
    Unknown,
}

/// Judges `text`, a unit without blanks.
pub(super) fn judge(text: &str, style: Style) -> Verdict {
    let mut atoms = [None; 3];
    let mut remark = Remark::None;
    let bare = text.strip_suffix('.').filter(|bare| !bare.ends_with('.'));
    for (place, part) in bare.unwrap_or(text).split('/').enumerate() {
        let (atom, said) = match atom(part) {
            Some(atom) if atom.is_of_the_table() => (Some(atom), Remark::None),
            Some(atom) => (Some(atom), Remark::Pounds),
            None => slow_atom(part),
        };
        let said = match (part, place) {
            ("d", _) => Remark::Risky,
            _ => said,
        };
        remark = remark.max(said);
        match atoms.get_mut(place) {
            Some(slot) => *slot = atom,
            None => remark = remark.max(Remark::Unknown),
        }
    }
    if bare.is_some() {
        remark = remark.max(Remark::Risky);
    }
    if remark >= Remark::Unknown {
        return Verdict {
            remark,
            safe: nearest(bare.unwrap_or(text), style),
            ..Verdict::default()
        };
    }
    let mut unit = Unit {
        top: atoms[0],
        per: [atoms[1], atoms[2]],
    };
    let order = !unit.is_canonical_order();
    if order {
        unit.per.swap(0, 1);
    }
    Verdict {
        unit: Some(unit),
        remark,
        order,
        safe: (order || remark > Remark::None).then(|| style.unit(unit)),
    }
}

/// The atom that a part of a unit is, where nothing is to be said of it.
fn atom(part: &str) -> Option<Atom> {
    Atom::from_symbol(part).or_else(|| match part {
        "microgram" | "micrograms" | "nanogram" | "nanograms" | "litre" | "litres" | "hour"
        | "hours" | "minute" | "minutes" => Atom::from_word(part),
        _ => None,
    })
}

/// The atom that a part written otherwise is, and what is to be said of it.
fn slow_atom(part: &str) -> (Option<Atom>, Remark) {
    if let Some(atom) = Atom::from_word(part) {
        return (Some(atom), Remark::Spelling);
    }
    let risky = match part {
        "µg" | "μg" | "ug" | "mcgm" => Atom::Mcg,
        "µmol" | "μmol" | "umol" => Atom::Micromol,
        "U" | "u" | "IU" | "iu" | "I.U" | "U.I" => Atom::Units,
        "mU" | "mIU" => Atom::Milliunits,
        "cc" | "ccm" | "cm3" | "cm³" | "ml" | "ML" => Atom::ML,
        "l" => Atom::L,
        "gtt" | "gtts" => Atom::Drops,
        "hr" | "hrs" => Atom::H,
        "gm" | "gms" => Atom::G,
        "m²" => Atom::M2,
        "sec" | "secs" => Atom::S,
        "d" | "q.d" | "qd" => Atom::Days,
        "lbs" | "LB" | "LBS" | "Lb" | "Lbs" | "pound" | "pounds" => {
            return (Some(Atom::Lb), Remark::Pounds);
        }
        "OZ" | "ounce" | "ounces" => return (Some(Atom::Oz), Remark::Pounds),
        _ => return (None, Remark::Unknown),
    };
    (Some(risky), Remark::Risky)
}

/// The nearest unit of the notation, where each part is near one.
fn nearest(text: &str, style: Style) -> Option<String> {
    let mut parts = Vec::new();
    for part in text.split('/') {
        let good = atom(part).or_else(|| slow_atom(part).0);
        parts.push(match good {
            Some(Atom::Days) if !parts.is_empty() => "day",
            Some(atom) => style.atom(atom),
            None => {
                let table = Atom::ALL.iter().filter(|atom| atom.is_of_the_table());
                super::near::nearest(part, table.map(|atom| style.atom(*atom)))?
            }
        });
    }
    (parts.len() <= 3).then(|| parts.join("/"))
}

/// The unit without its `/day`, which must stand last; `None` if none does.
pub(super) const fn without_day(unit: Unit) -> Option<Unit> {
    match unit.per {
        [Some(Atom::Days), None] => Some(Unit {
            top: unit.top,
            per: [None, None],
        }),
        [first, Some(Atom::Days)] => Some(Unit {
            top: unit.top,
            per: [first, None],
        }),
        _ => None,
    }
}
