//! A bedside sheet: what an order says and all that follows from it, for the
//! people who prepare it, run it and watch over it. Words and numbers only;
//! who prints them lays them out.
//!
//! No number is made here: each is one of [`Measures`], for patients whose
//! weight (or surface) is printed exactly. An order with an error has no sheet.

mod bag;
mod phase;
mod refused;
mod settings;
#[cfg(test)]
mod tests;

use gutta_notation::ast::{Date, WordsKind};
use gutta_notation::{Fact as Line, StanzaKind};
use gutta_protocol::derive::Values;
use gutta_protocol::measures::{Group, Measures, gather, patients as whom};
use gutta_protocol::model::Library;
use gutta_protocol::model::order::{Answer, Order};
use gutta_protocol::{Analysis, FileId, StanzaId, Workspace};
use gutta_quantity::Style;

pub use refused::errors;
use refused::refused;
pub use settings::{Setting, Settings};

use crate::overview::Drawing;
use crate::table::{ByPatient, Choice};
use gutta_checks::leans_on;
use gutta_checks::{Options, Severity, check_stanza};

/// All that stands on a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    /// The order's name.
    pub name: String,
    /// Its title; where it has none, its name.
    pub title: String,
    /// Whether it, or its drug, is high-alert.
    pub high_alert: bool,
    /// What it is for, whom and where.
    pub about: Vec<Fact>,
    /// What happens, in order.
    pub phases: Vec<Phase>,
    /// What all of it together brings.
    pub totals: ByPatient,
    /// What to aim at and to watch, and when to stop.
    pub watch: Vec<Fact>,
    /// What the check warns of, unless it is waived.
    pub warnings: Vec<String>,
    /// What is waived, and why.
    pub waivers: Vec<String>,
    /// When it is to be reviewed.
    pub review: Review,
    /// The file it stands in, from the root.
    pub file: String,
    /// The line of its header, from 1.
    pub line: usize,
    /// Every file that something on the sheet comes from, by path.
    pub sources: Vec<FileId>,
}

/// Words under a label.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fact {
    /// `Route`.
    pub label: String,
    /// `central vein`.
    pub text: String,
}

/// One phase of an order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Phase {
    /// Its name; `None`: the order has no phases.
    pub name: Option<String>,
    /// What is its own: another route, pump or purpose.
    pub about: Vec<Fact>,
    /// How its bag is prepared, step by step; none where it goes on with the
    /// bag above.
    pub prepare: Vec<String>,
    /// What the steps refer to.
    pub bag: ByPatient,
    /// Before and around the run: priming, boluses, flushes.
    pub around: Vec<Fact>,
    /// Volumes and times of the boluses.
    pub boluses: ByPatient,
    /// The runs as ordered.
    pub runs: Vec<String>,
    /// What the pump is set to, and what follows.
    pub values: ByPatient,
    /// How the setting may be changed.
    pub titration: Option<String>,
    /// The flow by patient, at every setting.
    pub settings: Vec<Settings>,
    /// The flow with its limits.
    pub drawings: Vec<Drawing>,
    /// What follows.
    pub then: Option<Fact>,
}

/// Whether the order may still be used unreviewed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Review {
    /// Not before this day.
    Due(Date),
    /// This day is past.
    Overdue(Date),
    /// It states none, or the day was not told.
    Unknown,
}

impl Review {
    /// Whether the sheet is a draft until somebody reviews the order.
    #[must_use]
    pub const fn is_draft(&self) -> bool {
        !matches!(self, Self::Due(_))
    }
}

/// What the making of a sheet leans on.
#[derive(Clone, Copy)]
struct Context<'a> {
    workspace: &'a Workspace,
    order: &'a Order,
    style: Style,
}

impl Context<'_> {
    fn by_patient(self, values: &Values, groups: &[&Group<'_>], choice: Choice) -> ByPatient {
        ByPatient::of(&values.views, groups, choice, None, self.style)
    }

    /// The title of a stanza, else its name.
    fn title(&self, id: StanzaId) -> String {
        let stanza = self.workspace.stanza(id);
        let text = stanza.title.as_ref().or(stanza.name.as_ref());
        text.map(|text| text.value.to_string()).unwrap_or_default()
    }

    /// What stands in a stretch of the order, blanks apart.
    fn written(&self, span: gutta_notation::Span) -> String {
        let place = self.workspace.place(self.order.id, span);
        self.workspace.written(place)
    }
}

