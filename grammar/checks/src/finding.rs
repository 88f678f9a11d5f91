//! What a rule is, and what it reports. The terminal, the editor and every
//! export show the same findings.

use std::borrow::Cow;

use gutta_notation::ast::LimitMeasure;
use gutta_notation::{Span, Style, in_style, visible};
use gutta_protocol::{FileId, Place, Severity, StanzaId, Workspace};
use gutta_quantity::{Printed, Quantity, work};

use crate::context::{MarkContext, OrderContext, StanzaContext};

/// What it takes to make a finding, in units of work: its words are looked
/// through for what hides in them.
const UNITS: usize = 8;

/// A rule: its name, its page, and the function that looks.
#[derive(Debug)]
pub struct Rule {
    /// `family.name`.
    pub name: &'static str,
    /// Its usual severity.
    pub severity: Severity,
    /// Whether it can be neither waived, lowered nor put in a baseline.
    pub locked: bool,
    /// Its page, in Markdown, as the notation itself writes.
    pub(crate) page: &'static str,
    /// What looks for it.
    pub check: Check,
}

/// What a rule looks at.
#[derive(Clone, Copy, Debug)]
pub enum Check {
    /// Each mark of reading that is this rule's.
    Mark(fn(&MarkContext<'_>) -> Option<Finding>),
    /// Each mark that is this rule's, and each file.
    MarkAndFile(
        fn(&MarkContext<'_>) -> Option<Finding>,
        fn(&Workspace, FileId) -> Vec<Finding>,
    ),
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
    /// they found, and searches for that. All rules go along, to be held against
    /// the order as it might be.
    Search(fn(&OrderContext<'_>, &'static [&'static Rule], &mut Vec<Finding>)),
    /// Nothing: it tells what the run itself comes to, after all others
    /// (waivers, specimens, what was cut short).
    Last,
}

impl Rule {
    /// `text` of `text.trailing-zero`.
    #[must_use]
    pub fn family(&self) -> &'static str {
        self.name.split('.').next().unwrap_or(self.name)
    }

    /// Its page, in Markdown, as a house writes.
    #[must_use]
    pub fn page(&self, style: Style) -> Cow<'static, str> {
        in_style(self.page, style)
    }

    /// The page's first sentence, as a house writes.
    #[must_use]
    pub fn summary(&self, style: Style) -> Cow<'static, str> {
        in_style(self.sentence(), style)
    }

    pub(crate) fn sentence(&self) -> &'static str {
        self.page
            .lines()
            .map(str::trim)
            .find(|line| !line.is_empty() && !line.starts_with('#'))
            .unwrap_or(self.name)
    }
}

/// One finding.
#[derive(Clone, Debug)]
pub struct Finding {
    /// The rule that found it.
    pub rule: &'static Rule,
    /// Its severity here.
    pub severity: Severity,
    /// Whether it can be neither waived, lowered nor put in a baseline: all
    /// findings of a locked rule, and single ones of others (what is above an
    /// area's ceiling).
    pub locked: bool,
    /// What is wrong with the numbers of this order, for which weights, what
    /// the bound is, in one or two sentences.
    pub message: String,
    /// Where it stands.
    pub place: Place,
    /// The stanza it belongs to, if any.
    pub stanza: Option<StanzaId>,
    /// Other places that matter, each with what stands there.
    pub related: Vec<Related>,
    /// What to do, and what else helps; each a sentence.
    pub notes: Vec<String>,
    /// Corrections on offer.
    pub fixes: Vec<Fix>,
    /// How far a measure lies outside its bounds, where that was measured; a
    /// waiver with a bound is held against it.
    pub extent: Option<Box<Excess>>,
    /// Which of its stanza's stories it tells: findings of one number have one
    /// cause. None: it stands alone.
    pub(crate) story: Option<u32>,
}

/// What tells a finding from the others of its stanza, whatever its numbers are:
/// its rule, all places that it is about, and on which side of its bounds a measure
/// lies, low and high.
pub(crate) type Key = (&'static str, Place, Vec<Place>, Option<(bool, bool)>);

/// How far a measure lies outside its bounds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Excess {
    /// What was measured.
    pub measure: LimitMeasure,
    /// The lowest value below the lower bound.
    pub low: Option<Quantity>,
    /// The highest value above the upper bound.
    pub high: Option<Quantity>,
}

impl Excess {
    /// On which sides it lies outside: below, above.
    pub(crate) const fn side(&self) -> (bool, bool) {
        (self.low.is_some(), self.high.is_some())
    }
}

/// Another place that matters to a finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Related {
    /// Where.
    pub place: Place,
    /// What stands there.
    pub message: String,
}

/// A correction on offer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fix {
    /// What it does, in a few words (`write 5 mg`).
    pub title: String,
    /// What it replaces; all or none.
    pub edits: Vec<TextEdit>,
    /// Whether it changes spelling only, so that `gutta check --fix` may
    /// apply it unasked.
    pub spelling: bool,
    /// What it changes in what the patient gets, where it does and that was
    /// reckoned: to be shown before it is applied.
    pub doses: Option<DoseChange>,
}

