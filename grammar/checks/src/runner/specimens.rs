//! `expect finding RULE`: a specimen consumes what it was written to show.

use gutta_notation::{Fact, StanzaKind};

use crate::Finding;
use crate::context::StanzaContext;
use crate::outcome::Outcome;
use crate::registry::{rule, told};

/// Takes out what the specimen expects, and reports what did not come.
pub(super) fn apply(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    if context.stanza().kind != StanzaKind::Specimen {
        return;
    }
    let mut expected = Vec::new();
    let mut missing = Vec::new();
    for line in &context.stanza().lines {
        let Fact::ExpectFinding(name) = &line.fact else {
            continue;
        };
        // A rule that does not exist is `name.unknown`'s.
        let Some(rule) = rule(&name.value) else {
            continue;
        };
        if findings
            .iter()
            .any(|finding| finding.rule.name == rule.name)
        {
            expected.push(rule.name);
        } else {
            let found = findings.as_slice();
            missing.push(told(context, Outcome::NotFound { name, rule, found }));
        }
    }
    findings.retain(|finding| !expected.contains(&finding.rule.name));
    findings.extend(missing);
}
