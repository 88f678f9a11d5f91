//! An order against its drug's limits: what breaches which bound, for which
//! patients, and what could not be judged.

use gutta_notation::ast::LimitMeasure;
use gutta_quantity::Exact;

use super::as_loads::{Otherwise, Unjudged};
use super::gives_way::gives_way;
use super::holds::{Asked, Holds, Stretch, without_all};
use super::prohibitions::Forbidden;
use super::readings::{Reader, Reading, Reads, Unknown};
use crate::StanzaId;
use crate::curve::{Curve, Region, covered};
use crate::derive::{Values, View};
use crate::model::limit::{LimitBound, Side};
use crate::model::order::Order;

/// What judging an order against its drug's limits found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Judgement {
    /// Values beyond their bounds.
    pub breaches: Vec<Breach>,
    /// Bounds whose conditions ask what the order does not say.
    pub unanswered: Vec<Unanswered>,
    /// Bounds that could not be compared.
    pub unchecked: Vec<Unchecked>,
    /// What is forbidden outright and done all the same.
    pub forbidden: Vec<Forbidden>,
    /// Runs that only the limits of loads could judge, and whose phase does not
    /// say that it is one.
    pub as_loads: Vec<Unjudged>,
    /// Runs of which no limit at all says how much may be given, nor how fast.
    pub unjudged: Vec<Unjudged>,
    /// What a giving without end gives in the drug's shortest interval, beyond
    /// a single dose, where no `total` judges it: by a bound made for it.
    pub in_interval: Vec<Breach>,
    /// How many bounds judged something.
    pub applied: usize,
}

impl Judgement {
    /// Whether no bound is passed, and none is left open or could not be
    /// compared.
    #[must_use]
    pub const fn is_kept(&self) -> bool {
        self.breaches.is_empty() && self.unchecked.is_empty() && self.unanswered.is_empty()
    }
}

/// A value beyond a bound.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Breach {
    /// The drug's stanza.
    pub drug: StanzaId,
    /// The bound.
    pub bound: LimitBound,
    /// Which view of the order.
    pub view: usize,
    /// The value.
    pub reading: Reading,
    /// For which patients, rising; never empty. For a value without end, or
    /// for an order whose values do not depend on the patient, the whole axis.
    pub regions: Vec<Region>,
    /// The value that lies furthest beyond, in base units of the bound's form,
    /// and where; `None`: it grows without end.
    pub worst: Option<(Exact, Exact)>,
}

impl Breach {
    /// Whether it is that of every patient whom the order covers: what is right
    /// for some of them is no wrong number, but may lack a lid.
    #[must_use]
    pub fn is_of_every_patient(&self, values: &Values) -> bool {
        let Some(view) = values.views.get(self.view) else {
            return false;
        };
        let whole = &view.patients.interval;
        let mut regions = self.regions.iter();
        regions.any(|region| region.from.x <= *whole.lo() && region.to.x >= *whole.hi())
    }

    /// Whether it is of every patient of its view whom the other is of.
    #[must_use]
    pub fn covers(&self, other: &Self) -> bool {
        covered(&other.regions, &self.regions)
    }
}

/// A bound whose conditions the order leaves open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unanswered {
    /// The drug's stanza.
    pub drug: StanzaId,
    /// The limit's line.
    pub span: gutta_notation::Span,
    /// What is asked.
    pub asked: Asked,
}

/// A bound that could not be compared, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unchecked {
    /// The drug's stanza.
    pub drug: StanzaId,
    /// The limit's line.
    pub span: gutta_notation::Span,
    /// What it measures.
    pub measure: LimitMeasure,
    /// The order's line.
    pub at: gutta_notation::Span,
    /// Why.
    pub why: Unknown,
}

