//! How much of a substance reaches the patient, as a limit on it counts it.

use std::cell::OnceCell;
use std::sync::Arc;

use gutta_notation::Span;
use gutta_notation::ast::LimitMeasure;
use gutta_quantity::Exact;
use smol_str::SmolStr;

use super::gives_way::gives_way;
use super::holds::Stretch;
use super::limiting::Limiting;
use super::readings::{NotComparable, Reading, Reads, is_as_loading};
use crate::curve::Curve;
use crate::delivery::{Counted, Delivery, Endless, in_bag, in_fluid};
use crate::derive::{At, BagContent, Run, View, substances_in};
use crate::model::ingredient::Ingredient;
use crate::model::limit::{LimitBound, LimitForm, TotalOver};
use crate::model::order::{Again, Named, Order};
use crate::model::size::{DrugKind, Form, Per};

/// For whom a limit on the rate of a substance holds in the phase of a run, and
/// the flow at which the run reaches it (base units); `None` in place of the flow where
/// it cannot be brought to one, and of the whole where it holds for nobody or the
/// run brings none.
#[must_use]
pub(crate) fn flow_of_ingredient(
    order: &Order,
    view: &View,
    (phase, run): (usize, &Run),
    ingredient: &Named<Ingredient>,
    bound: &LimitBound,
) -> Option<(Vec<Stretch>, Option<Curve>)> {
    let spec = order.phases.get(phase)?;
    let LimitForm::Size(form) = bound.form else {
        return None;
    };
    let load = spec.is_loading();
    let comes_back = order.again(phase, run.index) != Again::Once;
    let judged = !bound.usual || is_as_loading(bound) || comes_back;
    let limits = &ingredient.value.limits;
    let holds = gives_way(order, spec, &view.patients, load, bound, limits);
    if holds.over.is_empty() || load && !judged {
        return None;
    }
    let by = Limiting::Ingredient(Arc::clone(&ingredient.value));
    let brought = Brought::new(order, view);
    let sought = Sought::new(&brought, &by, &ingredient.name);
    let Some(factors) = sought.factors(form.drug()?) else {
        return Some((holds.over, None));
    };
    let flow = match sought.in_bag(phase, &factors)? {
        Reads::Value(per_volume) => view
            .patients
            .factor(form)
            .and_then(|whole| whole.scale(&bound.bound).div(&per_volume)),
        Reads::WithoutEnd | Reads::Unknown(_) => None,
    };
    Some((holds.over, flow))
}

/// What an order brings in one view, found once for all that limits any of it.
pub(super) struct Brought<'a> {
    order: &'a Order,
    view: &'a View,
    /// In its bags, phase by phase.
    contents: Vec<Vec<BagContent>>,
    /// In all, with what each is counted in.
    pub(super) substances: Vec<(SmolStr, DrugKind)>,
    /// What is given at each setting, found when first asked for.
    deliveries: OnceCell<Vec<(At, Option<Delivery<'a>>)>>,
}

impl<'a> Brought<'a> {
    pub(super) fn new(order: &'a Order, view: &'a View) -> Self {
        let phases = 0..order.phases.len();
        let contents = phases.map(|phase| view.contents(order, phase).unwrap_or_default());
        let contents: Vec<_> = contents.collect();
        Self {
            order,
            view,
            substances: substances_in(order, &contents),
            contents,
            deliveries: OnceCell::new(),
        }
    }

    /// What is given as it starts and, where it may be adjusted, at the highest
    /// setting.
    fn deliveries(&self) -> &[(At, Option<Delivery<'a>>)] {
        self.deliveries.get_or_init(|| {
            let adjusted = self.order.phases.iter().any(|phase| phase.adjust.is_some());
            let settings = [At::Start, At::High].into_iter();
            let settings = settings.take(if adjusted { 2 } else { 1 });
            settings
                .map(|at| (at, self.view.delivery(self.order, at)))
                .collect()
        })
    }
}

/// A substance in one view of an order, and what limits it.
pub(super) struct Sought<'a, 'b> {
    order: &'a Order,
    view: &'a View,
    brought: &'b Brought<'a>,
    by: &'b Limiting,
    name: &'b str,
    /// In what the order counts it.
    kinds: Vec<DrugKind>,
    /// The phases whose bags hold some of it, and whether there can be no more
    /// than is reckoned with.
    phases: Vec<(usize, bool)>,
}

impl<'a, 'b> Sought<'a, 'b> {
    pub(super) fn new(brought: &'b Brought<'a>, by: &'b Limiting, name: &'b str) -> Self {
        let kinds = brought.substances.iter();
        let kinds = kinds.filter_map(|(other, kind)| (other == name).then_some(*kind));
        let mut phases = Vec::new();
        for (phase, contents) in brought.contents.iter().enumerate() {
            let mut alike = contents
                .iter()
                .filter(|content| content.substance == name)
                .peekable();
            if alike.peek().is_some() {
                phases.push((phase, alike.all(|content| content.at_most)));
            }
        }
        Self {
            order: brought.order,
            view: brought.view,
            brought,
            by,
            name,
            kinds: kinds.collect(),
            phases,
        }
    }

