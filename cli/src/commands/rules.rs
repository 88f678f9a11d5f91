//! `gutta rules`: all rules.

use std::borrow::Cow;
use std::fmt::Write;

use clap::ValueEnum;
use gutta_checks::{Rule, rules};
use gutta_notation::Style;
use serde::Serialize;

use crate::failure::{Failure, Outcome};
use crate::files;
use crate::out::Out;
use crate::prose::Prose;
use crate::terminal::{self, Colour};

/// List the rules
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The form of the list
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Clone, Copy, Debug, Default, ValueEnum)]
enum Format {
    /// For people
    #[default]
    Text,
    /// For programs
    Json,
}

#[derive(Serialize)]
struct Listed {
    rule: &'static str,
    family: &'static str,
    severity: &'static str,
    locked: bool,
    summary: Cow<'static, str>,
}

impl Listed {
    fn of(rule: &'static Rule, style: Style) -> Self {
        Self {
            rule: rule.name,
            family: rule.family(),
            severity: rule.severity.word(),
            locked: rule.locked,
            summary: rule.summary(style),
        }
    }
}

impl Args {
    pub(crate) fn run(self, colour: Colour) -> Result<Outcome, Failure> {
        let style = files::style_here();
        let rules = rules().iter();
        let listed: Vec<_> = rules.map(|rule| Listed::of(rule, style)).collect();
        match self.format {
            Format::Json => terminal::print(Out::json(&listed)?)?,
            Format::Text => terminal::print(Out::text(text(&listed, colour.on()), colour.on()))?,
        }
        Ok(Outcome::Clean)
    }
}

fn text(rules: &[Listed], colour: bool) -> String {
    let prose = Prose::new(colour, terminal::width());
    let mut out = String::new();
    let mut family = "";
    for rule in rules {
        if rule.family != family {
            if !family.is_empty() {
                out.push('\n');
            }
            family = rule.family;
        }
        let locked = if rule.locked { ", locked" } else { "" };
        let _ = writeln!(
            out,
            "{}  {}{locked}",
            prose.strong(rule.rule),
            prose.severity(rule.severity)
        );
        out.push_str(&prose.paragraph(&rule.summary, "    "));
    }
    let _ = write!(
        out,
        "\n{} rules. `gutta explain RULE` shows a rule's page; a locked one cannot be\n\
         waived or lowered.\n",
        rules.len()
    );
    out
}
