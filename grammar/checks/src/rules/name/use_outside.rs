#![doc = include_str!("use_outside.md")]

use gutta_protocol::{Use, UseFault, nearest};

use crate::words::{any_of, quoted};
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "name.use-outside",
    severity: Severity::Error,
    locked: false,
    page: include_str!("use_outside.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let uses = context.workspace.uses(context.stanza.file);
    // In the order of the text, so that the stanza's own is found by search.
    let own = uses.binary_search_by_key(&context.stanza.index, |used| used.stanza);
    if let Ok(index) = own
        && let Err(fault) = &uses[index].target
    {
        findings.push(report(context, &uses[index], fault));
    }
}

fn report(context: &StanzaContext<'_>, used: &Use, fault: &UseFault) -> Finding {
    let path = &used.path;
    let message = match fault {
        UseFault::Malformed => format!("`{path}` is not a path that `use` accepts."),
        UseFault::Outside => format!("`{path}` leads out of the workspace."),
        UseFault::Missing { path } => format!("There is no file `{path}` in the workspace."),
        UseFault::NotRead(_) => format!("`{path}` is not a text file that can be read."),
    };
    let mut finding = context.finding(&RULE, used.span, message);
    if let UseFault::Missing { path } = fault {
        let paths = context
            .workspace
            .files
            .iter()
            .map(|file| file.path.as_str());
        let near = nearest(path, paths);
        if !near.is_empty() {
            finding = finding.note(format!("Was {} meant?", any_of(&quoted(&near))));
        }
    }
    finding.note(match fault {
        UseFault::Malformed => {
            "Write it relative to this file, with forward slashes: `use \"../reference/drugs.gtt\"`."
        }
        UseFault::Outside => {
            "A file outside is not checked with the rest and can change unnoticed. Move it into the workspace."
        }
        UseFault::Missing { .. } | UseFault::NotRead(_) => {
            "None of its names is known here, and none of its limits applies. Correct the path, or the file."
        }
    })
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn out_of_the_workspace_or_nowhere() {
        assert_findings(
            r#"
use "../pharmacy.gtt"
    ^^^^^^^^^^^^^^^^^ name.use-outside: leads out

use "tarnwik.gtt"
    ^^^^^^^^^^^^^ name.use-outside: Was `tarnwick.gtt` meant?

use "/tarnwick.gtt"
    ^^^^^^^^^^^^^^^ name.use-outside: not a path
"#,
        );
    }
}
