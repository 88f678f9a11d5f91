#![doc = include_str!("look_alike.md")]

use gutta_notation::ast::Name;
use gutta_notation::{Fact, Mark, MarkKind, StanzaKind};
use gutta_protocol::StanzaId;
use gutta_quantity::work;

use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "text.look-alike",
    severity: Severity::Information,
    locked: false,
    page: include_str!("look_alike.md"),
    check: Check::Stanza(check),
};

/// Shorter names are all near one another.
const LEAST_LETTERS: usize = 5;

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    findings.extend(
        context
            .stanza()
            .marks
            .iter()
            .filter(|mark| mark.kind == MarkKind::MixedScripts)
            .map(|mark| mixed_scripts(context, mark)),
    );
    if context.stanza().kind == StanzaKind::Drug {
        near_drugs(context, findings);
    }
}

fn mixed_scripts(context: &StanzaContext<'_>, mark: &Mark) -> Finding {
    let name = context.text(mark.span);
    context
        .finding(
            &RULE,
            mark.span,
            format!("`{name}` mixes letters of more than one script."),
        )
        .severity(Severity::Error)
        .note("It looks like another name and is not the same, so that what is meant may not be what is found. Write it in one script.")
}

/// Drugs declared before this one, and in sight of it or together with it,
/// whose names are a slip from its own.
fn near_drugs(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let workspace = context.workspace;
    let own = context.stanza.file;
    for name in own_names(context) {
        let mut near: Vec<_> = workspace
            .drugs_near(&name.value)
            .filter(|(other, id)| {
                *id < context.stanza
                    && within_a_slip(&name.value, other)
                    && workspace.are_seen_together(own, id.file)
            })
            .collect();
        work::charge_each(1 + near.len());
        near.sort_unstable();
        near.dedup();
        for (other, id) in near {
            findings.push(self::near(context, name, other, id));
        }
    }
}

fn own_names<'a>(context: &StanzaContext<'a>) -> impl Iterator<Item = &'a Name> {
    let stanza = context.stanza();
    let also = stanza.lines.iter().filter_map(|line| match &line.fact {
        Fact::Also(names) | Fact::Class(names) => Some(names),
        _ => None,
    });
    stanza.name.iter().chain(also.flatten())
}

fn near(context: &StanzaContext<'_>, name: &Name, other: &str, id: StanzaId) -> Finding {
    let workspace = context.workspace;
    let declared = workspace.place(id, workspace.stanza(id).header);
    context
        .finding(
            &RULE,
            name.span,
            format!("`{}` is one slip away from `{other}`.", name.value),
        )
        .related(declared, format!("`{other}` is declared here"))
        .note("One key pressed wrongly names the other drug, and nothing would notice. A longer name for the rarer of the two helps.")
}

/// Whether one letter more, less or another, or two neighbours exchanged, make
/// one name the other.
fn within_a_slip(a: &str, b: &str) -> bool {
    if a.is_ascii() && b.is_ascii() {
        return one_slip(a.as_bytes(), b.as_bytes());
    }
    let (a, b): (Vec<_>, Vec<_>) = (a.chars().collect(), b.chars().collect());
    one_slip(&a, &b)
}

fn one_slip<T: PartialEq>(a: &[T], b: &[T]) -> bool {
    if a.len().abs_diff(b.len()) > 1 || a.len().min(b.len()) < LEAST_LETTERS || a == b {
        return false;
    }
    let front = a.iter().zip(b).take_while(|(x, y)| x == y).count();
    let (a, b) = (&a[front..], &b[front..]);
    let back = a
        .iter()
        .rev()
        .zip(b.iter().rev())
        .take_while(|(x, y)| x == y)
        .count();
    match (&a[..a.len() - back], &b[..b.len() - back]) {
        ([x, y], [v, w]) => x == w && y == v,
        (a, b) => a.len().max(b.len()) == 1,
    }
}

#[cfg(test)]
mod tests {
    use super::within_a_slip;
    use crate::harness::assert_findings;

    #[test]
    fn one_slip() {
        assert!(within_a_slip("insulin", "inulin"));
        assert!(within_a_slip("inulin", "insulin"));
        assert!(within_a_slip("midazolam", "midazolan"));
        assert!(within_a_slip("cefazolin", "cefazloin"));
        assert!(within_a_slip("heparin", "heparine"));
    }

    #[test]
    fn more_than_a_slip_or_none() {
        assert!(!within_a_slip("insulin", "insulin"));
        assert!(!within_a_slip("adrenaline", "noradrenaline"));
        assert!(!within_a_slip("dopamine", "dobutamine"));
        assert!(!within_a_slip("zinc", "zink"));
        assert!(!within_a_slip("abcdef", "badcef"));
    }

    #[test]
    fn two_drugs_a_slip_apart() {
        assert_findings(
            r#"
drug insulin "Insulin, soluble"
  supplied   1000 units in 10 mL

drug inulin "Inulin, for a clearance test"
     ^^^^^^ text.look-alike: one slip away from `insulin`
  supplied   5 g in 50 mL
"#,
        );
    }

    #[test]
    fn letters_of_two_scripts() {
        assert_findings(
            r#"
drug insulіn "Insulin, soluble"
     ^^^^^^^ text.look-alike: more than one script
  supplied   1000 units in 10 mL
"#,
        );
    }
}
