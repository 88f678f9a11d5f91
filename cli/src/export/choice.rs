//! Which orders and sets are exported, and which may not be.

use gutta_checks::{Finding, Options, Severity, check, words};
use gutta_notation::StanzaKind;
use gutta_protocol::model::Library;
use gutta_protocol::model::order::Order;
use gutta_protocol::sets::Together;
use gutta_protocol::{Analysis, FileId, StanzaId, Workspace};
use rustc_hash::{FxHashMap, FxHashSet};

use super::text::plain;
use crate::failure::Failure;
use crate::files::Loaded;
use crate::holder::holder_of;
use crate::report::Lines;

/// What is exported.
#[derive(Debug, Default)]
pub(crate) struct Choice {
    pub(crate) orders: Vec<Analysis>,
    pub(crate) sets: Vec<(StanzaId, Together)>,
    pub(crate) refused: Vec<Refused>,
}

/// An order or a set that is not exported.
#[derive(Debug)]
pub(crate) struct Refused {
    /// Its stanza; `None` for what belongs to none.
    id: Option<StanzaId>,
    /// `order noradrenaline-central`.
    pub(crate) holder: String,
    /// `icu.gtt:9`.
    pub(crate) place: String,
    pub(crate) why: Vec<String>,
}

/// The orders and sets that are asked for by name, sets with their orders; all
/// of the files asked about where none is.
pub(crate) fn choose(
    loaded: &Loaded,
    library: &Library,
    orders: &[String],
    sets: &[String],
    options: &Options,
) -> Result<Choice, Failure> {
    let workspace = &loaded.workspace;
    let all = orders.is_empty() && sets.is_empty();
    let sets = find(loaded, StanzaKind::Set, sets, all)?;
    let mut orders = find(loaded, StanzaKind::Order, orders, all)?;
    let sets: Vec<_> = sets
        .into_iter()
        .filter_map(|id| Some((id, Together::of(workspace, library, id)?)))
        .collect();
    let mut chosen: FxHashSet<_> = orders.iter().copied().collect();
    let members = sets.iter().flat_map(|(_, set)| &set.members);
    orders.extend(
        members
            .map(|member| member.order.id)
            .filter(|id| chosen.insert(*id)),
    );
    let judge = Judge::new(workspace, options);
    let mut choice = Choice::default();
    for id in orders {
        let analysis = Analysis::of(workspace, library, id);
        let mut why = judge.errors(id, &leans_on(&analysis.order));
        if let Err(incomplete) = &analysis.values {
            why.extend(incomplete.told(|span| workspace.line_number(id, span)));
        }
        if why.is_empty() {
            choice.orders.push(analysis);
        } else {
            choice.refused.push(judge.refused(id, why));
        }
    }
    for (id, set) in sets {
        let area = set.area.as_ref().map(|area| area.id);
        let mut why = judge.errors(id, area.as_slice());
        for refused in &choice.refused {
            if set
                .members
                .iter()
                .any(|member| Some(member.order.id) == refused.id)
            {
                why.push(format!("{} is not exported", refused.holder));
            }
        }
        if why.is_empty() && !set.set.whole {
            why.push("not every line of it could be checked".to_owned());
        }
        if why.is_empty() {
            choice.sets.push((id, set));
        } else {
            choice.refused.push(judge.refused(id, why));
        }
    }
    if all {
        choice.refused.extend(judge.nobodys(&loaded.asked));
    }
    Ok(choice)
}

/// The stanzas that an order's meaning leans on, each once.
pub(crate) fn leans_on(order: &Order) -> Vec<StanzaId> {
    let mut ids = gutta_checks::leans_on(order);
    ids.sort_unstable();
    ids.dedup();
    ids
}

struct Judge<'a> {
    workspace: &'a Workspace,
    lines: Lines<'a>,
    /// The errors of each stanza that says something.
    of_stanzas: FxHashMap<StanzaId, Vec<Finding>>,
    /// Those of each file that belong to none.
    of_files: FxHashMap<FileId, Vec<Finding>>,
}

