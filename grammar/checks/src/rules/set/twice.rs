#![doc = include_str!("twice.md")]

use gutta_protocol::sets::Member;
use rustc_hash::FxHashMap;

use super::together;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "set.twice",
    severity: Severity::Error,
    locked: false,
    page: include_str!("twice.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let Some(set) = together(context) else { return };
    let (mut orders, mut drugs) = (FxHashMap::default(), FxHashMap::default());
    for (place, member) in set.members.iter().enumerate() {
        // The first that is the same, or gives the same.
        let order = *orders.entry(member.order.id).or_insert(place);
        let drug = member.order.drug.as_ref();
        let drug = drug.map_or(place, |drug| *drugs.entry(drug.id).or_insert(place));
        let first = set
            .members
            .get(order.min(drug))
            .filter(|_| order.min(drug) < place);
        if let Some((first, message)) = first.and_then(|first| same(first, member)) {
            let label = format!("`{}` gives it too", first.name.value);
            findings.push(
                context
                    .finding(&RULE, member.name.span, message)
                    .related(context.place(first.name.span), label)
                    .note(
                        "Remove one of the two. Each was checked against the drug's limits separately, not both together.",
                    ),
            );
        }
    }
}

/// What two orders have in common that nobody gets twice.
fn same<'a>(first: &'a Member, second: &Member) -> Option<(&'a Member, String)> {
    let name = &second.name.value;
    if first.order.id == second.order.id {
        return Some((first, format!("The set includes `{name}` twice.")));
    }
    let (one, other) = (first.order.drug.as_ref()?, second.order.drug.as_ref()?);
    (one.id == other.id).then(|| {
        let drug = &other.value.name;
        let message = format!(
            "`{name}` gives {drug}, and so does `{}`: a patient on this set gets it twice.",
            first.name.value
        );
        (first, message)
    })
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn under_another_name_and_the_same_order_again() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug paracetamol "Paracetamol"
  also       acetaminophen
  supplied   1 g in 100 mL

order paracetamol-regular "Paracetamol, regular"
  drug       paracetamol
  route      central vein
  undiluted  100 mL
  run        all over 15 min every 6 h

order acetaminophen-fever "Paracetamol, for fever"
  drug       acetaminophen
  route      central vein
  undiluted  100 mL
  run        all over 15 min every 8 h

order saline-bag "Sodium chloride 0.9 %"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop

set after-surgery "After surgery"
  include    paracetamol-regular, saline-bag
  include    acetaminophen-fever, saline-bag
             ^^^^^^^^^^^^^^^^^^^ set.twice: `acetaminophen-fever` gives paracetamol, and so does `paracetamol-regular`
                                  ^^^^^^^^^^ set.twice: The set includes `saline-bag` twice.
"#,
        );
    }
}
