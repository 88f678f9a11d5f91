//! `gutta explain`: a rule's page.

use gutta_checks::{Rule, rules};
use gutta_protocol::nearest;

use crate::failure::{Failure, Outcome};
use crate::files;
use crate::out::Out;
use crate::prose::Prose;
use crate::terminal::{self, Colour};

/// Explain a rule: what it finds, why it matters, and what to write instead
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The rule, such as limit.unusual
    rule: String,
}

impl Args {
    pub(crate) fn run(self, colour: Colour) -> Result<Outcome, Failure> {
        let rule = find(&self.rule)?;
        let prose = Prose::new(colour.on(), terminal::width());
        terminal::print(Out::text(page(rule, prose), prose.coloured()))?;
        Ok(Outcome::Clean)
    }
}

/// The page, with the rule's severity beside its heading.
fn page(rule: &Rule, prose: Prose) -> String {
    let heading = format!("# {}\n", rule.name);
    let text = rule.page(files::style_here());
    let rest = text.strip_prefix(&heading).unwrap_or(&text);
    let locked = if rule.locked {
        ", locked: cannot be waived or lowered"
    } else {
        ""
    };
    let name = prose.strong(rule.name);
    let severity = prose.severity(rule.severity.word());
    format!("{name}  {severity}{locked}\n\n{}", prose.page(rest))
}

fn find(name: &str) -> Result<&'static Rule, Failure> {
    if let Some(rule) = rules().iter().find(|rule| rule.name == name) {
        return Ok(rule);
    }
    let near = nearest(name, rules().iter().map(|rule| rule.name));
    let hint = match near.as_slice() {
        [] => "`gutta rules` lists them".to_owned(),
        near => format!("did you mean {}?", near.join(" or ")),
    };
    Err(Failure::new(format!("there is no rule `{name}`; {hint}")))
}