/// A dose (or flow, strength, total …) before and after a correction.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DoseChange {
    /// What is measured, as `the dose in phase first`.
    pub measure: String,
    /// For which patient, where one is told from another: `70 kg`.
    pub patient: Option<String>,
    /// As the order stands.
    pub old: Printed,
    /// With the correction.
    pub new: Printed,
}

impl std::fmt::Display for DoseChange {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {} becomes {}", self.measure, self.old, self.new)?;
        match &self.patient {
            Some(patient) => write!(f, " at {patient}"),
            None => Ok(()),
        }
    }
}

/// A replacement in a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TextEdit {
    /// What is replaced.
    pub place: Place,
    /// What stands there instead.
    pub text: String,
}

/// What is said, with whatever an author hid in it made visible: no face need
/// think of it.
fn seen(said: impl Into<String>) -> String {
    let said = said.into();
    match visible(&said) {
        Cow::Borrowed(_) => said,
        Cow::Owned(shown) => shown,
    }
}

impl Finding {
    pub(crate) fn key(&self) -> Key {
        let related = self.related.iter().map(|related| related.place);
        let side = self.extent.as_ref().map(|extent| extent.side());
        (self.rule.name, self.place, related.collect(), side)
    }

    /// The same, where the workspace's files bear other ids now: of each, by its
    /// old one.
    #[must_use]
    pub fn with_files(mut self, ids: &[FileId]) -> Self {
        let file = |old: &mut FileId| {
            if let Some(new) = ids.get(old.0 as usize) {
                *old = *new;
            }
        };
        file(&mut self.place.file);
        if let Some(stanza) = &mut self.stanza {
            file(&mut stanza.file);
        }
        for related in &mut self.related {
            file(&mut related.place.file);
        }
        for edit in self.fixes.iter_mut().flat_map(|fix| &mut fix.edits) {
            file(&mut edit.place.file);
        }
        self
    }

    /// A finding of `rule` at a span of the stanza, with the rule's usual
    /// severity.
    #[must_use]
    pub fn new(
        rule: &'static Rule,
        workspace: &Workspace,
        stanza: StanzaId,
        span: Span,
        message: impl Into<String>,
    ) -> Self {
        Self {
            stanza: Some(stanza),
            ..Self::of_file(rule, workspace.place(stanza, span), message)
        }
    }

    /// A finding about a file, in no stanza.
    #[must_use]
    pub fn of_file(rule: &'static Rule, place: Place, message: impl Into<String>) -> Self {
        work::charge_each(UNITS);
        Self {
            rule,
            severity: rule.severity,
            locked: rule.locked,
            message: seen(message),
            place,
            stanza: None,
            related: Vec::new(),
            notes: Vec::new(),
            fixes: Vec::new(),
            extent: None,
            story: None,
        }
    }

    /// With this severity instead of the rule's usual one.
    #[must_use]
    pub const fn severity(mut self, severity: Severity) -> Self {
        self.severity = severity;
        self
    }

    /// Neither to be waived nor lowered, although the rule is not locked.
    #[must_use]
    pub const fn locked(mut self) -> Self {
        self.locked = true;
        self
    }

    /// With one more sentence on what to do.
    #[must_use]
    pub fn note(mut self, note: impl Into<String>) -> Self {
        // Mostly the only one.
        self.notes.reserve_exact(1);
        self.notes.push(seen(note));
        self
    }

    /// With another place that matters.
    #[must_use]
    pub fn related(mut self, place: Place, message: impl Into<String>) -> Self {
        self.related.push(Related {
            place,
            message: seen(message),
        });
        self
    }

    /// With one more correction on offer.
    #[must_use]
    pub fn fix(mut self, fix: Fix) -> Self {
        self.fixes.push(fix);
        self
    }

    /// With the measure that a waiver's bound is held against.
    #[must_use]
    pub fn extent(mut self, extent: Excess) -> Self {
        self.extent = Some(Box::new(extent));
        self
    }
}

impl Fix {
    /// One replacement, for the editor alone; its title is made from the new
    /// text.
    #[must_use]
    pub fn replace(place: Place, text: impl Into<String>) -> Self {
        let text = text.into();
        let shown = text.trim();
        let title = if shown.is_empty() && text.is_empty() {
            "remove it".to_owned()
        } else if shown.is_empty() {
            "put a space in between".to_owned()
        } else if place.span.start == place.span.end {
            format!("insert `{shown}`")
        } else {
            format!("write `{shown}`")
        };
        Self {
            title: seen(title),
            edits: vec![TextEdit { place, text }],
            spelling: false,
            doses: None,
        }
    }

    /// With this title.
    #[must_use]
    pub fn titled(mut self, title: impl Into<String>) -> Self {
        self.title = seen(title);
        self
    }

    /// As a change of spelling only.
    #[must_use]
    pub const fn spelling(mut self) -> Self {
        self.spelling = true;
        self
    }
}
