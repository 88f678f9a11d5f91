#![doc = include_str!("no_line.md")]

use super::together;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "set.no-line",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("no_line.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let Some(set) = together(context) else { return };
    let lines = &set.set.lines;
    if lines.is_empty() || !context.stanza().is_whole() {
        return;
    }
    for member in &set.members {
        let mut named = lines.iter().flat_map(|(_, names)| names);
        if named.any(|name| name.value == member.name.value) {
            continue;
        }
        let message = format!(
            "The set does not state the line of `{}`, so its compatibility with the other orders was not checked.",
            member.name.value
        );
        findings.push(
            context
                .finding(&RULE, member.name.span, message)
                .note("Name it in a `line`."),
        );
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_member_that_no_line_names() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-bag "Sodium chloride 0.9 %"
  route      peripheral vein
  hang       1 L of saline
  run        all over 8 h
  then       stop

order glucose-bag "Glucose 5 %"
  route      peripheral vein
  hang       1 L of glucose-5
  run        all over 8 h
  then       stop

set with-lines "With lines"
  include    saline-bag, glucose-bag
                         ^^^^^^^^^^^ set.no-line: The set does not state the line of `glucose-bag`, so its compatibility with the other orders was not checked.
  line       one: saline-bag

set without-lines "Without lines"
  include    saline-bag, glucose-bag
"#,
        );
    }
}