/// The sheet of an order.
///
/// # Errors
///
/// Why there is none: each finding of severity error in the order, or in a
/// stanza that it leans on; a sentence each.
pub fn sheet(
    workspace: &Workspace,
    library: &Library,
    id: StanzaId,
    options: &Options,
) -> Result<Sheet, Vec<String>> {
    let analysis = Analysis::of(workspace, library, id);
    let reasons = refused(workspace, library, &analysis, options);
    let values = match &analysis.values {
        Ok(values) if reasons.is_empty() => values,
        _ => return Err(reasons),
    };
    let order = &analysis.order;
    let style = workspace.house.style;
    let context = Context {
        workspace,
        order,
        style,
    };
    let groups = gather(&values.views, None, |view| {
        Measures { order, view }.all(None)
    });
    let phases = (0..order.phases.len()).map(|phase| phase::phase(context, values, &groups, phase));
    let phases = phases.collect();
    let stanza = workspace.stanza(id);
    let mut sheet = Sheet {
        name: order.name.to_string(),
        title: context.title(id),
        high_alert: order.high_alert,
        about: about(context),
        phases,
        totals: context.by_patient(values, &totals(&groups), Choice::Few),
        watch: Vec::new(),
        warnings: Vec::new(),
        waivers: Vec::new(),
        review: Review::Unknown,
        file: workspace.file(id.file).path.to_string(),
        line: workspace.line_number(id, stanza.header),
        sources: sources(order),
    };
    for line in &stanza.lines {
        sheet.take(context, &line.fact, line.span, options);
    }
    let findings = check_stanza(workspace, library, id, options);
    let warnings = findings
        .into_iter()
        .filter(|finding| finding.severity == Severity::Warning);
    sheet.warnings = warnings.map(|finding| finding.message).collect();
    Ok(sheet)
}

impl Sheet {
    fn take(
        &mut self,
        context: Context<'_>,
        fact: &Line,
        span: gutta_notation::Span,
        options: &Options,
    ) {
        match fact {
            Line::Words { kind, text } => {
                let label = match kind {
                    WordsKind::Goal => "Goal",
                    WordsKind::Monitor => "Monitor",
                    WordsKind::Note => "Note",
                    WordsKind::Source => "Source",
                    WordsKind::StopWhen => "Stop when",
                };
                self.watch.push(fact_of(label, text.value.as_str()));
            }
            Line::Waive(_) => self.waivers.push(context.written(span)),
            Line::ReviewBy(date) => {
                self.review = match (date.value, options.today) {
                    (Some(date), Some(today)) if today <= date => Review::Due(date),
                    (Some(date), Some(_)) => Review::Overdue(date),
                    _ => Review::Unknown,
                };
            }
            _ => {}
        }
    }
}

fn fact_of(label: &str, text: impl Into<String>) -> Fact {
    Fact {
        label: label.to_owned(),
        text: text.into(),
    }
}

/// Drug, patients, area; route, pump and purpose where no phase has another.
fn about(context: Context<'_>) -> Vec<Fact> {
    let Context { order, style, .. } = context;
    let mut all = Vec::new();
    let drug = order.drug.as_ref();
    all.push(match drug {
        Some(drug) => fact_of("Drug", context.title(drug.id)),
        None => fact_of("Drug", "none: a plain fluid"),
    });
    let patients = whom(order, style);
    if !patients.is_empty() {
        all.push(fact_of("Patients", patients));
    }
    if let Some(age) = &order.age {
        let ages = gutta_checks::telling::range_of_ages(age, style);
        all.push(fact_of("Age", ages));
    }
    if let Some((most, _)) = &order.dosing_weight {
        let kg = gutta_quantity::units::KG;
        let most = gutta_checks::telling::bound_of_patients(most, kg, style);
        all.push(fact_of(
            "Dosing weight",
            format!("at most {most}, for heavier patients too"),
        ));
    }
    all.push(fact_of(
        "Area",
        match &order.area {
            Answer::Is(area) => context.title(area.id),
            Answer::Any(_) => "any: the strictest limits apply".to_owned(),
            Answer::Unanswered => "not stated: the strictest limits apply".to_owned(),
        },
    ));
    let shared = phase::about(context, &order.phases[0]);
    let same = |phase| phase::about(context, phase) == shared;
    if order.phases.iter().all(same) {
        all.extend(shared);
    }
    all
}

/// The totals of the whole order, for the whole patient.
fn totals<'g, 'v>(groups: &'g [Group<'v>]) -> Vec<&'g Group<'v>> {
    let whole = groups.iter().filter(|group| {
        group.value().is_some_and(|value| {
            let dimension = value.unit.dimension();
            value.phase.is_none() && dimension == dimension.without_patient()
        })
    });
    whole.collect()
}

/// The files of the order and of all that it leans on.
fn sources(order: &Order) -> Vec<FileId> {
    let mut files: Vec<_> = leans_on(order).iter().map(|id| id.file).collect();
    files.push(order.id.file);
    files.sort();
    files.dedup();
    files
}

/// The orders that a set includes, in the order written; a name that means no
/// one order is in the second list.
#[must_use]
pub fn included(
    workspace: &Workspace,
    library: &Library,
    set: StanzaId,
) -> (Vec<StanzaId>, Vec<String>) {
    let (mut orders, mut unknown) = (Vec::new(), Vec::new());
    for name in library.set(set).iter().flat_map(|set| &set.include) {
        let resolved = workspace.resolve(set.file, StanzaKind::Order, &name.value);
        match resolved.one() {
            Some(order) => orders.push(order),
            None => unknown.push(format!("the order `{}` is not known", name.value)),
        }
    }
    (orders, unknown)
}
