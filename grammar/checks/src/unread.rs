//! What may be an order and could not be read as one.

use gutta_notation::{MarkKind, StanzaKind, Why};
use gutta_protocol::{FileFault, FileId, StanzaId, Workspace};

/// A file or a place of which nobody can say whether an order is in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unread {
    /// The whole file.
    File(FileId),
    /// What stands in the place of a stanza, or is swallowed by one.
    Stanza(StanzaId, usize),
}

impl Unread {
    /// What and where, in words; `shown` writes a path from the root.
    #[must_use]
    pub fn told(&self, workspace: &Workspace, shown: impl Fn(&str) -> String) -> String {
        match self {
            Self::File(file) => {
                let file = workspace.file(*file);
                let path = shown(&file.path);
                let why = file.faults.iter().find_map(|fault| match fault {
                    FileFault::Unreadable { why } => Some(why.as_str()),
                    _ => None,
                });
                match why {
                    Some(why) => format!("{path} could not be read: {why}"),
                    None => format!("{path} is not a text file, or is too large"),
                }
            }
            Self::Stanza(id, line) => {
                let path = shown(&workspace.file(id.file).path);
                format!("no stanza could be read at {path}:{line}")
            }
        }
    }
}

/// All of it in these files, in their order. An order that was read in part is
/// none of it: it has a name, and says itself what it lacks.
#[must_use]
pub fn unread(workspace: &Workspace, files: &[FileId]) -> Vec<Unread> {
    let mut all = Vec::new();
    for &file in files {
        if !workspace.file(file).is_read() {
            all.push(Unread::File(file));
            continue;
        }
        let places = workspace
            .stanzas_in(file)
            .filter_map(|id| place(workspace, id));
        all.extend(places);
    }
    all
}

fn place(workspace: &Workspace, id: StanzaId) -> Option<Unread> {
    let stanza = workspace.stanza(id);
    let at = |span| Some(Unread::Stanza(id, workspace.line_number(id, span)));
    let header = match stanza.kind {
        StanzaKind::Unknown => true,
        StanzaKind::Preamble => !stanza.lines.is_empty(),
        StanzaKind::Use => false,
        _ => stanza.name.is_none(),
    };
    if header {
        return at(stanza.header);
    }
    // A header that is indented counts as a line of the stanza above.
    let swallowed = stanza.marks.iter().find(|mark| match &mark.kind {
        MarkKind::Unreadable(unreadable) => matches!(
            unreadable.why,
            Some(Why::IndentedStanza | Why::TooLong | Why::NotText)
        ),
        _ => false,
    });
    swallowed.and_then(|mark| at(mark.span))
}

#[cfg(test)]
mod tests {
    use gutta_protocol::{Content, House, Workspace};

    use super::unread;

    fn told(content: impl Into<Content>) -> Vec<String> {
        let workspace = Workspace::new(vec![("a.gtt", content)], House::default());
        let files: Vec<_> = workspace.file_ids().collect();
        let found = unread(&workspace, &files);
        found
            .iter()
            .map(|one| one.told(&workspace, str::to_owned))
            .collect()
    }

    #[test]
    fn what_may_have_been_an_order_is_told() {
        let line = |line| [format!("no stanza could be read at a.gtt:{line}")];
        assert_eq!(told("ordr a \"A\"\n  route central vein\n"), line(1));
        assert_eq!(
            told("solution water \"S\"\n\norder\n  then stop\n"),
            line(3)
        );
        assert_eq!(told("  then stop\n"), line(1));
        assert_eq!(
            told("solution water \"S\"\n  osmolarity 277 mOsm/L\n  order a \"A\"\n"),
            line(3)
        );
        assert_eq!(
            told(b"\0".to_vec()),
            ["a.gtt is not a text file, or is too large"]
        );
        let why = Content::Unreadable("the permission is missing".to_owned());
        assert_eq!(
            told(why),
            ["a.gtt could not be read: the permission is missing"]
        );
    }

    #[test]
    fn what_was_read_in_part_tells_of_itself() {
        let none: [&str; 0] = [];
        assert_eq!(
            told("# A comment.\n\norder a \"A\"\n  rout central vein\n"),
            none
        );
        assert_eq!(told("use \"b.gtt\"\n\nuse\n"), none);
    }
}
