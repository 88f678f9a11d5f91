//! What a file holds: stanzas, and in them what a reader looks for.

use gutta_notation::{Fact, Line, Span, Stanza, StanzaKind};
use gutta_protocol::{StanzaId, Workspace};

use crate::state::Site;

/// What an entry is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Role {
    Stanza(StanzaKind),
    Phase,
    /// What is in the bag.
    Bag,
    /// What is given: a run, a bolus.
    Giving,
    Limit,
    Content,
    Member,
}

/// An entry of the outline; spans count from the file's start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Entry {
    pub(crate) role: Role,
    pub(crate) name: String,
    pub(crate) detail: String,
    /// All that belongs to it.
    pub(crate) span: Span,
    /// What names it, inside.
    pub(crate) own: Span,
    pub(crate) children: Vec<Entry>,
}

/// The outline of a whole file, in the order of its text.
pub(crate) fn outline(site: Site<'_>) -> Vec<Entry> {
    let ids = site.workspace.stanzas_in(site.file);
    ids.filter_map(|id| entry(site, id)).collect()
}

fn entry(site: Site<'_>, id: StanzaId) -> Option<Entry> {
    let stanza = site.workspace.stanza(id);
    if matches!(stanza.kind, StanzaKind::Preamble | StanzaKind::Unknown) {
        return None;
    }
    let text = site.workspace.stanza_text(id);
    let start = site.start_of(id);
    let title = stanza.title.as_ref();
    let (name, own, detail) = match (&stanza.name, title) {
        (Some(name), _) => (name.value.to_string(), name.span, title),
        (None, Some(path)) if stanza.kind == StanzaKind::Use => {
            (path.value.to_string(), path.span, None)
        }
        // A header that is being typed is still found.
        _ => (one_blank(stanza.header.text(text)), stanza.header, None),
    };
    Some(Entry {
        role: Role::Stanza(stanza.kind),
        name: if name.is_empty() { "?".into() } else { name },
        detail: detail
            .map(|title| title.value.to_string())
            .unwrap_or_default(),
        span: whole(stanza).shifted(start),
        own: own.shifted(start),
        children: children(stanza, text, start),
    })
}

/// From the header to the last line.
pub(crate) fn whole(stanza: &Stanza) -> Span {
    let last = stanza.lines.last();
    stanza
        .header
        .to(last.map_or(stanza.header, |line| line.span))
}

fn children(stanza: &Stanza, text: &str, start: u32) -> Vec<Entry> {
    let mut children: Vec<Entry> = Vec::new();
    let mut phases = phases(stanza).into_iter().peekable();
    let mut phase: Option<(u32, Entry)> = None;
    for line in &stanza.lines {
        if let Some((end, _)) = &phase
            && line.span.start >= *end
        {
            children.extend(phase.take().map(|(_, entry)| entry));
        }
        if let Some(span) = phases.next_if(|span| span.start == line.span.start)
            && let Fact::Phase { name, title } = &line.fact
        {
            children.extend(phase.take().map(|(_, entry)| entry));
            let entry = Entry {
                role: Role::Phase,
                name: name.value.to_string(),
                detail: title
                    .as_ref()
                    .map(|title| title.value.to_string())
                    .unwrap_or_default(),
                span: span.shifted(start),
                own: name.span.shifted(start),
                children: Vec::new(),
            };
            phase = Some((span.end, entry));
            continue;
        }
        if let Some(entry) = child(line, text, start) {
            match &mut phase {
                Some((_, phase)) => phase.children.push(entry),
                None => children.push(entry),
            }
        }
    }
    children.extend(phase.map(|(_, entry)| entry));
    children
}

fn child(line: &Line, text: &str, start: u32) -> Option<Entry> {
    let (role, own) = match &line.fact {
        Fact::Bag(_) => (Role::Bag, line.keyword),
        Fact::Run(_) | Fact::Bolus(_) => (Role::Giving, line.keyword),
        Fact::Usual(usual) => (Role::Limit, line.keyword.to(usual.limit.measure.span)),
        Fact::Never(_) => (Role::Limit, line.keyword),
        Fact::Contains { substance, .. } => (Role::Content, substance.span),
        Fact::LineMembers { line, .. } => (Role::Member, line.span),
        Fact::Include(_) => (Role::Member, line.keyword),
        _ => return None,
    };
    let behind = Span::new(own.end, line.span.end);
    Some(Entry {
        role,
        name: one_blank(own.text(text)),
        detail: one_blank(behind.text(text))
            .trim_start_matches([':', ' '])
            .to_owned(),
        span: line.span.shifted(start),
        own: own.shifted(start),
        children: Vec::new(),
    })
}

