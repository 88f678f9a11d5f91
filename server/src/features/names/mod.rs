//! Names: what stands at a place, and every place that means the same.

mod rename;

use gutta_notation::{Fact, Span, StanzaKind};
use gutta_protocol::{FileId, Place, Reference, Resolved, Space, StanzaId, UseFault};
use smol_str::SmolStr;

use crate::state::Site;
pub(crate) use rename::{Change, default_key, prepare, rename};

/// What a name means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Target {
    /// A stanza; several where its name is another's too, none where nothing
    /// in sight bears it.
    Stanzas(Vec<StanzaId>),
    /// A substance, which its `ingredient` and every `contains` of it declare.
    Substance(SmolStr),
    /// What its own stanza alone knows.
    Inner(StanzaId, Inner, SmolStr),
    /// The file that a `use` brings in.
    File(FileId),
}

/// What a stanza names for itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Inner {
    Phase,
    Line,
}

/// A name at a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Named {
    /// Where it stands in its file.
    pub(crate) span: Span,
    pub(crate) name: SmolStr,
    pub(crate) target: Target,
    /// Whether it is declared here, and not mentioned.
    pub(crate) declares: bool,
}

/// A place that means what was asked for.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Occurrence {
    pub(crate) place: Place,
    pub(crate) name: SmolStr,
    pub(crate) declares: bool,
}

/// What is declared, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Declaration {
    /// The name.
    pub(crate) name: Place,
    /// All that belongs to it.
    pub(crate) whole: Place,
}

/// The name at the byte, or that ends there.
pub(crate) fn named_at(site: Site<'_>, offset: u32) -> Option<Named> {
    let id = site.stanza_at(offset)?;
    let start = site.start_of(id);
    let own = offset.checked_sub(start)?;
    let touches = |span: Span| (span.start..=span.end).contains(&own);
    let named = |span: Span, name: &SmolStr, target, declares| Named {
        span: span.shifted(start),
        name: name.clone(),
        target,
        declares,
    };
    let workspace = site.workspace;
    let stanza = workspace.stanza(id);
    if stanza.kind == StanzaKind::Use {
        let mut uses = workspace.uses(id.file).iter();
        let used = uses.find(|used| used.stanza == id.index && touches(used.span))?;
        let target = match used.target {
            Ok(file) | Err(UseFault::NotRead(file)) => file,
            Err(_) => return None,
        };
        return Some(named(used.span, &used.path, Target::File(target), false));
    }
    if !is_nameless(stanza.kind)
        && let Some(name) = workspace.own_names(id).find(|name| touches(name.span))
    {
        // An ingredient is the substance that it limits.
        let target = match stanza.kind {
            StanzaKind::Ingredient => Target::Substance(name.value.clone()),
            _ => Target::Stanzas(vec![id]),
        };
        return Some(named(name.span, &name.value, target, true));
    }
    let mut references = workspace.references(id).iter();
    if let Some(reference) = references.find(|reference| touches(reference.span)) {
        let target = target_of(site, reference);
        return Some(named(reference.span, &reference.name, target, false));
    }
    let line = stanza.lines.iter().find(|line| touches(line.span))?;
    let (name, declares) = match &line.fact {
        Fact::Contains { substance, .. } => {
            let target = Target::Substance(substance.value.clone());
            let found = touches(substance.span);
            return found.then(|| named(substance.span, &substance.value, target, true));
        }
        Fact::Phase { name, .. } => (name, true),
        Fact::LineMembers { line, .. } => (&**line, true),
        Fact::Expect(expect) => (expect.phase.as_ref()?, false),
        _ => return None,
    };
    let inner = match &line.fact {
        Fact::LineMembers { .. } => Inner::Line,
        _ => Inner::Phase,
    };
    let target = Target::Inner(id, inner, name.value.clone());
    touches(name.span).then(|| named(name.span, &name.value, target, declares))
}