/// Judges an order that is complete.
#[must_use]
pub fn judge(order: &Order, values: &Values) -> Judgement {
    let mut judgement = Judgement::default();
    let Some(drug) = &order.drug else {
        return judgement;
    };
    let id = drug.id;
    let limits = &drug.value.limits;
    let loads_too = !states_loads(limits);
    for (index, view) in values.views.iter().enumerate() {
        let reader = Reader::new(order, view);
        let mut otherwise = Otherwise::default();
        let mut judging = Judging {
            judgement: &mut judgement,
            order,
            view,
            index,
            drug: id,
            limits,
        };
        for bound in limits {
            let mut judged = false;
            for reading in reader.readings(bound, loads_too) {
                let run = reading.run.map(|run| (reading.phase, run));
                let over = judge_reading(&mut judging, bound, reading, None);
                judged |= !over.is_empty();
                otherwise.note(&reader, bound, run, &over);
            }
            judging.judgement.applied += usize::from(judged);
        }
        super::renewed::judge(&mut judging, &reader, &mut otherwise);
        super::endless::judge(&mut judging, &reader, &otherwise);
        super::as_loads::judge(&mut judging, &reader, &otherwise);
    }
    super::prohibitions::forbidden(&mut judgement, order, values);
    judgement
}

/// Whether a complete order keeps these bounds of its drug, and each could be
/// compared and says of whom it holds. They are looked at one after the other,
/// and none after the first that is not kept, so that the likeliest goes first.
///
/// What bags that follow one another are held to beside that, and what may be a
/// load, is left to [`judge`].
#[must_use]
pub fn keeps(order: &Order, values: &Values, bounds: &[&LimitBound]) -> bool {
    !comes_to(order, values, bounds, |judgement| !judgement.is_kept())
}

/// Whether a complete order passes one of these bounds of its drug so, as far as
/// [`keeps`] looks.
#[must_use]
pub fn passes(
    order: &Order,
    values: &Values,
    bounds: &[&LimitBound],
    so: impl Fn(&Breach) -> bool,
) -> bool {
    comes_to(order, values, bounds, |judgement| {
        judgement.breaches.iter().any(&so)
    })
}

/// Whether the judgement by these bounds comes to this: asked after each bound
/// and view, and no further once it does.
fn comes_to(
    order: &Order,
    values: &Values,
    bounds: &[&LimitBound],
    this: impl Fn(&Judgement) -> bool,
) -> bool {
    let Some(drug) = &order.drug else {
        return false;
    };
    let limits = &drug.value.limits;
    let loads_too = !states_loads(limits);
    let views = values.views.iter();
    let readers: Vec<_> = views.map(|view| Reader::new(order, view)).collect();
    let mut judgement = Judgement::default();
    for bound in bounds {
        for (index, reader) in readers.iter().enumerate() {
            let mut judging = Judging {
                judgement: &mut judgement,
                order,
                view: reader.view,
                index,
                drug: drug.id,
                limits,
            };
            for reading in reader.readings(bound, loads_too) {
                judge_reading(&mut judging, bound, reading, None);
            }
            if this(&judgement) {
                return true;
            }
        }
    }
    false
}

/// Whether a drug states limits of loads: its other limits then leave loads to
/// them.
#[must_use]
pub fn states_loads(limits: &[LimitBound]) -> bool {
    limits.iter().any(|bound| {
        let of_loads = matches!(
            bound.measure,
            LimitMeasure::Bolus | LimitMeasure::BolusRate | LimitMeasure::BolusTime
        );
        of_loads && !bound.usual
    })
}

/// What the readings of one view are judged for, and where it is noted.
pub(super) struct Judging<'a> {
    pub(super) judgement: &'a mut Judgement,
    pub(super) order: &'a Order,
    pub(super) view: &'a View,
    /// Which view it is.
    pub(super) index: usize,
    /// The drug's stanza.
    pub(super) drug: StanzaId,
    pub(super) limits: &'a [LimitBound],
}

