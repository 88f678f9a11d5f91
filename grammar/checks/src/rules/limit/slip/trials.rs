//! The order with one number set right, judged: each correction once, whatever
//! breach it may explain.

use std::cell::{OnceCell, RefCell};
use std::rc::Rc;

use gutta_notation::Span;
use gutta_notation::ast::LimitMeasure;
use gutta_protocol::Analysis;
use gutta_protocol::derive::Patient;
use gutta_protocol::limits::keeps;
use gutta_protocol::model::limit::{LimitBound, TotalOver};
use gutta_protocol::model::order::Order;
use rustc_hash::{FxHashMap, FxHashSet};

use super::bags::{Bags, stays_with_its_bag};
use super::candidates::Candidate;
use crate::as_if::AsIf;
use crate::finding::Key;
use crate::slots::Slot;
use crate::{Finding, OrderContext, Rule};

/// An order that breaks no limit, and is no worse in anything else.
#[derive(Debug)]
pub(super) struct Trial {
    /// The order, with what follows from it.
    pub(super) right: Rc<Analysis>,
    /// How many of the worked examples do not hold of it.
    pub(super) wrong: usize,
}

type Tried = FxHashMap<(Span, String), Option<Rc<Trial>>>;

/// What is tried with one order.
pub(super) struct Trials<'a> {
    as_if: AsIf<'a>,
    bags: &'a Bags,
    bounds: Vec<&'a LimitBound>,
    /// What is wrong with the order as it is written.
    known: OnceCell<Vec<Key>>,
    /// What came of a number's correction, by its text.
    tried: RefCell<Tried>,
}

impl<'a> Trials<'a> {
    pub(super) fn new(as_if: AsIf<'a>, bags: &'a Bags) -> Self {
        Self {
            as_if,
            bags,
            bounds: in_turn(as_if.context),
            known: OnceCell::new(),
            tried: RefCell::default(),
        }
    }

    pub(super) const fn context(&self) -> &'a OrderContext<'a> {
        self.as_if.context
    }

    /// What is tried with one number.
    pub(super) fn of_slot<'t>(&'t self, slot: &'t Slot) -> OfSlot<'t> {
        OfSlot {
            trials: self,
            slot,
            alone: OnceCell::new(),
        }
    }

    /// Whether it is right, and nothing is wrong with it that was right.
    fn trial(&self, order: Order) -> Option<Trial> {
        let right = fitting_by(&self.as_if, &self.bounds, order)?;
        let known = self.known.get_or_init(|| {
            let found = self.as_if.found(self.context().analysis, |_| true);
            found.iter().map(Finding::key).collect()
        });
        if self.as_if.brings(&right, known) {
            return None;
        }
        let wrong = self.as_if.found(&right, Rule::is_example).len();
        let right = Rc::new(right);
        Some(Trial { right, wrong })
    }
}

/// What is tried with one number.
pub(super) struct OfSlot<'t> {
    trials: &'t Trials<'t>,
    slot: &'t Slot,
    /// The phases of its bags, where there are others.
    alone: OnceCell<Option<(Order, Vec<&'t LimitBound>)>>,
}

impl OfSlot<'_> {
    /// The order with this correction, if all is right then.
    pub(super) fn tried(&self, candidate: &Candidate) -> Option<Rc<Trial>> {
        let correction = (self.slot.span, candidate.told.to_string());
        if let Some(known) = self.trials.tried.borrow().get(&correction) {
            return known.clone();
        }
        let trial = self.trial(candidate).map(Rc::new);
        let mut tried = self.trials.tried.borrow_mut();
        tried.insert(correction, trial.clone());
        trial
    }

    fn trial(&self, candidate: &Candidate) -> Option<Trial> {
        let Trials { bags, bounds, .. } = self.trials;
        let order = &self.trials.context().analysis.order;
        // What goes wrong with the bags concerned alone needs no look at the rest.
        let alone = self.alone.get_or_init(|| {
            let bounds = bounds.iter().copied();
            let bounds = bounds.filter(|bound| stays_with_its_bag(bound)).collect();
            Some((bags.alone(order, self.slot.line)?, bounds))
        });
        if let Some((alone, bounds)) = alone {
            let right = candidate.corrected(alone, self.slot)?;
            let right = Analysis::of_order(right, &Patient::default());
            if let Ok(values) = &right.values
                && !keeps(&right.order, values, bounds)
            {
                return None;
            }
        }
        self.trials.trial(candidate.corrected(order, self.slot)?)
    }
}

/// The bounds of an order's drug in the order in which they are asked: those that
/// are passed before others, and what has to be summed up over time last.
fn in_turn<'a>(context: &OrderContext<'a>) -> Vec<&'a LimitBound> {
    let Some(drug) = &context.analysis.order.drug else {
        return Vec::new();
    };
    let place = |bound: &LimitBound| (bound.span, bound.bound_span);
    let breaches = context.analysis.judgement().breaches.iter();
    let passed: FxHashSet<_> = breaches.map(|breach| place(&breach.bound)).collect();
    let mut bounds: Vec<_> = drug.value.limits.iter().collect();
    bounds.sort_by_key(|bound| {
        let summed =
            bound.measure == LimitMeasure::Total && matches!(bound.over, TotalOver::Any(_));
        (summed, !passed.contains(&place(bound)))
    });
    bounds
}

/// The values of an order that breaks no limit at all; else nothing.
pub(super) fn fitting(as_if: &AsIf<'_>, order: Order) -> Option<Analysis> {
    fitting_by(as_if, &in_turn(as_if.context), order)
}

fn fitting_by(as_if: &AsIf<'_>, bounds: &[&LimitBound], order: Order) -> Option<Analysis> {
    let analysis = Analysis::of_order(order, &Patient::default());
    let values = analysis.values.as_ref().ok()?;
    let kept = keeps(&analysis.order, values, bounds)
        && analysis.judgement().is_kept()
        && as_if
            .found(&analysis, Rule::is_kept_beside_limits)
            .is_empty();
    kept.then_some(analysis)
}
