//! An order's values, as hints, hovers and lenses show them.

use gutta_notation::ast::ExpectMeasure;
use gutta_notation::{Fact, Line, Span, Written, read_quantity};
use gutta_protocol::derive::{Incomplete, Values, Variable, View};
use gutta_protocol::measures::{Measure, Measures, Question, Reach, Spot, Value, reach};
use gutta_protocol::model::size::{Scalar, Size};
use gutta_protocol::{Analysis, StanzaId};
use gutta_quantity::print::Digits;
use gutta_quantity::{Exact, Quantity, Unit, units};

use crate::state::Site;

/// An order, and the patients for whom its values are shown.
#[derive(Debug)]
pub(super) struct Shown<'a> {
    pub(super) site: Site<'a>,
    pub(super) id: StanzaId,
    pub(super) analysis: Analysis,
    pub(super) whom: Whom,
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

/// One value, over each view of its order.
#[derive(Debug)]
pub(super) struct Group<'a> {
    pub(super) over: Vec<(&'a View, Value)>,
    /// At which setting, where it is another than the order starts with.
    pub(super) setting: Option<&'a Size>,
}

/// A value in words.
#[derive(Debug)]
pub(super) struct Told<'a> {
    /// `1.8–6.75 mL/h`.
    pub(super) text: String,
    pub(super) varies: bool,
    pub(super) reach: Reach<'a>,
}

/// What stands where there is no number.
pub(super) const NOTHING: &str = "\u{2014}";

impl<'a> Shown<'a> {
    /// The order or specimen of a stanza.
    pub(super) fn of(site: Site<'a>, id: StanzaId) -> Self {
        let analysis = Analysis::of(site.workspace, site.library(), id);
        let weight = site.settings.hints.weight.as_deref().and_then(weight);
        let whom = match (weight, &analysis.order.weight) {
            (Some(weight), Some(extent)) if !extent.reaches(&weight) => Whom::NotCovered(weight),
            (Some(weight), Some(_)) if over_weight(&analysis) => Whom::One(weight),
            _ => Whom::All,
        };
        Self {
            site,
            id,
            analysis,
            whom,
        }
    }

    pub(super) fn digits(&self) -> Digits {
        self.site.workspace.house.digits()
    }

    pub(super) fn values(&self) -> Result<&Values, &Incomplete> {
        self.analysis.values.as_ref()
    }

    /// What stands in the way of any value, in words.
    pub(super) fn obstacles(&self, incomplete: &Incomplete) -> Vec<String> {
        let mut told = Vec::new();
        for problem in &incomplete.problems {
            let what = problem.kind.told(self.line_number(problem.span));
            if !told.contains(&what) {
                told.push(what);
            }
        }
        told
    }

    /// The line of a span in its file, from 1.
    fn line_number(&self, span: Span) -> usize {
        let place = self.site.workspace.place(self.id, span);
        let text = &self.site.source().text;
        let before = text.get(..place.span.start as usize).unwrap_or("");
        1 + before.matches('\n').count()
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
        let Ok(derived) = &self.analysis.values else {
            return Vec::new();
        };
        let order = &self.analysis.order;
        gather(&derived.views, setting, |view| {
            values(Measures { order, view })
        })
    }

    /// Between what a value lies, in words: for whom it is shown.
    pub(super) fn told<'g>(&self, group: &'g Group<'_>) -> Option<Told<'g>> {
        let (_, first) = group.over.first()?;
        let over: Vec<_> = group
            .over
            .iter()
            .map(|(view, value)| (*view, value))
            .collect();
        let reach = match &self.whom {
            Whom::One(weight) => at(&over, weight)?,
            Whom::All | Whom::NotCovered(_) => reach(&over)?,
        };
        let varies = !over.iter().all(|(_, value)| value.is_constant());
        Some(Told {
            text: between(
                &self.number(first, &reach.from),
                &self.number(first, &reach.to),
            ),
            varies,
            reach,
        })
    }

    /// A value's number at a spot, with its unit.
    pub(super) fn number(&self, value: &Value, spot: &Spot<'_>) -> String {
        match &spot.number {
            Some(number) => value.told(number, self.digits()),
            None => NOTHING.to_owned(),
        }
    }

