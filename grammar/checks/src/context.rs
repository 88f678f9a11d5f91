//! What a rule is given to look at.

use std::cell::OnceCell;

use gutta_notation::{Edit, Mark, Span, Stanza};
use gutta_protocol::limits::{Judgement, Limiting, OfSubstance, Unanswered, of_substances};
use gutta_protocol::model::Library;
use gutta_protocol::{Analysis, Place, StanzaId, Workspace, trace};

use crate::finding::Key;
use crate::rules::flow::{Flow, flows};
use crate::rules::limit::slip::{Explained, explained};
use crate::{Check, Finding, Fix, Options, Rule, Severity, rules};

/// A mark and the stanza that holds it.
#[derive(Clone, Copy, Debug)]
pub struct MarkContext<'a> {
    /// All files.
    pub workspace: &'a Workspace,
    /// The stanza.
    pub stanza: StanzaId,
    /// The mark.
    pub mark: &'a Mark,
}

/// A stanza to look at.
#[derive(Clone, Copy, Debug)]
pub struct StanzaContext<'a> {
    /// All files.
    pub workspace: &'a Workspace,
    /// Every reference stanza, judged.
    pub library: &'a Library,
    /// The stanza.
    pub stanza: StanzaId,
    /// What was asked.
    pub options: &'a Options,
}

/// An order to look at, with what is derived from it.
#[derive(Clone, Copy, Debug)]
pub struct OrderContext<'a> {
    /// All files.
    pub workspace: &'a Workspace,
    /// Every reference stanza, judged.
    pub library: &'a Library,
    /// The order's stanza.
    pub stanza: StanzaId,
    /// What was asked.
    pub options: &'a Options,
    /// What the order says, and what follows from it.
    pub analysis: &'a Analysis,
    /// Its flows, found when a rule first asks for them.
    pub(crate) flows: &'a OnceCell<Vec<Flow>>,
    /// The substances that it brings, judged when they are first asked for.
    pub(crate) substances: &'a OnceCell<Vec<OfSubstance>>,
    /// The slips that explain its breaches, found when they are first asked for.
    pub(crate) slips: &'a OnceCell<Vec<Explained>>,
}

macro_rules! in_a_stanza {
    ($($context:ident),*) => {$(
        impl<'a> $context<'a> {
            /// The stanza as it was read.
            #[must_use]
            pub fn stanza(&self) -> &'a Stanza {
                self.workspace.stanza(self.stanza)
            }

            /// Where in its file a span of the stanza stands.
            #[must_use]
            pub fn place(&self, span: Span) -> Place {
                self.workspace.place(self.stanza, span)
            }

            /// The text at a span of the stanza.
            #[must_use]
            pub fn text(&self, span: Span) -> &'a str {
                self.workspace.text_at(self.place(span))
            }

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
in_a_stanza!(MarkContext, StanzaContext, OrderContext);

impl<'a> OrderContext<'a> {
    /// Every flow of the order, over all views; none where it is incomplete.
    pub(crate) fn flows(&self) -> &'a [Flow] {
        let analysis = self.analysis;
        self.flows.get_or_init(|| match &analysis.values {
            Ok(values) => flows(&analysis.order, values),
            Err(_) => Vec::new(),
        })
    }

    /// The substances that the order brings, each judged by what limits it;
    /// none where the order is incomplete.
    pub(crate) fn substances(&self) -> &'a [OfSubstance] {
        let analysis = self.analysis;
        let (workspace, library) = (self.workspace, self.library);
        self.substances.get_or_init(|| match &analysis.values {
            Ok(values) => of_substances(workspace, library, &analysis.order, values),
            Err(_) => Vec::new(),
        })
    }

    /// What its drug's limits say of the order, then what those of each
    /// `ingredient` say that it brings.
    pub(crate) fn judgements(&self) -> impl Iterator<Item = &'a Judgement> + use<'a> {
        let of_drug = std::iter::once(self.analysis.judgement());
        let of_ingredient = |of: &'a OfSubstance| match of.by {
            Limiting::Ingredient(_) => Some(&of.judgement),
            Limiting::Drug(_) => None,
        };
        of_drug.chain(self.substances().iter().filter_map(of_ingredient))
    }

    /// Limits whose conditions ask what the order does not say.
    pub(crate) fn unanswered(&self) -> Vec<&'a Unanswered> {
        self.judgements().flat_map(|of| &of.unanswered).collect()
    }

    /// The slips that explain the order's breaches. A search.
    pub(crate) fn slips(&self) -> &'a [Explained] {
        self.slips.get_or_init(|| explained(self))
    }

    /// What these rules say of the order as it might be.
    pub(crate) fn as_if(
        &self,
        analysis: &Analysis,
        rules: impl IntoIterator<Item = &'static Rule>,
    ) -> Vec<Finding> {
        let other = OrderContext {
            analysis,
            flows: &OnceCell::new(),
            substances: &OnceCell::new(),
            slips: &OnceCell::new(),
            ..*self
        };
        let mut findings = Vec::new();
        for rule in rules {
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
        let rules = rules().iter().copied();
        let found = self.as_if(analysis, rules.filter(|rule| rule.family() != "expect"));
        let mut loud = found
            .iter()
            .filter(|finding| finding.severity >= Severity::Warning);
        loud.any(|finding| !known.contains(&finding.key()))
    }

    /// The line of a span in its file, from 1.
    #[must_use]
    pub fn line_number(&self, span: Span) -> usize {
        trace::note_line();
        self.workspace.line_number(self.stanza, span)
    }
}

impl<'a> MarkContext<'a> {
    /// The text that was marked.
    #[must_use]
    pub fn marked(&self) -> &'a str {
        self.text(self.mark.span)
    }

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
    pub fn report_spelling(&self, rule: &'static Rule, message: impl Into<String>) -> Finding {
        let mut finding = self.report(rule, message);
        if let [only] = finding.fixes.as_mut_slice() {
            only.spelling = true;
        }
        finding
    }

    fn fix(&self, edit: &Edit) -> Fix {
        self.replace(edit.span, edit.text.clone())
    }

    /// The keyword of the line on which the mark stands, or nothing in a
    /// header.
    #[must_use]
    pub fn keyword(&self) -> Option<&'a str> {
        let start = self.mark.span.start;
        let lines = &self.stanza().lines;
        let at = lines.partition_point(|line| line.span.end < start);
        let line = lines.get(at).filter(|line| line.span.start <= start)?;
        Some(self.text(line.keyword))
    }
}
