//! What a feature looks at: one file, with all that it sees.

use gutta_checks::Checked;
use gutta_notation::{Line, Span, Stanza};
use gutta_protocol::model::Library;
use gutta_protocol::{FileId, SourceFile, StanzaId, Workspace};

use super::{Refused, Settings};

/// A file, in its repository.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Site<'a> {
    pub(crate) workspace: &'a Workspace,
    pub(crate) checked: &'a Checked,
    pub(crate) settings: &'a Settings,
    pub(crate) refused: &'a Refused,
    pub(crate) file: FileId,
}

impl<'a> Site<'a> {
    /// The file's text and stanzas.
    pub(crate) fn source(&self) -> &'a SourceFile {
        self.workspace.file(self.file)
    }

    /// Every reference stanza, judged.
    pub(crate) fn library(&self) -> &'a Library {
        self.checked.library()
    }

    /// The same for another file.
    pub(crate) fn of(self, file: FileId) -> Self {
        Self { file, ..self }
    }

    /// The stanza that holds the byte.
    pub(crate) fn stanza_at(&self, offset: u32) -> Option<StanzaId> {
        self.workspace.stanza_at(self.file, offset)
    }

    /// The stanzas that a stretch touches.
    pub(crate) fn stanzas_in(&self, span: Span) -> impl Iterator<Item = StanzaId> + use<> {
        let file = self.file;
        let index = |offset| self.stanza_at(offset).map_or(0, |id| id.index);
        let first = index(span.start);
        let count = u32::try_from(self.source().ast.stanzas.len()).unwrap_or(u32::MAX);
        let last = (index(span.end) + 1).min(count);
        (first..last).map(move |index| StanzaId { file, index })
    }

    /// The line that holds the byte (its ends among it), and its stanza.
    pub(crate) fn line_at(&self, offset: u32) -> Option<(StanzaId, &'a Stanza, &'a Line)> {
        let id = self.stanza_at(offset)?;
        let stanza = self.workspace.stanza(id);
        let own = offset - self.start_of(id);
        let line = stanza
            .lines
            .iter()
            .find(|line| (line.span.start..=line.span.end).contains(&own))?;
        Some((id, stanza, line))
    }

    /// Where the stanza starts in its file.
    pub(crate) fn start_of(&self, id: StanzaId) -> u32 {
        self.workspace.place(id, Span::new(0, 0)).span.start
    }
}
