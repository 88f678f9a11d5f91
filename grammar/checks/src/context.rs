//! What a rule is given to look at.

use std::cell::OnceCell;
use std::rc::Rc;

use gutta_notation::{Line, Mark, Span, Stanza, Style};
use gutta_protocol::limits::{Judgement, Limiting, OfSubstance, Unanswered, of_substances};
use gutta_protocol::model::Library;
use gutta_protocol::{Analysis, Place, StanzaId, Workspace, trace};

use crate::flows::{Flow, flows};
use crate::options::Options;

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
    /// The names of all rules.
    pub rules: &'a [&'static str],
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
    /// What the search for slips made of it, once that has been.
    pub(crate) mended: &'a OnceCell<Vec<Mended>>,
}

/// An order as it would be without a slip that is likely.
#[derive(Clone, Debug)]
pub(crate) struct Mended {
    /// The line whose breach the slip explains.
    pub(crate) line: Span,
    /// The order so corrected.
    pub(crate) right: Rc<Analysis>,
}

macro_rules! in_a_stanza {
    ($($context:ident),*) => {$(
        impl<'a> $context<'a> {
            /// The stanza as it was read.
            #[must_use]
            pub fn stanza(&self) -> &'a Stanza {
                self.workspace.stanza(self.stanza)
            }

            /// How the house of the stanza's file writes.
            #[must_use]
            pub fn style(&self) -> Style {
                self.workspace.house.style
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

    /// The line on which the mark stands; `None` in a header.
    #[must_use]
    pub fn line(&self) -> Option<&'a Line> {
        let start = self.mark.span.start;
        let lines = &self.stanza().lines;
        let at = lines.partition_point(|line| line.span.end < start);
        lines.get(at).filter(|line| line.span.start <= start)
    }

    /// The keyword of that line.
    #[must_use]
    pub fn keyword(&self) -> Option<&'a str> {
        Some(self.text(self.line()?.keyword))
    }
}
