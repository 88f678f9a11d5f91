//! What a rule is.

use crate::context::{MarkContext, OrderContext, StanzaContext};
use crate::{Finding, Severity};

/// A rule: its name, its page, and the function that looks.
#[derive(Debug)]
pub struct Rule {
    /// `family.name`.
    pub name: &'static str,
    /// Its usual severity.
    pub severity: Severity,
    /// Whether it can be neither waived, lowered nor put in a baseline.
    pub locked: bool,
    /// Its page, in Markdown.
    pub page: &'static str,
    /// What looks for it.
    pub check: Check,
}

/// What a rule looks at.
#[derive(Clone, Copy, Debug)]
pub enum Check {
    /// Each mark of reading that is this rule's.
    Mark(fn(&MarkContext<'_>) -> Option<Finding>),
    /// Each stanza, of whatever kind.
    Stanza(fn(&StanzaContext<'_>, &mut Vec<Finding>)),
    /// Each order and specimen, with all that is derived from it.
    Order(fn(&OrderContext<'_>, &mut Vec<Finding>)),
    /// Each stanza, of whatever kind, and each order with its analysis.
    StanzaAndOrder(
        fn(&StanzaContext<'_>, &mut Vec<Finding>),
        fn(&OrderContext<'_>, &mut Vec<Finding>),
    ),
    /// Each order and specimen, once all others have looked: it explains what
    /// they found, and searches for that.
    Search(fn(&OrderContext<'_>, &mut Vec<Finding>)),
    /// Reported by the runner itself, after all others (waivers, specimens, what
    /// was cut short).
    Last,
}

impl Rule {
    /// `text` of `text.trailing-zero`.
    #[must_use]
    pub fn family(&self) -> &'static str {
        self.name.split('.').next().unwrap_or(self.name)
    }

    /// The page's first sentence.
    #[must_use]
    pub fn summary(&self) -> &'static str {
        self.page
            .lines()
            .map(str::trim)
            .find(|line| !line.is_empty() && !line.starts_with('#'))
            .unwrap_or(self.name)
    }
}
