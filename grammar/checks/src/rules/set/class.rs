#![doc = include_str!("class.md")]

use gutta_protocol::sets::Member;
use smol_str::SmolStr;

use super::together;
use crate::words::all_of;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "set.class",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("class.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let Some(set) = together(context) else { return };
    for (place, member) in set.members.iter().enumerate() {
        let before = set.members.iter().take(place);
        let found = before.filter_map(|first| Some((first, shared(first, member)?)));
        let Some((first, classes)) = found.into_iter().next() else {
            continue;
        };
        let (Some(one), Some(other)) = (&first.order.drug, &member.order.drug) else {
            continue;
        };
        let classes: Vec<_> = classes.iter().map(|class| format!("`{class}`")).collect();
        let message = format!(
            "{} and {} are both in the class {}: a patient on this set gets both.",
            other.value.name,
            one.value.name,
            all_of(&classes)
        );
        let label = format!("`{}` gives {}", first.name.value, one.value.name);
        findings.push(
            context
                .finding(&RULE, member.name.span, message)
                .related(context.place(first.name.span), label)
                .note("Each was checked against its own limits only. Remove one of the two, or waive this here with the reason."),
        );
    }
}

/// The classes that two orders' drugs share; the same drug twice is another
/// finding.
fn shared(first: &Member, second: &Member) -> Option<Vec<SmolStr>> {
    let (one, other) = (first.order.drug.as_ref()?, second.order.drug.as_ref()?);
    if one.id == other.id {
        return None;
    }
    let classes = other.value.classes.iter();
    let classes = classes.filter(|class| one.value.classes.contains(class));
    let classes: Vec<_> = classes.cloned().collect();
    (!classes.is_empty()).then_some(classes)
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    const ORDERS: &str = r#"
use "tarnwick.gtt"

drug heparin-unfractionated "Heparin"
  class      anticoagulant, antithrombotic
  supplied   20,000 units in 20 mL
  with       saline

drug argatroban "Argatroban"
  class      anticoagulant
  class      thrombin-inhibitor
  supplied   250 mg in 2.5 mL
  with       saline
  not with   thrombolytic

drug alteplase "Alteplase"
  class      thrombolytic
  supplied   50 mg in 50 mL
  with       saline

order heparin-steady "Heparin"
  drug       heparin-unfractionated
  route      central vein
  mix        20,000 units made up to 50 mL with saline
  run        all at 1,000 units/h
  then       renew

order argatroban-steady "Argatroban"
  drug       argatroban
  route      central vein
  mix        50 mg made up to 50 mL with saline
  run        all at 5 mg/h
  then       renew

order alteplase-steady "Alteplase"
  drug       alteplase
  route      central vein
  mix        50 mg made up to 100 mL with saline
  run        all over 2 h
  then       stop
"#;

    fn with(set: &str) -> String {
        format!("{ORDERS}{set}")
    }

    #[test]
    fn two_of_a_class() {
        assert_findings(&with(
            r#"
set clot "Two anticoagulants"
  include    heparin-steady, argatroban-steady, alteplase-steady
                             ^^^^^^^^^^^^^^^^^ set.class: argatroban and heparin-unfractionated are both in the class `anticoagulant`: a patient on this set gets both.
"#,
        ));
    }

    #[test]
    fn a_waiver_with_its_reason() {
        assert_findings(&with(
            r#"
set bridging "From the one to the other"
  include    heparin-steady, argatroban-steady
  waive      set.class because "changed over on the first day, decided by haematology"
"#,
        ));
    }

    #[test]
    fn a_class_that_a_drug_must_not_meet() {
        assert_findings(&with(
            r#"
set lysis "One line"
  include    argatroban-steady, alteplase-steady
  line       one: argatroban-steady, alteplase-steady
                                     ^^^^^^^^^^^^^^^^ set.meet: argatroban and alteplase are not compatible
"#,
        ));
    }
}