/// Compares one reading with one bound, within these stretches; for whom the
/// bound applies to it.
pub(super) fn judge_reading(
    judging: &mut Judging<'_>,
    bound: &LimitBound,
    reading: Reading,
    within: Option<&[Stretch]>,
) -> Vec<Stretch> {
    let &mut Judging {
        ref mut judgement,
        order,
        view,
        index,
        drug,
        limits,
    } = judging;
    let Some(phase) = order.phases.get(reading.phase) else {
        return Vec::new();
    };
    let Holds { mut over, asked } =
        gives_way(order, phase, &view.patients, reading.load, bound, limits);
    over = without_all(over, &reading.given_way);
    if let Some(within) = within {
        over = shared(&over, within);
        if over.is_empty() {
            return over;
        }
    }
    for asked in &asked {
        unanswered(judgement, drug, bound.span, asked);
    }
    if let (Some(after), Some(ends)) = (&bound.when.after_first, &reading.ends) {
        // What ends within the first time is not judged.
        let later = ends
            .where_above(&view.patients.constant(after.clone()))
            .unwrap_or_default();
        let later: Vec<_> = later.iter().map(Stretch::of_region).collect();
        over = shared(&over, &later);
    }
    if over.is_empty() {
        return over;
    }
    match &reading.value {
        Reads::Unknown(why) => {
            let (span, at) = (bound.span, reading.span);
            let unchecked = Unchecked {
                drug,
                span,
                measure: bound.measure,
                at,
                why: *why,
            };
            if !judgement.unchecked.contains(&unchecked) {
                judgement.unchecked.push(unchecked);
            }
        }
        Reads::WithoutEnd => {
            if bound.side == Side::High {
                let regions = over.iter().map(Stretch::region).collect();
                judgement.breaches.push(Breach {
                    drug,
                    bound: bound.clone(),
                    view: index,
                    reading,
                    regions,
                    worst: None,
                });
            }
        }
        Reads::Value(curve) => {
            let mut regions = Vec::new();
            let mut worst: Option<(Exact, Exact)> = None;
            for stretch in &over {
                let line = super::asked::asked((order, view, limits), bound, &reading, stretch);
                let Some(found) = beyond_line(curve, stretch, bound, &line) else {
                    continue;
                };
                regions.extend(found.0);
                worst = match (worst, found.1) {
                    (None, found) => found,
                    (Some(known), Some(found)) if further(&found.0, &known.0, bound.side) => {
                        Some(found)
                    }
                    (known, _) => known,
                };
            }
            if !regions.is_empty() {
                judgement.breaches.push(Breach {
                    drug,
                    bound: bound.clone(),
                    view: index,
                    reading,
                    regions,
                    worst,
                });
            }
        }
    }
    over
}

/// What two rows of stretches share.
pub(super) fn shared(one: &[Stretch], other: &[Stretch]) -> Vec<Stretch> {
    let each = one.iter();
    each.flat_map(|stretch| other.iter().filter_map(|other| stretch.intersect(other)))
        .collect()
}

fn further(one: &Exact, other: &Exact, side: Side) -> bool {
    match side {
        Side::High => one > other,
        Side::Low => one < other,
    }
}

/// Where a curve lies beyond a bound, and its worst value with the place of it.
pub type Beyond = (Vec<Region>, Option<(Exact, Exact)>);

/// Where on a stretch a curve lies beyond a bound, with the worst of it.
#[must_use]
pub fn beyond(curve: &Curve, stretch: &Stretch, bound: &LimitBound) -> Option<Beyond> {
    let line = Curve::constant(curve.span().clone(), bound.bound.clone());
    beyond_line(curve, stretch, bound, &line)
}

/// The same, where the bound itself depends on the patient.
fn beyond_line(
    curve: &Curve,
    stretch: &Stretch,
    bound: &LimitBound,
    line: &Curve,
) -> Option<Beyond> {
    let interval = stretch.interval()?;
    let (part, line) = (curve.restrict(&interval)?, line.restrict(&interval)?);
    let mut regions = match bound.side {
        Side::High => part.where_above(&line)?,
        Side::Low => part.where_below(&line)?,
    };
    if stretch.hi_excluded {
        // A single number at an end that is left out is no breach.
        regions.retain(|region| region.from.x < stretch.hi);
        if let Some(last) = regions.last_mut() {
            last.to.included &= last.to.x != stretch.hi;
        }
    }
    if regions.is_empty() {
        return None;
    }
    let apart = match bound.side {
        Side::High => part.sub(&line)?,
        Side::Low => line.sub(&part)?,
    };
    let x = apart.max_value()?.x;
    Some((regions, Some((part.at(&x)?, x))))
}

pub(super) fn unanswered(
    judgement: &mut Judgement,
    drug: StanzaId,
    span: gutta_notation::Span,
    asked: &Asked,
) {
    let unanswered = Unanswered {
        drug,
        span,
        asked: asked.clone(),
    };
    if !judgement.unanswered.contains(&unanswered) {
        judgement.unanswered.push(unanswered);
    }
}