    /// Every reading that a bound on the substance judges.
    pub(super) fn readings(&self, bound: &LimitBound) -> Vec<Reading> {
        let to = match bound.form {
            LimitForm::Size(form) => form.drug(),
            LimitForm::Strength(kind) => Some(kind),
            LimitForm::Time | LimitForm::Osmolarity => None,
        };
        let Some(to) = to else { return Vec::new() };
        let Some(factors) = self.factors(to) else {
            return vec![self.reading(
                0,
                self.order.header,
                Reads::Unknown(NotComparable::Equivalence),
            )];
        };
        // An `adjust` is a permission: what is usual in all is how it starts.
        let settings = || {
            let all = self.brought.deliveries().iter();
            let start = bound.usual && bound.measure == LimitMeasure::Total;
            all.take(if start { 1 } else { 2 })
        };
        match (bound.measure, bound.form) {
            (LimitMeasure::Strength, _) => self.strengths(&factors),
            (LimitMeasure::Total, LimitForm::Size(form)) => settings()
                .flat_map(|(at, delivery)| {
                    self.totals(bound, form, &factors, *at, delivery.as_ref())
                })
                .collect(),
            (_, LimitForm::Size(form)) => settings()
                .flat_map(|(at, delivery)| {
                    self.rates(bound, form, &factors, *at, delivery.as_ref())
                })
                .collect(),
            _ => Vec::new(),
        }
    }

    /// What a base unit of each of its countings is in this one; `None` where
    /// nothing ties the two.
    fn factors(&self, to: DrugKind) -> Option<Vec<(DrugKind, Exact)>> {
        let kinds = self.kinds.iter();
        kinds
            .map(|kind| Some((*kind, self.by.factor(*kind, to)?)))
            .collect()
    }

    fn reading(&self, phase: usize, span: Span, value: Reads) -> Reading {
        Reading {
            phase,
            phases: (phase, phase),
            load: false,
            span,
            at: At::Start,
            run: None,
            value,
            ends: None,
            given_way: Vec::new(),
        }
    }

    /// Whether it is stated how much of it the phase's bag holds.
    fn is_known(&self, phase: usize) -> bool {
        !self.phases.contains(&(phase, false))
    }

    /// How fast: each piece by itself.
    fn rates(
        &self,
        bound: &LimitBound,
        form: Form,
        factors: &[(DrugKind, Exact)],
        at: At,
        delivery: Option<&Delivery<'_>>,
    ) -> Vec<Reading> {
        let Some(delivery) = delivery else {
            let value = Reads::Unknown(NotComparable::NotComputable);
            return vec![self.reading(0, self.order.header, value)];
        };
        let counted = Counted::Ingredient(self.name, factors);
        let loads = !bound.usual || is_as_loading(bound);
        let pieces = delivery.pieces.iter().filter_map(|piece| {
            let per_volume = delivery.in_piece(piece, counted)?;
            let load = piece.is_load(self.order);
            if load && !loads && !piece.comes_back() {
                return None;
            }
            let phase = self.order.phases.get(piece.phase)?;
            let adjust = phase.adjust.as_ref().filter(|_| at != At::Start);
            let span = adjust.map_or_else(|| delivery.span_of(piece), |adjust| adjust.span);
            let value = match self.is_known(piece.phase) {
                true => self.in_form(form, piece.flow.mul(&per_volume)),
                false => Reads::Unknown(NotComparable::Share),
            };
            Some(Reading {
                load,
                at,
                ends: delivery.ends(piece),
                ..self.reading(piece.phase, span, value)
            })
        });
        pieces.collect()
    }

