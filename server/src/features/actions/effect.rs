//! What a change does to the doses of an order: old and new.

use std::cell::OnceCell;
use std::collections::BTreeSet;

use gutta_checks::{Fix, TextEdit, fixes};
use gutta_notation::StanzaKind;
use gutta_notation::ast::ExpectMeasure;
use gutta_protocol::measures::{Measures, Question, Value, measure_name};
use gutta_protocol::model::Library;
use gutta_protocol::{Analysis, Space, StanzaId, Workspace};
use gutta_quantity::print::between;
use gutta_quantity::{Exact, Quantity, Style};

use crate::state::Site;

/// The doses of an order as it stands, and as it would stand.
#[derive(Debug)]
pub(super) struct Effects<'a> {
    site: &'a Site<'a>,
    id: StanzaId,
    before: OnceCell<Option<Vec<DoseText>>>,
    leant_on: OnceCell<String>,
}

/// A dose or bolus, as a person reads it.
#[derive(Clone, Debug, PartialEq, Eq)]
struct DoseText {
    what: String,
    amount: String,
}

impl<'a> Effects<'a> {
    pub(super) fn of(site: &'a Site<'a>, id: StanzaId) -> Self {
        Self {
            site,
            id,
            before: OnceCell::new(),
            leant_on: OnceCell::new(),
        }
    }

    /// Adds to the title which doses the edits change, from what to what.
    /// Nothing where none does, or one of the two is not known.
    pub(super) fn tell(&self, title: &mut String, edits: &[TextEdit]) {
        for (old, new) in self.changed(edits).unwrap_or_default() {
            // A title that names both has said it.
            if !(title.contains(&old.amount) && title.contains(&new.amount)) {
                let DoseText { what, amount } = old;
                title.push_str(&format!(" ({what} {amount} → {})", new.amount));
            }
        }
    }

    fn changed(&self, edits: &[TextEdit]) -> Option<Vec<(DoseText, DoseText)>> {
        let Site { workspace, .. } = *self.site;
        if !is_order(workspace.stanza(self.id).kind) {
            return None;
        }
        let before = self
            .before
            .get_or_init(|| self.doses(&Analysis::of(workspace, self.site.library(), self.id)));
        let before = before.as_ref()?;
        let after = self.after(edits)?;
        if before.len() != after.len() {
            return None;
        }
        let pairs = before.iter().cloned().zip(after);
        Some(
            pairs
                .filter(|(old, new)| old.what == new.what && old.amount != new.amount)
                .collect(),
        )
    }

    /// The doses once the edits are made: the order alone is read again, with
    /// what it leans on.
    fn after(&self, edits: &[TextEdit]) -> Option<Vec<DoseText>> {
        let Site { workspace, .. } = *self.site;
        let whole = workspace.place(self.id, gutta_notation::Span::new(0, 0));
        let text = workspace.stanza_text(self.id);
        let start = whole.span.start;
        let end = start + u32::try_from(text.len()).ok()?;
        let own = edits.iter().map(|edit| {
            let span = edit.place.span;
            let inside = edit.place.file == whole.file && start <= span.start && span.end <= end;
            let mut edit = edit.clone();
            edit.place.span.start = span.start.checked_sub(start)?;
            edit.place.span.end = span.end.checked_sub(start)?;
            inside.then_some(edit)
        });
        let fix = Fix {
            title: String::new(),
            edits: own.collect::<Option<_>>()?,
            spelling: false,
            doses: None,
        };
        let mut after = fixes::apply(text, &[&fix]);
        after.push('\n');
        after.push_str(self.leant_on.get_or_init(|| leant_on(self.site, self.id)));
        let path = workspace.file(whole.file).path.clone();
        let trial = Workspace::new(vec![(path, after)], workspace.house.clone());
        let held = workspace.stanza(self.id);
        let id = trial.stanzas_of(held.kind).find(|id| id.index <= 1)?;
        self.doses(&Analysis::of(&trial, &Library::new(&trial), id))
    }

    fn doses(&self, analysis: &Analysis) -> Option<Vec<DoseText>> {
        doses(analysis, self.site.workspace.house.style)
    }
}

const fn is_order(kind: StanzaKind) -> bool {
    matches!(kind, StanzaKind::Order | StanzaKind::Specimen)
}

/// The text of every stanza that the order's values depend on.
fn leant_on(site: &Site<'_>, id: StanzaId) -> String {
    let workspace = site.workspace;
    let house = &workspace.house;
    let defaults = [
        (StanzaKind::Pump, &house.pump),
        (StanzaKind::Area, &house.area),
        (StanzaKind::GivingSet, &house.giving_set),
    ];
    let defaults = defaults.into_iter().filter_map(|(kind, name)| {
        workspace
            .resolve_default(id.file, kind, name.as_ref()?)
            .one()
    });
    let areas = workspace.each_in_sight(id.file, Space::Stanza(StanzaKind::Area));
    let mut waiting: Vec<_> = defaults.chain(areas.map(|(_, id)| id)).collect();
    waiting.push(id);
    let mut seen = BTreeSet::new();
    while let Some(next) = waiting.pop() {
        if seen.insert(next) {
            let mentioned = workspace.references(next).iter();
            waiting.extend(
                mentioned.filter_map(|reference| {
                    workspace.resolve_reference(next.file, reference).one()
                }),
            );
        }
    }
    seen.remove(&id);
    let texts: Vec<_> = seen.iter().map(|id| workspace.stanza_text(*id)).collect();
    texts.join("\n")
}

/// Every dose and bolus of the order, in its order; none where it is not
/// complete.
fn doses(analysis: &Analysis, style: Style) -> Option<Vec<DoseText>> {
    let order = &analysis.order;
    let view = analysis.values.as_ref().ok()?.views.first()?;
    let measures = Measures { order, view };
    let told = |measure: ExpectMeasure| {
        let question = Question {
            measure: &measure,
            per_day: false,
            dose: None,
            unit: None,
        };
        let values = measures.answer(&question).into_iter();
        let told = values.filter_map(|value| {
            let phase = order.phases.get(value.phase?)?.name.as_ref();
            let of_phase = phase.map_or_else(String::new, |phase| format!(" in phase {phase}"));
            Some(DoseText {
                what: format!("{}{of_phase}", measure_name(&measure)),
                amount: amount(&value, style)?,
            })
        });
        told.collect::<Vec<_>>()
    };
    let mut all = told(ExpectMeasure::Dose);
    all.extend(told(ExpectMeasure::Bolus));
    Some(all)
}

/// From the least to the greatest for any patient.
fn amount(value: &Value, style: Style) -> Option<String> {
    let curve = value.curve()?;
    let told = |base: Exact| style.quantity_shown(&Quantity::from_base(base, value.unit));
    let (least, most) = (curve.min_value()?.value, curve.max_value()?.value);
    Some(between(&told(least), &told(most)).to_string())
}
