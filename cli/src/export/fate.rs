//! What becomes of each line of the notation.

use gutta_notation::ast::{PatientKind, WordsKind};
use gutta_notation::{Fact, StanzaKind};

/// What becomes of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fate {
    /// A field holds it.
    Expressed,
    /// It goes along in words, as an instruction of each dosage, and is
    /// listed: no field holds it.
    InWords(&'static str),
    /// It is listed alone.
    LeftOut(&'static str),
}

/// What becomes of a line of a stanza of this kind.
pub(crate) fn fate(kind: StanzaKind, fact: &Fact) -> Fate {
    let held = match kind {
        StanzaKind::Order => return of_order(fact),
        StanzaKind::Set => is_held_of_a_set(fact),
        StanzaKind::Drug => matches!(fact, Fact::Supplied(_) | Fact::Contains { .. }),
        StanzaKind::Solution => matches!(fact, Fact::Contains { .. }),
        _ => return Fate::LeftOut("there is no resource for this stanza"),
    };
    match of_order(fact) {
        _ if held => Fate::Expressed,
        Fate::InWords(why) | Fate::LeftOut(why) => Fate::LeftOut(why),
        Fate::Expressed => Fate::LeftOut("no field of the resource holds it"),
    }
}

fn is_held_of_a_set(fact: &Fact) -> bool {
    match fact {
        Fact::Area(area) => area.value.is_some(),
        Fact::Patient { kind, .. } => *kind == PatientKind::Age,
        Fact::Words { kind, .. } => *kind == WordsKind::Source,
        Fact::Include(_) | Fact::ReviewBy(_) => true,
        _ => false,
    }
}

fn of_order(fact: &Fact) -> Fate {
    const REFERENCE: &str = "a local rule that was checked, not part of what is given";
    match fact {
        Fact::Drug(_)
        | Fact::Bag(_)
        | Fact::Run(_)
        | Fact::Bolus(_)
        | Fact::Phase { .. }
        | Fact::ReviewBy(_) => Fate::Expressed,
        Fact::Area(area) if area.value.is_some() => Fate::Expressed,
        Fact::Area(_) => Fate::LeftOut("every area is meant, and no context expresses that"),
        Fact::Route(route) if route.value.is_some() => Fate::Expressed,
        Fact::Route(_) => Fate::InWords("every route is meant, and no code expresses that"),
        Fact::Patient {
            kind: PatientKind::Age,
            ..
        } => Fate::Expressed,
        Fact::Patient { .. } => {
            Fate::InWords("the standard has no context for body weight or body surface area")
        }
        Fact::DosingWeight(_) => {
            Fate::InWords("no field limits the weight by which a dose is calculated")
        }
        Fact::Pump(_) | Fact::GivingSet(_) => Fate::InWords("no field names a device"),
        Fact::Purpose(_) => Fate::InWords("no field names a local purpose"),
        Fact::Ceiling(_) | Fact::BolusCeiling(_) => {
            Fate::InWords("no field limits the flow of what is given")
        }
        Fact::HighAlert => Fate::InWords("no field marks a high-alert drug"),
        Fact::Prime(_) => Fate::InWords("it does not reach the patient, and is not a dose"),
        Fact::Adjust(_) => {
            Fate::InWords("no field holds the steps by which the setting may be changed")
        }
        Fact::ChangeBag(_) => Fate::InWords("no field says how long a bag may hang"),
        Fact::Flush { .. } => Fate::InWords("it follows the dose, and is not part of it"),
        Fact::Then(_) => Fate::InWords("no field says what follows the bag"),
        Fact::Words {
            kind: WordsKind::Source,
            ..
        } => Fate::Expressed,
        Fact::Words { .. } => Fate::InWords("it is text for people"),
        Fact::Expect(_) => Fate::LeftOut("a worked example, which agrees"),
        Fact::ExpectFinding(_) => Fate::LeftOut("the finding that a specimen must have"),
        Fact::Waive(_) => Fate::LeftOut("a waiver of a finding of gutta"),
        Fact::Unreadable => Fate::LeftOut("it could not be read"),
        Fact::Include(_) | Fact::LineMembers { .. } => {
            Fate::LeftOut("no field says which orders share a line")
        }
        Fact::PumpFlow { .. }
        | Fact::PumpVolume(_)
        | Fact::PumpBolus(_)
        | Fact::Accuracy(_)
        | Fact::DropFactor(_)
        | Fact::Priming(_)
        | Fact::Fluid(_)
        | Fact::Load { .. }
        | Fact::Contains { .. }
        | Fact::Osmolarity(_)
        | Fact::Also(_)
        | Fact::Class(_)
        | Fact::DosedIn(_)
        | Fact::Supplied(_)
        | Fact::With(_)
        | Fact::NotWith(_)
        | Fact::OnlyBy(_)
        | Fact::Usual(_)
        | Fact::Never(_)
        | Fact::Equals(_)
        | Fact::HangTime(_) => Fate::LeftOut(REFERENCE),
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use gutta_notation::lines::LineKind;
    use gutta_notation::{Style, read};

    use super::{Fate, fate};

    /// The text that the command's tests export: a line of every kind.
    const EVERY: &str = include_str!("../../../tests/command/every.gtt");

    #[test]
    fn every_kind_of_line_is_among_the_exported() {
        let file = read(EVERY, Style::USUAL);
        let lines = file.stanzas.iter().flat_map(|placed| &placed.stanza.lines);
        let kinds: BTreeSet<_> = lines.filter_map(|line| line.fact.kind()).collect();
        let read = LineKind::ALL.iter().copied().filter(|kind| kind.is_read());
        assert_eq!(kinds, read.collect());
    }

    #[test]
    fn what_is_not_expressed_says_why() {
        let file = read(EVERY, Style::USUAL);
        let mut fates = Vec::new();
        for placed in &file.stanzas {
            for line in &placed.stanza.lines {
                let fate = fate(placed.stanza.kind, &line.fact);
                if let Fate::InWords(why) | Fate::LeftOut(why) = fate {
                    assert!(!why.is_empty());
                }
                fates.push(fate == Fate::Expressed);
            }
        }
        assert!(fates.contains(&true) && fates.contains(&false));
    }
}