    /// How much, in all or in any stretch of time: asked of every phase that
    /// brings some, since each may be given otherwise.
    fn totals(
        &self,
        bound: &LimitBound,
        form: Form,
        factors: &[(DrugKind, Exact)],
        at: At,
        delivery: Option<&Delivery<'_>>,
    ) -> Vec<Reading> {
        let counted = Counted::Ingredient(self.name, factors);
        let known = self.phases.iter().all(|(_, known)| *known);
        let sum = delivery.and_then(|delivery| match &bound.over {
            TotalOver::Any(window) => delivery.most_in(counted, window).map(Endless::Ends),
            TotalOver::Order => delivery.all(counted),
        });
        let value = match sum {
            _ if !known => Reads::Unknown(NotComparable::Share),
            Some(Endless::Ends(sum)) => self.in_form(form, Some(sum)),
            Some(Endless::WithoutEnd) => Reads::WithoutEnd,
            None => Reads::Unknown(NotComparable::NotComputable),
        };
        let adjust = self
            .order
            .phases
            .iter()
            .find_map(|phase| phase.adjust.as_ref().filter(|_| at != At::Start));
        let span = adjust.map_or(self.order.header, |adjust| adjust.span);
        let phases = 0..self.order.phases.len();
        let bringing = phases.filter(|phase| self.brings(*phase, factors));
        bringing
            .map(|phase| Reading {
                at,
                ..self.reading(phase, span, value.clone())
            })
            .collect()
    }

    /// Whether a phase brings some of it, from its bag or with what follows.
    fn brings(&self, phase: usize, factors: &[(DrugKind, Exact)]) -> bool {
        let of_bag = self.phases.iter().any(|(of, _)| *of == phase);
        of_bag || self.follows(phase, factors).next().is_some()
    }

    /// How strong the fluids are that follow in a phase, each with its line.
    fn follows<'s>(
        &'s self,
        phase: usize,
        factors: &'s [(DrugKind, Exact)],
    ) -> impl Iterator<Item = (Span, Exact)> + 's {
        let spec = self.order.phases.get(phase);
        let flushes = spec.into_iter().flat_map(|spec| &spec.flushes);
        let flushes = flushes.filter_map(|(size, fluid)| Some((size.span, fluid.as_ref()?)));
        let kept_open = spec.and_then(|spec| Some((spec.then.as_ref()?.1, spec.kept_open_with()?)));
        let all = flushes.chain(kept_open);
        all.filter_map(|(span, fluid)| Some((span, in_fluid(fluid, self.name, factors)?)))
    }

    /// How strong: each bag, and each fluid that follows.
    fn strengths(&self, factors: &[(DrugKind, Exact)]) -> Vec<Reading> {
        let mut readings = Vec::new();
        for (phase, spec) in self.order.phases.iter().enumerate() {
            let hung = spec.bag.as_ref().map(|bag| bag.span);
            let own = hung.and_then(|span| Some((span, self.in_bag(phase, factors)?)));
            readings.extend(own.map(|(span, value)| self.reading(phase, span, value)));
            for (span, strength) in self.follows(phase, factors) {
                let value = Reads::Value(self.view.patients.constant(strength));
                readings.push(self.reading(phase, span, value));
            }
        }
        readings
    }

    /// What a bag holds per volume; `None`: none.
    fn in_bag(&self, phase: usize, factors: &[(DrugKind, Exact)]) -> Option<Reads> {
        if !self.is_known(phase) {
            return Some(Reads::Unknown(NotComparable::Share));
        }
        in_bag(self.order, self.view, phase, self.name, factors).map(Reads::Value)
    }

    fn in_form(&self, form: Form, amount: Option<Curve>) -> Reads {
        let Some(by) = self.view.patients.factor(form) else {
            return Reads::Unknown(match form.per {
                Per::Surface => NotComparable::Surface,
                Per::Weight | Per::Patient => NotComparable::Weight,
            });
        };
        let value = amount.and_then(|amount| amount.div(&by));
        value.map_or(Reads::Unknown(NotComparable::NotComputable), Reads::Value)
    }
}
