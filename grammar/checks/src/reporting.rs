//! How a rule reports from what it is given to look at.

use gutta_notation::{Edit, Span};

use crate::{Finding, Fix, MarkContext, OrderContext, Rule, StanzaContext};

macro_rules! from {
    ($($context:ident),*) => {$(
        impl $context<'_> {
            /// A finding at a span of the stanza.
            #[must_use]
            pub fn finding(
                &self,
                rule: &'static Rule,
                span: Span,
                message: impl Into<String>,
            ) -> Finding {
                Finding::new(rule, self.workspace, self.stanza, span, message)
            }

            /// A correction of one span, for the editor alone.
            #[must_use]
            pub fn replace(&self, span: Span, text: impl Into<String>) -> Fix {
                Fix::replace(self.place(span), text)
            }
        }
    )*};
}
from!(MarkContext, StanzaContext, OrderContext);

impl MarkContext<'_> {
    /// A finding at the mark, with its corrections on offer in the editor.
    #[must_use]
    pub fn report(&self, rule: &'static Rule, message: impl Into<String>) -> Finding {
        let mut finding = self.finding(rule, self.mark.span, message);
        finding.fixes = self.mark.fixes.iter().map(|edit| self.fix(edit)).collect();
        finding
    }

    /// A finding at the mark whose correction changes spelling only. Where the
    /// author must choose between several, none is applied unasked.
    #[must_use]
    pub(crate) fn report_spelling(
        &self,
        rule: &'static Rule,
        message: impl Into<String>,
    ) -> Finding {
        let mut finding = self.report(rule, message);
        if let [only] = finding.fixes.as_mut_slice() {
            only.spelling = true;
        }
        finding
    }

    fn fix(&self, edit: &Edit) -> Fix {
        self.replace(edit.span, edit.text.clone())
    }
}
