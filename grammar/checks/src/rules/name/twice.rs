#![doc = include_str!("twice.md")]

use gutta_notation::StanzaKind;
use gutta_notation::ast::Name;
use gutta_protocol::{Space, StanzaId};

use crate::words::kind;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "name.twice",
    severity: Severity::Error,
    locked: false,
    page: include_str!("twice.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let space = Space::Stanza(context.stanza().kind);
    for name in context.workspace.own_names(context.stanza) {
        // Every one but the first reports, and points to the first.
        let declared = context.workspace.declared_anywhere(space, &name.value);
        if let Some(&first) = declared.first()
            && first < context.stanza
            && declared.contains(&context.stanza)
        {
            findings.push(report(context, name, first));
        }
    }
}

fn report(context: &StanzaContext<'_>, name: &Name, first: StanzaId) -> Finding {
    let of = context.stanza().kind;
    let kind = kind(of);
    let workspace = context.workspace;
    let declared = workspace.stanza(first);
    let note = match of {
        StanzaKind::Ingredient => {
            "Whatever contains the substance is checked against the limits of both. Combine them in one, or remove one."
        }
        _ => {
            "A line with this name could mean either, so neither is used. Rename one of them, or remove it."
        }
    };
    context
        .finding(
            &RULE,
            name.span,
            format!("A second {kind} is called `{}`.", name.value),
        )
        .related(
            workspace.place(first, declared.header),
            format!("the first {kind} of this name"),
        )
        .note(note)
}

#[cfg(test)]
mod tests {
    use crate::harness::{assert_findings, assert_findings_in};

    #[test]
    fn two_orders_of_one_name() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-litre "By day"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
  note       "first"

order saline-litre "By night"
      ^^^^^^^^^^^^ name.twice: second order
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
  note       "second"
"#,
        );
    }

    #[test]
    fn another_kind_may_have_the_name() {
        assert_findings(
            r#"
solution insulin "Insulin in saline"
  osmolarity 308 mOsm/L

drug insulin "Insulin"
  also       insulin
  supplied   1000 units in 10 mL
"#,
        );
    }

    /// 3.08 mmol/h are within the first, and beyond the second.
    #[test]
    fn two_ingredients_both_hold() {
        assert_findings(
            r#"
use "tarnwick.gtt"

ingredient sodium "Sodium"
  never dose above 5 mmol/h

ingredient sodium "Sodium again"
           ^^^^^^ name.twice: Whatever contains the substance is checked against the limits of both. Combine them in one, or remove one.
  never dose above 1 mmol/h

order saline-drip "Saline"
  route      peripheral vein
  hang       1 L of saline
  run        all at 20 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^ limit.substance: is 3.08 mmol/h; never above 1 mmol/h.
  then       stop
"#,
        );
    }

    #[test]
    fn a_drug_and_another_ones_second_name() {
        assert_findings(
            r#"
drug adrenaline "Adrenaline"
  also       epinephrine
  supplied   1 mg in 1 mL

drug epinephrine "Epinephrine"
     ^^^^^^^^^^^ name.twice: second drug
  supplied   1 mg in 1 mL
"#,
        );
    }

    #[test]
    fn in_another_file() {
        assert_findings_in(
            &[(
                "a.gtt",
                "drug adrenaline \"Adrenaline\"\n  supplied 1 mg in 1 mL\n",
            )],
            r#"
drug adrenaline "Adrenaline"
     ^^^^^^^^^^ name.twice
  supplied   1 mg in 1 mL
"#,
        );
    }
}
