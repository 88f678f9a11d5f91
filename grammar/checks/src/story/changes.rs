//! The order with one number changed, looked at once, whatever finding's cause
//! is sought.

use std::cell::{OnceCell, RefCell};
use std::rc::Rc;

use gutta_notation::Span;
use gutta_protocol::Analysis;
use gutta_protocol::derive::Patient;
use gutta_quantity::Exact;
use rustc_hash::FxHashMap;

use crate::as_if::AsIf;
use crate::finding::Key;
use crate::slots::Slot;
use crate::{Finding, OrderContext, Rule, rules};

type ChangesMade = FxHashMap<(Span, (i64, i64)), Option<Rc<Changed>>>;

/// What is tried with one order.
pub(super) struct Changes<'a> {
    context: &'a OrderContext<'a>,
    findings: &'a [Finding],
    /// Each, by the place of the number and by how much it is another.
    made: RefCell<ChangesMade>,
}

/// An order with one number changed.
pub(super) struct Changed {
    pub(super) analysis: Analysis,
    pub(super) said: RuleAnswers,
    brings: OnceCell<bool>,
}

/// What each rule says of an order, looked up when it is first asked for.
#[derive(Default)]
pub(super) struct RuleAnswers(RefCell<FxHashMap<&'static str, Rc<[Key]>>>);

impl<'a> Changes<'a> {
    pub(super) fn new(context: &'a OrderContext<'a>, findings: &'a [Finding]) -> Self {
        Self {
            context,
            findings,
            made: RefCell::default(),
        }
    }

    /// The order with this number so many times as large; `None` where nothing
    /// follows from it.
    pub(super) fn changed(&self, slot: &Slot, factor: (i64, i64)) -> Option<Rc<Changed>> {
        let change = (slot.span, factor);
        if let Some(made) = self.made.borrow().get(&change) {
            return made.clone();
        }
        let made = self.change(slot, factor).map(Rc::new);
        self.made.borrow_mut().insert(change, made.clone());
        made
    }

    fn change(&self, slot: &Slot, (times, parts): (i64, i64)) -> Option<Changed> {
        let factor = Exact::ratio(times, parts)?;
        let order = slot.scaled(&self.context.analysis.order, &factor)?;
        let analysis = Analysis::of_order(order, &Patient::default());
        analysis.values.is_ok().then(|| Changed {
            analysis,
            said: RuleAnswers::default(),
            brings: OnceCell::new(),
        })
    }

    /// Whether anything is wrong after a change that was right.
    pub(super) fn bring(&self, changed: &Changed) -> bool {
        *changed.brings.get_or_init(|| {
            let known: Vec<_> = self.findings.iter().map(Finding::key).collect();
            as_if(self.context).brings(&changed.analysis, &known)
        })
    }
}

impl RuleAnswers {
    /// What this rule finds.
    pub(super) fn by(
        &self,
        context: &OrderContext<'_>,
        analysis: &Analysis,
        rule: &'static Rule,
    ) -> Rc<[Key]> {
        if let Some(known) = self.0.borrow().get(rule.name) {
            return known.clone();
        }
        let found = as_if(context).found(analysis, |other| other.name == rule.name);
        let keys: Rc<[Key]> = found.iter().map(Finding::key).collect();
        self.0.borrow_mut().insert(rule.name, keys.clone());
        keys
    }
}

fn as_if<'a>(context: &'a OrderContext<'a>) -> AsIf<'a> {
    AsIf {
        context,
        rules: rules(),
    }
}
