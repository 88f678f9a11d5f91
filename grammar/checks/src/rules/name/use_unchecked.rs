#![doc = include_str!("use_unchecked.md")]

use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "name.use-unchecked",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("use_unchecked.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let workspace = context.workspace;
    let uses = workspace.uses(context.stanza.file);
    // In the order of the text, so that the stanza's own is found by search.
    let own = uses.binary_search_by_key(&context.stanza.index, |used| used.stanza);
    let Some(used) = own.ok().and_then(|index| uses.get(index)) else {
        return;
    };
    let Ok(target) = used.target else { return };
    if let Some(why) = &workspace.file(target).unjudged {
        let path = &used.path;
        let message = format!("`{path}` is used here, but is not checked itself: {why}.");
        findings.push(context.finding(&RULE, used.span, message).note(
            "Mistakes in it are not reported anywhere. Have it checked with the rest, or use a file that is.",
        ));
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_file_that_nobody_checks() {
        assert_findings(
            r#"
use "unchecked.gtt"
    ^^^^^^^^^^^^^^^ name.use-unchecked: not checked itself: excluded by gutta.toml.

use "tarnwick.gtt"
"#,
        );
    }
}