/// Each phase of a stanza, from its line to the last that is its own.
pub(crate) fn phases(stanza: &Stanza) -> Vec<Span> {
    let mut phases: Vec<Span> = Vec::new();
    let mut open = false;
    for line in &stanza.lines {
        match &line.fact {
            Fact::Phase { .. } => {
                phases.push(line.span);
                open = true;
            }
            // What closes the order stands below its last phase.
            Fact::Then(_) | Fact::Expect(_) | Fact::ReviewBy(_) | Fact::Waive(_) => {}
            _ => {
                if let Some(phase) = phases.last_mut().filter(|_| open) {
                    *phase = phase.to(line.span);
                }
            }
        }
    }
    phases
}

fn one_blank(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A stanza that was asked for, and by which of its names.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Hit {
    /// How well it fits, the best first.
    rank: u8,
    pub(crate) name: String,
    pub(crate) id: StanzaId,
    /// Where the name stands, from the stanza's start.
    pub(crate) start: u32,
    pub(crate) end: u32,
}

/// The stanzas whose name, or else whose title, holds the letters of the
/// query in their order, the best first.
pub(crate) fn search(workspace: &Workspace, query: &str) -> Vec<Hit> {
    let query = query.trim().to_lowercase();
    let mut hits = Vec::new();
    for file in workspace.file_ids() {
        for id in workspace.stanzas_in(file) {
            let stanza = workspace.stanza(id);
            if matches!(
                stanza.kind,
                StanzaKind::Preamble | StanzaKind::Unknown | StanzaKind::Use
            ) {
                continue;
            }
            let title = stanza
                .title
                .as_ref()
                .map(|title| title.value.to_lowercase());
            let titled = title.is_some_and(|title| title.contains(&query));
            for (place, name) in workspace.own_names(id).enumerate() {
                let rank = rank(&name.value, &query).or((titled && place == 0).then_some(3));
                hits.extend(rank.map(|rank| Hit {
                    rank,
                    name: name.value.to_string(),
                    id,
                    start: name.span.start,
                    end: name.span.end,
                }));
            }
        }
    }
    hits.sort_unstable();
    hits
}

fn rank(name: &str, query: &str) -> Option<u8> {
    if name == query {
        return Some(0);
    }
    if name.starts_with(query) {
        return Some(1);
    }
    if name.contains(query) {
        return Some(2);
    }
    let mut letters = name.chars();
    query
        .chars()
        .all(|wanted| letters.any(|letter| letter == wanted))
        .then_some(4)
}

#[cfg(test)]
mod tests {
    use super::{Entry, outline, search};
    use crate::features::harness::Fixture;

    const WARD: &str = "\
use \"drugs.gtt\"
# Of the order.
order a-b \"Title é\"
  drug       c
  mix        4 mg  made up to 50 mL with d
  phase      first
    run      10 mL at 5 mL/h
  phase      second \"Second\"
    bolus    1 mL over 1 min
    run      all at 5 mL/h
  then       stop
  expect     flow 5 mL/h
drug c
  also       e
  usual dose 1 to 2 mg/h
  contains   f 1 mg/mL
set
ordr x
order
";

    fn told(entries: &[Entry], depth: usize, text: &str, out: &mut String) {
        for entry in entries {
            assert!(!entry.name.is_empty());
            assert!(entry.span.start <= entry.own.start && entry.own.end <= entry.span.end);
            let lines = entry.span.text(text).lines().count();
            let blanks = "  ".repeat(depth);
            let line = format!("{:?} {} | {}", entry.role, entry.name, entry.detail);
            *out += &format!("{blanks}{line} | {lines}\n");
            told(&entry.children, depth + 1, text, out);
        }
    }

    #[test]
    fn the_outline_holds_stanzas_phases_and_what_is_given() {
        let fixture = Fixture::of(WARD);
        let mut out = String::new();
        told(&outline(fixture.site()), 0, WARD, &mut out);
        insta::assert_snapshot!(out, @r"
        Stanza(Use) drugs.gtt |  | 1
        Stanza(Order) a-b | Title é | 10
          Bag mix | 4 mg made up to 50 mL with d | 1
          Phase first |  | 2
            Giving run | 10 mL at 5 mL/h | 1
          Phase second | Second | 3
            Giving bolus | 1 mL over 1 min | 1
            Giving run | all at 5 mL/h | 1
        Stanza(Drug) c |  | 4
          Limit usual dose | 1 to 2 mg/h | 1
          Content f | 1 mg/mL | 1
        Stanza(Set) set |  | 1
        Stanza(Order) order |  | 1
        ");
    }

    #[test]
    fn a_search_finds_names_and_titles_the_best_first() {
        let fixture = Fixture::of(WARD);
        let found = |query: &str| {
            let hits = search(&fixture.workspace, query);
            hits.into_iter().map(|hit| hit.name).collect::<Vec<_>>()
        };
        assert_eq!(found("c"), ["c"]);
        assert_eq!(found("E"), ["e", "a-b"]);
        assert_eq!(found("ab"), ["a-b"]);
        assert_eq!(found("title É"), ["a-b"]);
        assert_eq!(found(""), ["a-b", "c", "e"]);
        assert_eq!(found("zz"), [""; 0]);
    }
}