/// What a reference in the site's file means.
pub(crate) fn target_of(site: Site<'_>, reference: &Reference) -> Target {
    if reference.spaces == [Space::Substance] {
        return Target::Substance(reference.name.clone());
    }
    Target::Stanzas(
        match site.workspace.resolve_reference(site.file, reference) {
            Resolved::One(id) => vec![id],
            Resolved::Many(ids) => ids,
            Resolved::None => Vec::new(),
        },
    )
}

const fn is_nameless(kind: StanzaKind) -> bool {
    matches!(
        kind,
        StanzaKind::Preamble | StanzaKind::Unknown | StanzaKind::Use
    )
}

/// Where the target is declared; a drug at its own name.
pub(crate) fn declarations(site: Site<'_>, target: &Target) -> Vec<Declaration> {
    let workspace = site.workspace;
    match target {
        Target::Stanzas(ids) => ids.iter().filter_map(|id| stanza(site, *id)).collect(),
        Target::Substance(name) => {
            // What the file sees goes first; a set may name what its orders'
            // files declare.
            let mut ids = workspace.containing(site.file, name);
            if ids.is_empty() {
                ids = workspace.declared_anywhere(Space::Substance, name);
            }
            let contains = ids.into_iter().flat_map(|id| {
                let lines = workspace.stanza(id).lines.iter();
                lines.filter_map(move |line| match &line.fact {
                    Fact::Contains { substance, .. } if substance.value == *name => {
                        Some(Declaration {
                            name: workspace.place(id, substance.span),
                            whole: workspace.place(id, line.span),
                        })
                    }
                    _ => None,
                })
            });
            let limits = workspace.ingredients(name).into_iter();
            let limits = limits.filter_map(|id| stanza(site, id));
            limits.chain(contains).collect()
        }
        Target::Inner(id, ..) => {
            let occurrences = occurrences(site, target, None);
            let declared = occurrences.into_iter().filter(|found| found.declares);
            let whole = |place: Place| {
                let own = place.span.start - site.start_of(*id);
                let lines = &workspace.stanza(*id).lines;
                let line = lines
                    .iter()
                    .find(|line| line.span.start <= own && own <= line.span.end);
                line.map_or(place, |line| workspace.place(*id, line.span))
            };
            declared
                .map(|found| Declaration {
                    name: found.place,
                    whole: whole(found.place),
                })
                .collect()
        }
        Target::File(file) => {
            let start = Place {
                file: *file,
                span: Span::new(0, 0),
            };
            vec![Declaration {
                name: start,
                whole: start,
            }]
        }
    }
}

/// Where a drug's `also` line declares the name by which it was mentioned.
pub(crate) fn declared_as(site: Site<'_>, named: &Named) -> Vec<Declaration> {
    let Target::Stanzas(ids) = &named.target else {
        return declarations(site, &named.target);
    };
    let found = ids.iter().filter_map(|id| {
        let mut declaration = stanza(site, *id)?;
        let mut names = site.workspace.own_names(*id);
        if let Some(name) = names.find(|name| name.value == named.name) {
            declaration.name = site.workspace.place(*id, name.span);
        }
        Some(declaration)
    });
    found.collect()
}

/// A stanza from its header to its last line, and its name.
pub(crate) fn stanza(site: Site<'_>, id: StanzaId) -> Option<Declaration> {
    let stanza = site.workspace.stanza(id);
    let name = stanza.name.as_ref()?;
    let last = stanza
        .lines
        .last()
        .map_or(stanza.header, |line| line.span.to(stanza.header));
    Some(Declaration {
        name: site.workspace.place(id, name.span),
        whole: site.workspace.place(id, stanza.header.to(last)),
    })
}

