//! The flow by patient at every setting that an `adjust` allows: what the pump
//! is set to.

use gutta_notation::ast::ExpectMeasure;
use gutta_protocol::derive::{Run, Setting as SetBy, Values, View};
use gutta_protocol::measures::{Measures, Question, WHY_NOTHING};
use gutta_protocol::model::order::{AdjustSpec, StepsSpec};
use gutta_protocol::model::size::Size;
use gutta_quantity::Exact;

use super::Context;
use crate::table::{Choice, Patients, alike};

/// More settings than this do not fit a page: then not each is shown, and
/// that is said.
const MOST: usize = 30;

/// The flow by patient and setting.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Settings {
    /// `pump flow`; `flow` where no pump is named.
    pub measure: &'static str,
    /// The unit of every cell.
    pub unit: String,
    /// Whom for; `None`: the same for every patient.
    pub patients: Option<Patients>,
    /// Each setting with its flows, one a patient.
    pub rows: Vec<Setting>,
    /// Whether some settings between are left out.
    pub thinned: bool,
    /// Why a value may not be there, where one is not.
    pub note: Option<&'static str>,
}

/// One setting.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Setting {
    /// `0.06 mcg/kg/min`.
    pub dose: String,
    /// Whether the run starts with it.
    pub start: bool,
    /// `3.2`; `None`: there is none.
    pub cells: Vec<Option<String>>,
}

/// The settings of a phase: a table for each view that says something else.
pub(super) fn settings(context: Context<'_>, values: &Values, phase: usize) -> Vec<Settings> {
    let spec = context.order.phases.get(phase);
    let Some(adjust) = spec.and_then(|spec| spec.adjust.as_ref()) else {
        return Vec::new();
    };
    let (steps, thinned) = steps(adjust);
    let named = spec.is_some_and(|spec| spec.pump.is_some());
    let measure = if named {
        ExpectMeasure::PumpFlow
    } else {
        ExpectMeasure::Flow
    };
    let mut all: Vec<Settings> = Vec::new();
    for view in &values.views {
        let of_view = Flows {
            context,
            view,
            phase,
            measure: &measure,
        };
        let settings = of_view.settings(&steps);
        all.extend(settings.map(|settings| Settings {
            thinned,
            ..settings
        }));
    }
    let all = all.into_iter().map(one_for_all).collect();
    let forget = |settings: &mut Settings| {
        if let Some(patients) = &mut settings.patients {
            patients.with = None;
        }
    };
    alike(all, forget, |settings| settings.rows.clone())
}

/// One column where every patient's flow is the same.
fn one_for_all(settings: Settings) -> Settings {
    let same = settings
        .rows
        .iter()
        .all(|row| row.cells.windows(2).all(|pair| pair[0] == pair[1]));
    if !same {
        return settings;
    }
    let rows = settings.rows.into_iter().map(|mut row| {
        row.cells.truncate(1);
        row
    });
    Settings {
        patients: None,
        rows: rows.collect(),
        ..settings
    }
}

/// Every setting, from low to high, or each so many-eth and the last.
fn steps(adjust: &AdjustSpec) -> (Vec<Size>, bool) {
    let all: Vec<Size> = match &adjust.steps {
        StepsSpec::List(list) => list.clone(),
        StepsSpec::By { low, high, step } => {
            let count = (&high.value - &low.value).checked_div(&step.value);
            let count = count.and_then(|count| count.floor().to_i64()).unwrap_or(0);
            // A step so small that its settings cannot be counted out is
            // thinned before.
            let every = 1 + count / i64::try_from(MOST).unwrap_or(1);
            let kept = (0..=count / every).map(|index| {
                let above = &step.value * &Exact::int(index * every);
                at(low, &low.value + &above)
            });
            let mut kept: Vec<_> = kept.collect();
            if every > 1 {
                let last = at(low, &low.value + &(&step.value * &Exact::int(count)));
                if kept.last() != Some(&last) {
                    kept.push(last);
                }
                return (kept, true);
            }
            kept
        }
    };
    (all, false)
}

fn at(like: &Size, value: Exact) -> Size {
    Size {
        value,
        ..like.clone()
    }
}

struct Flows<'a> {
    context: Context<'a>,
    view: &'a View,
    phase: usize,
    measure: &'a ExpectMeasure,
}

impl Flows<'_> {
    fn settings(&self, steps: &[Size]) -> Option<Settings> {
        let style = self.context.style;
        let patients = Patients::of(self.view, &[], Choice::Round, None, style);
        let places = match &patients {
            Some(patients) => patients.all.iter().map(|one| one.at.clone()).collect(),
            None => vec![self.view.patients.interval.lo().clone()],
        };
        let run = self.run()?;
        let (mut unit, mut rows) = (None, Vec::new());
        for step in steps {
            let value = self.value(step)?;
            let cells = places
                .iter()
                .map(|x| Some(value.told(&value.at(x)?, style).number));
            rows.push(Setting {
                dose: style.quantity(&step.quantity()).to_string(),
                start: self.starts_with(run, step),
                cells: cells.collect(),
            });
            unit = Some(style.unit(value.unit));
        }
        let gap = rows.iter().any(|row| row.cells.iter().any(Option::is_none));
        Some(Settings {
            measure: match self.measure {
                ExpectMeasure::PumpFlow => "pump flow",
                _ => "flow",
            },
            unit: unit?,
            patients,
            rows,
            thinned: false,
            note: gap.then_some(WHY_NOTHING),
        })
    }

    /// The run that can be adjusted.
    fn run(&self) -> Option<&Run> {
        let runs = &self.view.phases.get(self.phase)?.runs;
        let adjusted = |run: &&Run| {
            self.view
                .adjusted(self.context.order, self.phase, run.index)
                .is_some()
        };
        runs.iter().find(adjusted)
    }

    /// Whether the run starts with a setting.
    fn starts_with(&self, run: &Run, step: &Size) -> bool {
        match &run.setting {
            SetBy::Rate(start) => step.value == start.value && step.form == start.form,
            SetBy::Time => {
                let flow = self.view.flow_at(self.context.order, self.phase, run, step);
                flow.is_some_and(|flow| flow == run.flow)
            }
        }
    }

    fn value(&self, step: &Size) -> Option<gutta_protocol::measures::Value> {
        let (order, view) = (self.context.order, self.view);
        let run = self.run()?;
        let asked = Question {
            measure: self.measure,
            per_day: false,
            dose: Some(step),
            unit: None,
        };
        let answers = Measures { order, view }.answer(&asked);
        let mut own = answers.into_iter();
        own.find(|value| value.phase == Some(self.phase) && value.run == Some(run.index))
    }
}
