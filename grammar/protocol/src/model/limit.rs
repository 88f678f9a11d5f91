//! A drug's limits, each bound on its own.

use gutta_notation::ast::{
    Bound, Conditions, Limit, LimitMeasure, Never, NeverWhat, Route, Usual, Window,
};
use gutta_notation::{Span, Spanned, Written};
use gutta_quantity::{Dimension, Exact, Unit};
use smol_str::SmolStr;

use super::lower::{Lowering, is_amount, is_dose, is_flow, plain};
use super::size::{DrugKind, Extent, Form, Per, Scalar, Size, Stuff};

/// Which side of its bound a value must keep to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Side {
    /// Not below the bound.
    Low,
    /// Not above the bound.
    High,
}

/// In what a limit's bound is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum LimitForm {
    /// An amount, volume or rate of one.
    Size(Form),
    /// A time.
    Time,
    /// Drug per volume.
    Strength(DrugKind),
    /// Osmoles per volume.
    Osmolarity,
}

/// The time over which a total is taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TotalOver {
    /// The whole order.
    Order,
    /// The most in any stretch of this length (base units of time).
    Any(Exact),
}

/// One bound of one limit. A `usual` with two ends is two of these.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LimitBound {
    /// What is measured.
    pub measure: LimitMeasure,
    /// Whether it is a `usual`, else a `never`.
    pub usual: bool,
    /// Which side is kept.
    pub side: Side,
    /// The bound, in base units of `form`.
    pub bound: Exact,
    /// In what it is counted.
    pub form: LimitForm,
    /// The unit as written.
    pub unit: Unit,
    /// For a total.
    pub over: TotalOver,
    /// When it holds.
    pub when: When,
    /// When a `never` does not hold: any of these.
    pub except: Vec<When>,
    /// The whole line, in the drug's stanza.
    pub span: Span,
    /// The bound as written, in the drug's stanza.
    pub bound_span: Span,
}

/// Conditions with their values judged. All kinds asked for must hold.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct When {
    /// Any of these routes.
    pub routes: Vec<Route>,
    /// Any of these areas.
    pub areas: Vec<SmolStr>,
    /// Body weights in kg.
    pub weights: Option<Extent>,
    /// Body surfaces in m2.
    pub surfaces: Option<Extent>,
    /// Ages in base units of time.
    pub ages: Option<Extent>,
    /// Any of these purposes.
    pub purposes: Vec<SmolStr>,
    /// Only beyond this time from the start.
    pub after_first: Option<Exact>,
}

/// `never by`, `never in`, `never undiluted`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Prohibition {
    /// What is forbidden.
    pub what: Prohibited,
    /// When.
    pub when: When,
    /// When not: any of these.
    pub except: Vec<When>,
    /// The whole line, in the drug's stanza.
    pub span: Span,
}

/// What a prohibition forbids.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Prohibited {
    /// Any of these routes.
    Routes(Vec<Route>),
    /// Any of these areas.
    Areas(Vec<SmolStr>),
    /// The drug as supplied.
    Undiluted,
}

pub(crate) fn lower_usual(
    lowering: &mut Lowering,
    usual: &Usual,
    span: Span,
) -> Option<Vec<LimitBound>> {
    let when = lower_when(lowering, &usual.conditions)?;
    bounds(lowering, &usual.limit, span, true, &when, &[])
}

/// The bounds of a `never`, or the prohibition that it is.
pub(crate) fn lower_never(
    lowering: &mut Lowering,
    never: &Never,
    span: Span,
) -> Option<Result<Vec<LimitBound>, Prohibition>> {
    let when = lower_when(lowering, &never.conditions)?;
    let except = match &never.except {
        Some(alternatives) => alternatives
            .value
            .iter()
            .map(|alternative| lower_when(lowering, alternative))
            .collect::<Option<Vec<_>>>()?,
        None => Vec::new(),
    };
    let what = match &never.what {
        NeverWhat::Limit(limit) => {
            return bounds(lowering, limit, span, false, &when, &except).map(Ok);
        }
        NeverWhat::By(routes) => Prohibited::Routes(values(routes)),
        NeverWhat::In(areas) => Prohibited::Areas(plain(areas)),
        NeverWhat::Undiluted => Prohibited::Undiluted,
    };
    Some(Err(Prohibition {
        what,
        when,
        except,
        span,
    }))
}

fn values(routes: &[Spanned<Route>]) -> Vec<Route> {
    routes.iter().map(|route| route.value).collect()
}