/// Every place that means the target, by file and text; in one file alone
/// where that is asked.
pub(crate) fn occurrences(
    site: Site<'_>,
    target: &Target,
    within: Option<FileId>,
) -> Vec<Occurrence> {
    let mut found = OccurrenceCollector {
        site,
        within,
        all: Vec::new(),
    };
    match target {
        Target::Stanzas(ids) => ids.iter().for_each(|id| found.stanza(*id)),
        Target::Substance(name) => found.substance(name),
        Target::Inner(id, inner, name) => found.inner(*id, *inner, name),
        Target::File(file) => found.uses(*file),
    }
    found.all.sort_unstable();
    found.all.dedup_by(|one, other| one.place == other.place);
    found.all
}

struct OccurrenceCollector<'a> {
    site: Site<'a>,
    within: Option<FileId>,
    all: Vec<Occurrence>,
}

impl<'a> OccurrenceCollector<'a> {
    fn push(&mut self, id: StanzaId, span: Span, name: &SmolStr, declares: bool) {
        if self.within.is_none_or(|file| file == id.file) {
            self.all.push(Occurrence {
                place: self.site.workspace.place(id, span),
                name: name.clone(),
                declares,
            });
        }
    }

    fn stanza(&mut self, id: StanzaId) {
        let workspace = self.site.workspace;
        for name in workspace.own_names(id) {
            self.push(id, name.span, &name.value, true);
        }
        let referrers = match &self.within {
            Some(file) => workspace.referrers_in(std::slice::from_ref(file), id),
            None => workspace.referrers(id),
        };
        for (from, reference) in referrers {
            self.push(from, reference.span, &reference.name, false);
        }
    }

    fn substance(&mut self, name: &SmolStr) {
        let workspace = self.site.workspace;
        let declared = workspace.declared_anywhere(Space::Substance, name);
        for id in &declared {
            for line in &workspace.stanza(*id).lines {
                if let Fact::Contains { substance, .. } = &line.fact
                    && substance.value == *name
                {
                    self.push(*id, substance.span, name, true);
                }
            }
        }
        for id in workspace.ingredients(name) {
            if let Some(own) = &workspace.stanza(id).name {
                self.push(id, own.span, name, true);
            }
        }
        let files = match self.within {
            Some(file) => vec![file],
            None => self.files_around(&declared),
        };
        for (from, reference) in workspace.substance_referrers_in(&files, name) {
            self.push(from, reference.span, &reference.name, false);
        }
    }

    /// The files that see a declaration, and those that see these: a set may
    /// name a substance of its orders' files.
    fn files_around(&self, declared: &[StanzaId]) -> Vec<FileId> {
        let workspace = self.site.workspace;
        let around = |files: &[FileId]| {
            let seen = files.iter().flat_map(|file| workspace.seen_by(*file));
            let mut seen: Vec<FileId> = seen.copied().collect();
            seen.sort_unstable();
            seen.dedup();
            seen
        };
        let mut own: Vec<_> = declared.iter().map(|id| id.file).collect();
        own.push(self.site.file);
        around(&around(&own))
    }

    fn inner(&mut self, id: StanzaId, inner: Inner, wanted: &SmolStr) {
        for line in &self.site.workspace.stanza(id).lines {
            let (name, declares) = match (&line.fact, inner) {
                (Fact::Phase { name, .. }, Inner::Phase) => (name, true),
                (Fact::LineMembers { line, .. }, Inner::Line) => (&**line, true),
                (Fact::Expect(expect), Inner::Phase) => match &expect.phase {
                    Some(name) => (name, false),
                    None => continue,
                },
                _ => continue,
            };
            if name.value == *wanted {
                self.push(id, name.span, &name.value, declares);
            }
        }
    }

    fn uses(&mut self, file: FileId) {
        let workspace = self.site.workspace;
        for from in workspace.seen_by(file) {
            for used in workspace.uses(*from) {
                if used.target == Ok(file) {
                    let id = StanzaId {
                        file: *from,
                        index: used.stanza,
                    };
                    self.push(id, used.span, &used.path, false);
                }
            }
        }
    }
}

#[cfg(test)]
mod ingredients;
#[cfg(test)]
mod tests;