    /// ` over 40–150 kg`, ` at 70 kg`; nothing where no patient is told from
    /// another.
    pub(super) fn over(&self, told: &Told<'_>) -> String {
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

    /// The patients of the order: `40–150 kg`, `40–150 kg, 1.2–2.2 m2`.
    pub(super) fn patients(&self) -> String {
        let order = &self.analysis.order;
        let sides = [(&order.weight, units::KG), (&order.surface, units::M2)];
        let told = sides.into_iter().filter_map(|(extent, unit)| {
            let extent = extent.as_ref()?;
            let (low, high) = (extent.low.as_ref()?, extent.high.as_ref()?);
            Some(between(&self.patient(low, unit), &self.patient(high, unit)))
        });
        told.collect::<Vec<_>>().join(", ")
    }

    /// `70 kg`, `1.8 m2`.
    pub(super) fn patient(&self, value: &Exact, unit: Unit) -> String {
        self.digits().quantity(&Quantity::new(value.clone(), unit))
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

impl Group<'_> {
    pub(super) fn value(&self) -> Option<&Value> {
        self.over.first().map(|(_, value)| value)
    }

    pub(super) fn is(&self, measure: &Measure) -> bool {
        self.value().is_some_and(|value| value.measure == *measure)
    }

    /// Whether the line states this very value.
    pub(super) fn is_written(&self, fact: &Fact) -> bool {
        let states = |value: &Value, view: &View, written: &Written| {
            let at = view.patients.interval.lo();
            written.quantity().is_some_and(|quantity| {
                quantity.unit.commensurable(value.unit)
                    && value.at(at).as_ref() == Some(&quantity.base())
            })
        };
        let written = fact.quantities();
        self.over.iter().all(|(view, value)| {
            value.is_constant() && written.iter().any(|written| states(value, view, written))
        })
    }
}

/// Gathers what several views say of the same.
pub(super) fn gather<'v>(
    views: &'v [View],
    setting: Option<&'v Size>,
    values: impl Fn(&View) -> Vec<Value>,
) -> Vec<Group<'v>> {
    let mut groups: Vec<Group<'v>> = Vec::new();
    for view in views {
        for value in values(view) {
            let same = |group: &&mut Group<'_>| {
                group.over.first().is_some_and(|(other_view, other)| {
                    !std::ptr::eq(*other_view, view)
                        && other.measure == value.measure
                        && other.per_day == value.per_day
                        && (other.phase, other.run, other.bolus)
                            == (value.phase, value.run, value.bolus)
                        && other.unit.commensurable(value.unit)
                })
            };
            match groups.iter_mut().find(same) {
                Some(group) => group.over.push((view, value)),
                None => groups.push(Group {
                    over: vec![(view, value)],
                    setting,
                }),
            }
        }
    }
    groups
}

/// The values at one weight.
fn at<'v>(over: &[(&'v View, &Value)], weight: &Exact) -> Option<Reach<'v>> {
    let spots = || {
        over.iter().map(|(view, value)| Spot {
            view,
            x: weight.clone(),
            number: value.at(weight),
        })
    };
    let by = |spot: &Spot<'_>| spot.number.clone();
    Some(Reach {
        from: spots().min_by_key(by)?,
        to: spots().max_by_key(by)?,
    })
}

/// `2.4–7.2 mL/h` from `2.4 mL/h` and `7.2 mL/h`.
pub(super) fn between(from: &str, to: &str) -> String {
    if from == to {
        return from.to_owned();
    }
    let plain = |number: &str| !number.contains(char::is_alphabetic);
    if let (Some((low, unit)), Some((high, other))) = (from.rsplit_once(' '), to.rsplit_once(' '))
        && unit == other
        && plain(low)
        && plain(high)
    {
        return format!("{low}\u{2013}{high} {unit}");
    }
    format!("{from}\u{2013}{to}")
}

/// The number before its unit, where it is one number.
pub(super) fn bare(told: &str) -> &str {
    match told.rsplit_once(' ') {
        Some((number, _)) if !number.contains(char::is_alphabetic) => number,
        _ => told,
    }
}

/// A weight as the settings write it, in kg.
pub(crate) fn weight(text: &str) -> Option<Exact> {
    let weight = Scalar::read_weight(&read_quantity(text)?)?.value;
    weight.is_positive().then_some(weight)
}

fn over_weight(analysis: &Analysis) -> bool {
    analysis.values.as_ref().is_ok_and(|values| {
        let mut views = values.views.iter();
        views.all(|view| view.patients.variable == Variable::Weight)
    })
}
