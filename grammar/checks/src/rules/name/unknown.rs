#![doc = include_str!("unknown.md")]

use gutta_notation::ast::Name;
use gutta_notation::{Fact, Span, StanzaKind};
use gutta_protocol::names::relative_path;
use gutta_protocol::{FileId, Reference, Resolved, Space, StanzaId, nearest};
use rustc_hash::FxHashSet;

use crate::words::{any_of, quoted, space};
use crate::{Check, Finding, Fix, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "name.unknown",
    severity: Severity::Error,
    locked: false,
    page: include_str!("unknown.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    for reference in context.workspace.references(context.stanza) {
        if reference.required && !is_known(context, reference) {
            findings.push(undeclared(context, reference));
        }
    }
    findings.extend(ingredient(context));
    phases(context, findings);
    line_members(context, findings);
    rule_names(context, findings);
}

/// An ingredient limits what `contains` lines name, anywhere in the workspace.
fn ingredient(context: &StanzaContext<'_>) -> Option<Finding> {
    let stanza = context.stanza();
    let name = stanza.name.as_ref()?;
    let workspace = context.workspace;
    let spaces = [Space::Substance];
    let declared = || workspace.declared_anywhere(Space::Substance, &name.value);
    if stanza.kind != StanzaKind::Ingredient || !declared().is_empty() {
        return None;
    }
    let message = format!("No drug and no solution contains `{}`.", name.value);
    let mut finding = context.finding(&RULE, name.span, message);
    let drugs = workspace.declared_anywhere(Space::Stanza(StanzaKind::Drug), &name.value);
    if let Some(drug) = drugs.first() {
        let header = workspace.stanza(*drug).header;
        finding = finding.related(workspace.place(*drug, header), "a drug of this name").note(
            "The limits of a drug are stated in its own stanza; an ingredient is a substance that `contains` lines name.",
        );
    }
    let near = workspace.nearest_names(context.stanza.file, &spaces, &name.value);
    Some(offer(context, finding, name.span, &near).note(
        "Its limits are not checked anywhere. Name the substance as the `contains` lines do, or add it to whatever contains it.",
    ))
}

/// Several of one name are `name.twice`'s.
fn is_known(context: &StanzaContext<'_>, reference: &Reference) -> bool {
    let file = context.stanza.file;
    if context.workspace.resolve_reference(file, reference) != Resolved::None {
        return true;
    }
    // A set reckons with what its orders' files declare: it names substances
    // that they give.
    context.stanza().kind == StanzaKind::Set
        && reference.spaces.contains(&Space::Substance)
        && member_files(context).any(|file| {
            !context
                .workspace
                .containing(file, &reference.name)
                .is_empty()
        })
}

fn member_files(context: &StanzaContext<'_>) -> impl Iterator<Item = FileId> {
    included(context).filter_map(|name| {
        context
            .workspace
            .resolve(context.stanza.file, StanzaKind::Order, &name.value)
            .one()
            .map(|id| id.file)
    })
}

fn included<'a>(context: &StanzaContext<'a>) -> impl Iterator<Item = &'a Name> + use<'a> {
    let lines = &context.stanza().lines;
    lines.iter().flat_map(|line| match &line.fact {
        Fact::Include(names) => names.as_slice(),
        _ => &[],
    })
}

fn undeclared(context: &StanzaContext<'_>, reference: &Reference) -> Finding {
    let workspace = context.workspace;
    let file = context.stanza.file;
    let kinds: Vec<_> = reference.spaces.iter().map(|of| space(*of)).collect();
    let name = &reference.name;
    let mut finding = context.finding(
        &RULE,
        reference.span,
        format!("No {} called `{name}` is defined here.", kinds.join(" or ")),
    );
    let elsewhere: Vec<_> = reference
        .spaces
        .iter()
        .flat_map(|of| workspace.declared_anywhere(*of, name))
        .collect();
    if let Some(&id) = elsewhere.first() {
        finding = seen_from_afar(context, finding, id);
    }
    let near = workspace.nearest_names(file, reference.spaces, name);
    finding = offer(context, finding, reference.span, &near);
    finding.note("What is not defined has no limits, no contents and no steps, so whatever depends on it cannot be checked.")
}

/// The name is declared in a file that this one does not use.
fn seen_from_afar(context: &StanzaContext<'_>, finding: Finding, id: StanzaId) -> Finding {
    let workspace = context.workspace;
    let path = &workspace.file(id.file).path;
    let finding = finding.related(
        workspace.place(id, workspace.stanza(id).header),
        "it is defined here, in a file that this one does not use",
    );
    let path = relative_path(&workspace.file(context.stanza.file).path, path);
    finding.note(format!("Add the line `use \"{path}\"`."))
}

fn offer<T: AsRef<str>>(
    context: &StanzaContext<'_>,
    mut finding: Finding,
    span: Span,
    near: &[T],
) -> Finding {
    if !near.is_empty() {
        finding = finding.note(format!("Was {} meant?", any_of(&quoted(near))));
    }
    let fixes: Vec<Fix> = near
        .iter()
        .map(|name| context.replace(span, name.as_ref()))
        .collect();
    finding.fixes.extend(fixes);
    finding
}