impl<'a> Judge<'a> {
    fn new(workspace: &'a Workspace, options: &Options) -> Self {
        use StanzaKind::{Preamble, Unknown, Use};
        let mut judge = Self {
            workspace,
            lines: Lines::of(workspace),
            of_stanzas: FxHashMap::default(),
            of_files: FxHashMap::default(),
        };
        for finding in check(workspace, None, options) {
            if finding.severity != Severity::Error {
                continue;
            }
            let stanza = finding
                .stanza
                .filter(|id| !matches!(workspace.stanza(*id).kind, Preamble | Unknown | Use));
            match stanza {
                Some(id) => judge.of_stanzas.entry(id).or_default().push(finding),
                None => judge
                    .of_files
                    .entry(finding.place.file)
                    .or_default()
                    .push(finding),
            }
        }
        judge
    }

    /// The errors of a stanza, of those that it leans on, and of what belongs
    /// to no stanza of their files: nobody can say whose it was to be.
    fn errors(&self, id: StanzaId, others: &[StanzaId]) -> Vec<String> {
        let stanzas = || std::iter::once(&id).chain(others);
        let mut files: Vec<_> = stanzas().map(|stanza| stanza.file).collect();
        files.sort_unstable();
        files.dedup();
        let of_stanzas = stanzas().filter_map(|stanza| self.of_stanzas.get(stanza));
        let of_files = files.iter().filter_map(|file| self.of_files.get(file));
        let found = of_stanzas.chain(of_files).flatten();
        found.map(|finding| self.told(finding)).collect()
    }

    /// What belongs to no order or set of these files, and cannot be read.
    fn nobodys(&self, files: &[FileId]) -> Vec<Refused> {
        let wrong = files.iter().filter_map(|file| {
            let errors = self.of_files.get(file)?;
            let first = errors.first()?.place;
            let line = self.lines.position(first.file, first.span.start).line;
            let path = plain(&self.workspace.file(*file).path);
            Some(Refused {
                id: None,
                holder: "what belongs to no order".to_owned(),
                place: format!("{path}:{line}"),
                why: errors.iter().map(|error| self.told(error)).collect(),
            })
        });
        wrong.collect()
    }

    /// `limit.never (icu.gtt:9)`.
    fn told(&self, finding: &Finding) -> String {
        let place = finding.place;
        let line = self.lines.position(place.file, place.span.start).line;
        let file = plain(&self.workspace.file(place.file).path);
        format!("{} ({file}:{line})", finding.rule.name)
    }

    fn refused(&self, id: StanzaId, why: Vec<String>) -> Refused {
        let stanza = self.workspace.stanza(id);
        let file = plain(&self.workspace.file(id.file).path);
        let line = self.workspace.line_number(id, stanza.header);
        Refused {
            id: Some(id),
            holder: holder_of(self.workspace, id),
            place: format!("{file}:{line}"),
            why,
        }
    }
}

/// The stanzas of a kind by name, in the order of files and text.
fn find(
    loaded: &Loaded,
    kind: StanzaKind,
    names: &[String],
    all: bool,
) -> Result<Vec<StanzaId>, Failure> {
    let workspace = &loaded.workspace;
    let name_of = |id: StanzaId| {
        let name = workspace.stanza(id).name.as_ref();
        name.map_or("", |name| name.value.as_str())
    };
    let here: Vec<_> = loaded
        .asked
        .iter()
        .flat_map(|file| workspace.stanzas_in(*file))
        .filter(|id| workspace.stanza(*id).kind == kind)
        .collect();
    if let Some(name) = names
        .iter()
        .find(|name| !here.iter().any(|id| name_of(*id) == **name))
    {
        let there = here.iter().map(|id| name_of(*id));
        return Err(Failure::unknown(words::kind(kind), name, there));
    }
    let asked = |id: &StanzaId| all || names.iter().any(|name| name == name_of(*id));
    Ok(here.into_iter().filter(asked).collect())
}
