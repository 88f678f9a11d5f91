//! What a rule reports. The terminal, the editor and every export show the
//! same findings.

use gutta_protocol::{Place, StanzaId};

use crate::Rule;

/// How serious a finding is: the language server's own scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Severity {
    /// Worth a thought while writing.
    Hint,
    /// Worth knowing.
    Information,
    /// Likely wrong.
    Warning,
    /// Wrong, or not to be released as it stands.
    Error,
}

impl Severity {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hint => "hint",
            Self::Information => "information",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }
}

/// One finding.
#[derive(Clone, Debug)]
pub struct Finding {
    /// The rule that found it.
    pub rule: &'static Rule,
    /// Its severity here.
    pub severity: Severity,
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
}

/// A replacement in a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TextEdit {
    /// What is replaced.
    pub place: Place,
    /// What stands there instead.
    pub text: String,
}
