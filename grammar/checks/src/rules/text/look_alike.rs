#![doc = include_str!("look_alike.md")]

use gutta_notation::ast::Name;
use gutta_notation::{Fact, Mark, MarkKind, Span, StanzaKind, code, latin_twin};
use gutta_protocol::{Space, StanzaId};
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
    twins(context, findings);
    if context.stanza().kind == StanzaKind::Drug {
        near_drugs(context, findings);
    }
}

/// Names in letters of one script that are read as other names, which are known:
/// those that the stanza bears, and those that it mentions.
fn twins(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let own = [Space::Stanza(context.stanza().kind)];
    let bears = own_names(context).map(|name| (name.span, &name.value, &own[..]));
    let mentions = context.workspace.references(context.stanza).iter();
    let mentions = mentions.map(|one| (one.span, &one.name, one.spaces));
    let marks = &context.stanza().marks;
    let mixed = |span| {
        let mut marks = marks.iter();
        marks.any(|mark| mark.kind == MarkKind::MixedScripts && mark.span == span)
    };
    let mut told = Vec::new();
    for (span, name, spaces) in bears.chain(mentions) {
        let Some(twin) = latin_twin(name) else {
            continue;
        };
        work::charge(1);
        let workspace = context.workspace;
        let known = spaces.iter().find_map(|space| {
            let mut bearers = workspace.declared_anywhere(*space, &twin).into_iter();
            bearers.find(|id| workspace.are_seen_together(context.stanza.file, id.file))
        });
        if let Some(known) = known.filter(|_| !mixed(span) && !told.contains(&span)) {
            told.push(span);
            findings.push(self::twin(context, (span, name), &twin, known));
        }
    }
}

fn twin(
    context: &StanzaContext<'_>,
    (span, name): (Span, &str),
    twin: &str,
    known: StanzaId,
) -> Finding {
    let workspace = context.workspace;
    let declared = workspace.place(known, workspace.stanza(known).header);
    let other: Vec<_> = name.chars().filter(|c| !c.is_ascii()).collect();
    let codes: Vec<_> = other.into_iter().map(code).collect();
    context
        .finding(
            &RULE,
            span,
            format!("This name looks like `{twin}`, but is another: it has {}.", codes.join(", ")),
        )
        .severity(Severity::Error)
        .related(declared, format!("`{twin}` is defined here"))
        .note("The two cannot be told apart by eye. Write the name in the letters of the other, if that is meant, or give it a name that looks different.")
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
        .note("It looks like another name but is not the same, so the wrong drug may be found. Write it in one script.")
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
            format!("`{}` differs from `{other}` by one slip of the keyboard.", name.value),
        )
        .related(declared, format!("`{other}` is defined here"))
        .note("One mistyped letter gives the other drug, and that would not be noticed. A longer name for the rarer of the two helps.")
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
     ^^^^^^ text.look-alike: `inulin` differs from `insulin` by one slip of the keyboard.
  supplied   5 g in 50 mL
"#,
        );
    }

    /// Its letters are Cyrillic, every one.
    #[test]
    fn letters_of_one_script_that_look_like_a_known_name() {
        assert_findings(
            r#"
use "tarnwick.gtt"

solution cop "A fluid"
  osmolarity 300 mOsm/L

solution сор "Another"
         ^^^ text.look-alike: looks like `cop`
  osmolarity 300 mOsm/L

order a "A"
  area       adult-icu
  route      central vein
  hang       1 L of сор
                    ^^^ text.look-alike: looks like `cop`
  run        all at 80 mL/h
  then       stop
"#,
        );
    }

    #[test]
    fn letters_of_one_script_are_nothing_by_themselves() {
        assert_findings(
            r#"
solution сор "A fluid"
  osmolarity 300 mOsm/L
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
