//! An order as it might be, held against the rules.

use std::cell::OnceCell;

use gutta_protocol::Analysis;

use crate::finding::Key;
use crate::{Check, Finding, OrderContext, Rule, Severity};

/// An order that is looked at as it might be, with the rules that may say what
/// is then wrong with it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct AsIf<'a> {
    /// The order as it is.
    pub(crate) context: &'a OrderContext<'a>,
    /// All rules.
    pub(crate) rules: &'static [&'static Rule],
}

impl AsIf<'_> {
    /// What the rules that `pick` picks say of the order as it might be.
    pub(crate) fn found(&self, analysis: &Analysis, pick: impl Fn(&Rule) -> bool) -> Vec<Finding> {
        let other = OrderContext {
            analysis,
            flows: &OnceCell::new(),
            substances: &OnceCell::new(),
            mended: &OnceCell::new(),
            ..*self.context
        };
        let mut findings = Vec::new();
        for rule in self.rules.iter().filter(|rule| pick(rule)) {
            if let Check::Order(check) | Check::StanzaAndOrder(_, check) = rule.check {
                check(&other, &mut findings);
            }
        }
        findings
    }

    /// Whether something is wrong with the order as it might be that is not
    /// among `known`. A worked example may have been made of a wrong number: that
    /// it holds no more says nothing.
    pub(crate) fn brings(&self, analysis: &Analysis, known: &[Key]) -> bool {
        let found = self.found(analysis, |rule| rule.family() != "expect");
        let mut loud = found
            .iter()
            .filter(|finding| finding.severity >= Severity::Warning);
        loud.any(|finding| !known.contains(&finding.key()))
    }
}
