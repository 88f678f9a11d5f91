//! An order's values, as hints, hovers and lenses show them.

use gutta_notation::ast::ExpectMeasure;
use gutta_notation::{Line, Span};
use gutta_protocol::derive::{Values, Variable};
use gutta_protocol::measures::{Group, Measures, Question, Reach, Spot, Value, gather, patients};
use gutta_protocol::model::size::Size;
use gutta_protocol::{Analysis, StanzaId};
use gutta_quantity::{Exact, Printed, Quantity, Style, Unit, units};

use crate::state::{Site, parse_weight};

/// An order, and the patients for whom its values are shown.
#[derive(Debug)]
pub(super) struct Shown<'a> {
    pub(super) site: Site<'a>,
    pub(super) id: StanzaId,
    pub(super) analysis: Analysis,
    pub(super) whom: Whom,
    /// The bags that cannot be made up, and for whom.
    impossible: Vec<String>,
}

/// For whom values are shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Whom {
    /// All whom the order covers.
    All,
    /// One weight in kg.
    One(Exact),
    /// A weight is set, and the order does not cover it.
    NotCovered(Exact),
}

/// A value in words.
#[derive(Debug)]
pub(super) struct ValueText<'a> {
    /// `1.8 to 6.75 mL/h`.
    pub(super) text: String,
    pub(super) varies: bool,
    pub(super) reach: Reach<'a>,
}

impl<'a> Shown<'a> {
    /// The order or specimen of a stanza.
    pub(super) fn of(site: Site<'a>, id: StanzaId) -> Self {
        let analysis = Analysis::of(site.workspace, site.library(), id);
        let weight = site.settings.hints.weight.as_deref().and_then(parse_weight);
        let whom = match (weight, &analysis.order.weight) {
            (Some(weight), Some(extent)) if !extent.reaches(&weight) => Whom::NotCovered(weight),
            (Some(weight), Some(_)) if over_weight(&analysis) => Whom::One(weight),
            _ => Whom::All,
        };
        let values = analysis.values.as_ref();
        let impossible = values.map_or_else(
            |_| Vec::new(),
            |values| {
                let style = site.workspace.house.style;
                let line = |span| line(site, id, span);
                gutta_checks::impossible_bags(&analysis.order, values, line, style)
            },
        );
        Self {
            site,
            id,
            analysis,
            whom,
            impossible,
        }
    }

    pub(super) fn style(&self) -> Style {
        self.site.workspace.house.style
    }

    /// The values; none where the order is not complete, and none of a bag
    /// that nobody can make up: then there are obstacles.
    pub(super) fn values(&self) -> Option<&Values> {
        let values = self.analysis.values.as_ref().ok();
        values.filter(|_| self.impossible.is_empty())
    }

    /// What stands in the way of any value, in words.
    pub(super) fn obstacles(&self) -> Vec<String> {
        match &self.analysis.values {
            Err(incomplete) => incomplete.told(|span| line(self.site, self.id, span)),
            Ok(_) => self.impossible.clone(),
        }
    }

    /// The answers to one question, gathered over the views.
    pub(super) fn ask<'s>(
        &'s self,
        measure: ExpectMeasure,
        setting: Option<&'s Size>,
    ) -> Vec<Group<'s>> {
        self.ask_in(measure, setting, None)
    }

    /// The same, counted in a unit.
    pub(super) fn ask_in<'s>(
        &'s self,
        measure: ExpectMeasure,
        setting: Option<&'s Size>,
        unit: Option<Unit>,
    ) -> Vec<Group<'s>> {
        let question = Question {
            measure: &measure,
            per_day: false,
            dose: setting,
            unit,
        };
        self.gather(setting, |measures| measures.answer(&question))
    }

    /// Every value, gathered over the views.
    pub(super) fn all(&self) -> Vec<Group<'_>> {
        self.gather(None, |measures| measures.all(None))
    }

    fn gather<'s>(
        &'s self,
        setting: Option<&'s Size>,
        values: impl Fn(Measures<'_>) -> Vec<Value>,
    ) -> Vec<Group<'s>> {
        let Some(derived) = self.values() else {
            return Vec::new();
        };
        let order = &self.analysis.order;
        gather(&derived.views, setting, |view| {
            values(Measures { order, view })
        })
    }

    /// Between what a value lies, in words: for whom it is shown.
    pub(super) fn told<'g>(&self, group: &'g Group<'_>) -> Option<ValueText<'g>> {
        let (_, first) = group.over.first()?;
        let reach = group.reach(match &self.whom {
            Whom::One(weight) => Some(weight),
            Whom::All | Whom::NotCovered(_) => None,
        })?;
        let varies = !group.over.iter().all(|(_, value)| value.is_constant());
        Some(ValueText {
            text: reach.told(first, self.style()),
            varies,
            reach,
        })
    }

    /// A value's number at a spot, with its unit.
    pub(super) fn number(&self, value: &Value, spot: &Spot<'_>) -> Option<Printed> {
        spot.told(value, self.style())
    }

    /// ` over 40 to 150 kg`, ` at 70 kg`; nothing where no patient is told from
    /// another.
    pub(super) fn over(&self, told: &ValueText<'_>) -> String {
        if !told.varies {
            return String::new();
        }
        match &self.whom {
            Whom::One(weight) => format!(" at {}", self.patient(weight, units::KG)),
            Whom::All | Whom::NotCovered(_) => {
                let patients = self.patients();
                if patients.is_empty() {
                    String::new()
                } else {
                    format!(" over {patients}")
                }
            }
        }
    }

    /// The patients of the order: `40 to 150 kg`, `40 to 150 kg, 1.2 to 2.2 m2`.
    pub(super) fn patients(&self) -> String {
        patients(&self.analysis.order, self.style())
    }

    /// `70 kg`, `1.8 m2`.
    pub(super) fn patient(&self, value: &Exact, unit: Unit) -> Printed {
        self.style().quantity(&Quantity::new(value.clone(), unit))
    }

    /// The groups that follow from a line: a bag's, a run's, a bolus's.
    pub(super) fn of_line<'g>(groups: Vec<Group<'g>>, line: &Line) -> Vec<Group<'g>> {
        let here = |group: &Group<'_>| {
            let first = group.over.first();
            first.is_some_and(|(_, value)| value.span == line.span)
        };
        groups.into_iter().filter(here).collect()
    }
}

/// The line of a span of the stanza in its file, from 1.
fn line(site: Site<'_>, id: StanzaId, span: Span) -> usize {
    site.workspace.line_number(id, span)
}

fn over_weight(analysis: &Analysis) -> bool {
    analysis.values.as_ref().is_ok_and(|values| {
        let mut views = values.views.iter();
        views.all(|view| view.patients.variable == Variable::Weight)
    })
}