fn lower_when(lowering: &mut Lowering, conditions: &Conditions) -> Option<When> {
    let mut when = When {
        routes: values(&conditions.routes),
        areas: plain(&conditions.areas),
        purposes: plain(&conditions.purposes),
        ..When::default()
    };
    if let Some(range) = &conditions.patients {
        let of_surface = [&range.low, &range.high]
            .into_iter()
            .flatten()
            .any(|end| Scalar::read(end, Dimension::SURFACE).is_some());
        if of_surface {
            when.surfaces = Some(lowering.surfaces(range)?);
        } else {
            when.weights = Some(lowering.weights(range)?);
        }
    }
    if let Some(range) = &conditions.aged {
        when.ages = Some(lowering.times(range)?);
    }
    if let Some(time) = &conditions.after_first {
        when.after_first = Some(lowering.time(time)?.value);
    }
    Some(when)
}

fn bounds(
    lowering: &mut Lowering,
    limit: &Limit,
    span: Span,
    usual: bool,
    when: &When,
    except: &[When],
) -> Option<Vec<LimitBound>> {
    let measure = limit.measure.value;
    let over = match &limit.window {
        None => TotalOver::Order,
        Some(window) => match &window.value {
            Window::PerDay => TotalOver::Any(Exact::int(24 * 60)),
            Window::InAny(time) => TotalOver::Any(lowering.time(time)?.value),
        },
    };
    let mut one = |written: &Written, side| {
        let (bound, form) = bound(lowering, measure, written)?;
        Some(LimitBound {
            measure,
            usual,
            side,
            bound,
            form,
            unit: written.unit.known()?,
            over: over.clone(),
            when: when.clone(),
            except: except.to_vec(),
            span,
            bound_span: written.span,
        })
    };
    match &limit.bound {
        Bound::NotAbove(written) => Some(vec![one(written, Side::High)?]),
        Bound::NotBelow(written) => Some(vec![one(written, Side::Low)?]),
        Bound::Within(range) => {
            let mut both = Vec::with_capacity(2);
            if let Some(low) = &range.low {
                both.push(one(low, Side::Low)?);
            }
            if let Some(high) = &range.high {
                both.push(one(high, Side::High)?);
            }
            Some(both)
        }
    }
}

/// The bound of a measure in base units, with what it is counted in.
fn bound(
    lowering: &mut Lowering,
    measure: LimitMeasure,
    written: &Written,
) -> Option<(Exact, LimitForm)> {
    let sized = |size: Size| (size.value, LimitForm::Size(size.form));
    match measure {
        LimitMeasure::Dose => lowering
            .size(written, "a dose (drug per time)", is_dose)
            .map(sized),
        LimitMeasure::Flow => lowering
            .size(written, "a flow (volume per time)", is_flow)
            .map(sized),
        LimitMeasure::SingleDose | LimitMeasure::Total => lowering
            .size(written, "an amount of drug", is_amount)
            .map(sized),
        LimitMeasure::Bolus => lowering
            .size(written, "an amount of drug or a volume", |form| {
                !form.rate && form.stuff != Stuff::Drops
            })
            .map(sized),
        LimitMeasure::BolusRate => lowering
            .size(written, "a flow or drug per time", |form| {
                form.rate && form.stuff != Stuff::Drops
            })
            .map(sized),
        LimitMeasure::Interval | LimitMeasure::BolusTime | LimitMeasure::Time => lowering
            .time(written)
            .map(|time| (time.value, LimitForm::Time)),
        LimitMeasure::Strength => {
            strength(lowering, written).map(|(value, kind)| (value, LimitForm::Strength(kind)))
        }
        LimitMeasure::Osmolarity => lowering
            .scalar(
                written,
                Dimension::OSMOLES.minus(Dimension::VOLUME),
                "an osmolarity (mOsm/L)",
            )
            .map(|scalar| (scalar.value, LimitForm::Osmolarity)),
    }
}

/// Drug per volume, in base units, with what the drug is counted in.
pub(crate) fn strength(lowering: &mut Lowering, written: &Written) -> Option<(Exact, DrugKind)> {
    let quantity = written.quantity()?;
    let drug = quantity.dimension().plus(Dimension::VOLUME);
    let form = Form::of(drug).filter(|form| is_amount(form) && form.per == Per::Patient);
    match form.and_then(|form| form.drug()) {
        Some(kind) => Some((quantity.base(), kind)),
        None => {
            lowering.size(written, "a strength (drug per volume)", |_| false);
            None
        }
    }
}