/// `in PHASE` of an `expect`.
fn phases(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let lines = &context.stanza().lines;
    let phases = || {
        lines.iter().filter_map(|line| match &line.fact {
            Fact::Phase { name, .. } => Some(name.value.as_str()),
            _ => None,
        })
    };
    let known: FxHashSet<_> = phases().collect();
    for line in lines {
        if let Fact::Expect(expect) = &line.fact
            && let Some(phase) = &expect.phase
            && !known.contains(phase.value.as_str())
        {
            let message = format!("This order has no phase `{}`.", phase.value);
            let finding = context.finding(&RULE, phase.span, message);
            let near = nearest(&phase.value, phases());
            findings.push(
                offer(context, finding, phase.span, &near)
                    .note("The worked example belongs to no phase, so it is not checked."),
            );
        }
    }
}

/// Who runs through a line of a set is one of its members.
fn line_members(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let members: FxHashSet<_> = included(context).map(|name| name.value.as_str()).collect();
    for line in &context.stanza().lines {
        let Fact::LineMembers {
            members: through, ..
        } = &line.fact
        else {
            continue;
        };
        for member in through {
            let known =
                context
                    .workspace
                    .resolve(context.stanza.file, StanzaKind::Order, &member.value)
                    != Resolved::None;
            if known && !members.contains(member.value.as_str()) {
                let message = format!("`{}` is not included in this set.", member.value);
                findings.push(context.finding(&RULE, member.span, message).note(
                    "An order that the set does not include is not checked with it. Add it to `include`.",
                ));
            }
        }
    }
}

/// The rules that waivers and specimens name.
fn rule_names(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    for line in &context.stanza().lines {
        let name = match &line.fact {
            Fact::Waive(waive) => &waive.rule,
            Fact::ExpectFinding(name) => name,
            _ => continue,
        };
        if context.rules.contains(&name.value.as_str()) {
            continue;
        }
        let message = format!("No rule is called `{}`.", name.value);
        let finding = context.finding(&RULE, name.span, message);
        let near = nearest(&name.value, context.rules.iter().copied());
        findings.push(
            offer(context, finding, name.span, &near)
                .note("This line has no effect. `gutta rules` lists the names of all rules."),
        );
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::{assert_findings, assert_findings_in};

    #[test]
    fn every_reference_of_an_order() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order everything-unknown "Unknown"
^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.not-checked: `noradrenalin` is not known
  drug       noradrenalin
             ^^^^^^^^^^^^ name.unknown: Was `noradrenaline` meant?
  area       theatre
             ^^^^^^^ name.unknown: No area
  route      central vein
  pump       syring
             ^^^^^^ name.unknown: Was `syringe` meant?
  giving-set makro
             ^^^^^ name.unknown: Was `macro` meant?
  mix        4 mg made up to 50 mL with glucose5
                                        ^^^^^^^^ name.unknown: `glucose-5`
  run        all at 2 mL/h
  flush      10 mL with salin
                        ^^^^^ name.unknown: `saline`
  then       keep open 5 mL/h with salin
                                   ^^^^^ name.unknown: `saline`
"#,
        );
    }

    #[test]
    fn references_of_a_drug() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug alteplase "Alteplase"
  supplied   50 mg in 50 mL
  with       salin
             ^^^^^ name.unknown: No solution
  not with   glucose-50, heparine
  usual dose 1 to 2 mg/h in wards
                            ^^^^^ name.unknown: Was `ward` meant?
  never dose above 4 mg/h except in theatre
                                    ^^^^^^^ name.unknown: No area
"#,
        );
    }

    #[test]
    fn use_is_not_handed_on() {
        assert_findings_in(
            &[
                ("reference/a.gtt", "use \"b.gtt\"\n"),
                (
                    "reference/b.gtt",
                    "solution water \"Water\"\n  osmolarity 1 mOsm/L\n",
                ),
            ],
            r#"
use "reference/a.gtt"

order water-flush "Water"
  route      enteral
  hang       1 L of water
                    ^^^^^ name.unknown: Add the line `use "reference/b.gtt"`.
  run        all over 8 h
  then       stop
"#,
        );
    }

    #[test]
    fn a_line_of_a_set_holds_its_members() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order a "A"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
  note       "first"

order b "B"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
  note       "second"

set both "Both"
  include    a, c
                ^ name.unknown: No order
  line       proximal: a, b
                          ^ name.unknown: not included
"#,
        );
    }

    #[test]
    fn names_of_rules() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order a "A"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
  review by  2025-01-01
  ^^^^^^^^^^^^^^^^^^^^^ review.overdue
  waive review.overdu because "after the move"
        ^^^^^^^^^^^^^ name.unknown: Was `review.overdue` meant?
"#,
        );
    }
}
