#![doc = include_str!("unused.md")]

use gutta_notation::StanzaKind;

use crate::words::kind;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "name.unused",
    severity: Severity::Hint,
    locked: false,
    page: include_str!("unused.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let stanza = context.stanza();
    let Some(name) = &stanza.name else { return };
    let declares = matches!(
        stanza.kind,
        StanzaKind::Pump
            | StanzaKind::GivingSet
            | StanzaKind::Area
            | StanzaKind::Solution
            | StanzaKind::Drug
    );
    // A file of reference stanzas alone is there for others, and may be ahead
    // of them.
    let beside_orders = context.workspace.holds_orders(context.stanza.file);
    if !declares || !beside_orders || is_default(context) {
        return;
    }
    if context.workspace.referrers(context.stanza).is_empty() {
        findings.push(
            context
                .finding(
                    &RULE,
                    name.span,
                    format!("Nothing uses the {} `{}`.", kind(stanza.kind), name.value),
                )
                .note("It may be left over, or a line that should use it names another. Use it, or remove it."),
        );
    }
}

/// Whether the house names it as what holds where nothing is said.
fn is_default(context: &StanzaContext<'_>) -> bool {
    let house = &context.workspace.house;
    let default = match context.stanza().kind {
        StanzaKind::Pump => &house.pump,
        StanzaKind::Area => &house.area,
        StanzaKind::GivingSet => &house.giving_set,
        _ => return false,
    };
    let name = context.stanza().name.as_ref();
    default.is_some() && default.as_ref() == name.map(|name| &name.value)
}

#[cfg(test)]
mod tests {
    use crate::harness::{assert_findings, assert_findings_in};

    #[test]
    fn beside_an_order_that_uses_another() {
        assert_findings(
            r#"
solution saline "Saline"
  osmolarity 308 mOsm/L

solution glucose-5 "Glucose 5 %"
         ^^^^^^^^^ name.unused: Nothing uses the solution
  osmolarity 278 mOsm/L

order saline-litre "Saline"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
"#,
        );
    }

    #[test]
    fn an_order_in_another_file_uses_it() {
        assert_findings_in(
            &[(
                "b.gtt",
                "use \"page.gtt\"\n\norder b \"B\"\n  route peripheral vein\n  hang 1 L of glucose-5\n  run all over 8 h\n  then stop\n",
            )],
            r#"
solution glucose-5 "Glucose 5 %"
  osmolarity 278 mOsm/L

solution saline "Saline"
  osmolarity 308 mOsm/L

order a "A"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop
"#,
        );
    }
}
