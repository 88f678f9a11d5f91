//! All drug, fluid and substance that reaches the patient.

use gutta_quantity::Exact;
use smol_str::SmolStr;

use super::View;
use super::besides::of_flush;
use super::schedule::{At, Endless, Flushed, Given, GivenWhat, Schedule};
use crate::curve::Curve;
use crate::model::limit::Side;
use crate::model::order::{Named, Order, ThenSpec};
use crate::model::reference::Solution;
use crate::model::size::{DrugKind, Size};

/// A substance in a bag, per volume.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Content {
    /// The substance.
    pub substance: SmolStr,
    /// In what it is counted.
    pub kind: DrugKind,
    /// Per base unit of (true) volume, the diluent's and the drug's share
    /// together.
    pub per_volume: Curve,
    /// Whether every share of it is known: how much diluent went in, how the
    /// drug is supplied.
    pub certain: bool,
}

/// The totals of an order, over the patients of a view.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Totals {
    /// The schedule they are taken from.
    pub schedule: Schedule,
}

impl View {
    /// The order's totals at one setting of what may be adjusted.
    #[must_use]
    pub fn totals(&self, order: &Order, at: At) -> Option<Totals> {
        Some(Totals {
            schedule: Schedule::of(order, self, at)?,
        })
    }

    /// The order's totals with every run at the setting given, where it can be.
    #[must_use]
    pub fn totals_at(&self, order: &Order, setting: &Size) -> Option<Totals> {
        Some(Totals {
            schedule: Schedule::with(order, self, |phase, run| {
                self.flow_when_set(order, phase, run, Some(setting))
            })?,
        })
    }

    /// In what the order's first bag with the drug counts it.
    pub(super) fn first_kind(&self) -> Option<DrugKind> {
        let mut bags = self
            .phases
            .iter()
            .filter_map(|phase| phase.bag.drug.as_ref());
        bags.next().map(|drug| drug.kind)
    }

    /// What a phase's bag brings besides its drug. Base units.
    #[must_use]
    pub fn contents(&self, order: &Order, phase: usize) -> Option<Vec<Content>> {
        let bag = &self.phases.get(phase)?.bag;
        let spec = order.phases.get(bag.phase)?.bag.as_ref()?;
        let mut contents = Vec::new();
        if let Some(solution) = &spec.solution {
            let share = match &bag.diluent {
                Some(diluent) => Some(diluent.div(&bag.volume)?),
                None => None,
            };
            let certain = share.is_some();
            let share = share.unwrap_or_else(|| self.patients.constant(Exact::ONE));
            for content in &solution.value.contains {
                add(
                    &mut contents,
                    &content.substance,
                    content.kind,
                    share.scale(&content.strength),
                    certain,
                )?;
            }
        }
        let drug = order.drug.as_ref().filter(|_| bag.drug.is_some());
        for content in drug.into_iter().flat_map(|drug| &drug.value.contains) {
            let draw = bag.drug.as_ref().and_then(|drug| drug.draw.as_ref());
            let share = match draw {
                Some(draw) => draw.div(&bag.volume)?,
                None => self.patients.constant(Exact::ZERO),
            };
            add(
                &mut contents,
                &content.substance,
                content.kind,
                share.scale(&content.strength),
                draw.is_some(),
            )?;
        }
        Some(contents)
    }
}

fn add(
    contents: &mut Vec<Content>,
    substance: &SmolStr,
    kind: DrugKind,
    per_volume: Curve,
    certain: bool,
) -> Option<()> {
    match contents
        .iter_mut()
        .find(|known| known.substance == *substance && known.kind == kind)
    {
        Some(known) => {
            known.per_volume = known.per_volume.add(&per_volume)?;
            known.certain &= certain;
        }
        None => contents.push(Content {
            substance: substance.clone(),
            kind,
            per_volume,
            certain,
        }),
    }
    Some(())
}

impl Totals {
    /// All drug of the order, in the base units that the first bag's drug is
    /// counted in; `None` inside where it goes on without end.
    #[must_use]
    pub fn drug(&self, order: &Order, view: &View) -> Option<Endless<Curve>> {
        self.schedule
            .all(&view.patients, |given| drug_rate(order, view, given))
    }

    /// The most drug in any stretch of `window`.
    #[must_use]
    pub fn drug_in(&self, order: &Order, view: &View, window: &Exact) -> Option<Curve> {
        self.schedule.most_in(&view.patients, window, |given| {
            drug_rate(order, view, given)
        })
    }

    /// All drug of the order with what else it brings of the drug's substance,
    /// as a limit on this side counts it.
    #[must_use]
    pub fn drug_judged(&self, order: &Order, view: &View, side: Side) -> Option<Endless<Curve>> {
        let kind = view.first_kind()?;
        self.with_flushes(
            view,
            |given| view.drug_and_besides(order, given, side),
            |flush| of_flush(order, flush, kind),
        )
    }

    /// The most of it, likewise, in any stretch of `window`.
    #[must_use]
    pub fn drug_judged_in(
        &self,
        order: &Order,
        view: &View,
        window: &Exact,
        side: Side,
    ) -> Option<Curve> {
        let kind = view.first_kind()?;
        self.with_flushes_in(
            view,
            window,
            |given| view.drug_and_besides(order, given, side),
            |flush| of_flush(order, flush, kind),
        )
    }

    /// All fluid of the order.
    #[must_use]
    pub fn fluid(&self, view: &View) -> Option<Endless<Curve>> {
        self.with_flushes(view, |given| Some(given.flow.clone()), |_| Some(Exact::ONE))
    }

    /// The most fluid in any stretch of `window`.
    #[must_use]
    pub fn fluid_in(&self, view: &View, window: &Exact) -> Option<Curve> {
        self.with_flushes_in(
            view,
            window,
            |given| Some(given.flow.clone()),
            |_| Some(Exact::ONE),
        )
    }

    /// All of a substance over the order.
    #[must_use]
    pub fn substance(
        &self,
        order: &Order,
        view: &View,
        name: &str,
        kind: DrugKind,
    ) -> Option<Endless<Curve>> {
        self.with_flushes(
            view,
            |given| substance_rate(order, view, given, name, kind),
            |flush| flush.strength(order, name, kind).cloned(),
        )
    }

    /// The most of a substance in any stretch of `window`.
    #[must_use]
    pub fn substance_in(
        &self,
        order: &Order,
        view: &View,
        name: &str,
        kind: DrugKind,
        window: &Exact,
    ) -> Option<Curve> {
        self.with_flushes_in(
            view,
            window,
            |given| substance_rate(order, view, given, name, kind),
            |flush| flush.strength(order, name, kind).cloned(),
        )
    }

    /// All of something: `rate` of it in a stretch, and `strength` of it in a
    /// flush's fluid.
    fn with_flushes(
        &self,
        view: &View,
        rate: impl Fn(&Given) -> Option<Curve>,
        strength: impl Fn(&Flushed) -> Option<Exact>,
    ) -> Option<Endless<Curve>> {
        let Endless::Ends(mut sum) = self.schedule.all(&view.patients, rate)? else {
            return Some(Endless::WithoutEnd);
        };
        for flush in &self.schedule.flushes {
            let Some(strength) = strength(flush) else {
                continue;
            };
            let Some(all) = flush.all() else {
                return Some(Endless::WithoutEnd);
            };
            sum = sum.add(&all.scale(&strength))?;
        }
        Some(Endless::Ends(sum))
    }

    /// The most of it in any stretch of `window`. A flush has no rate, and
    /// counts wholly, wherever the window lies.
    fn with_flushes_in(
        &self,
        view: &View,
        window: &Exact,
        rate: impl Fn(&Given) -> Option<Curve>,
        strength: impl Fn(&Flushed) -> Option<Exact>,
    ) -> Option<Curve> {
        let mut most = self.schedule.most_in(&view.patients, window, rate)?;
        for flush in &self.schedule.flushes {
            if let Some(strength) = strength(flush) {
                most = most.add(&flush.most_in(window)?.scale(&strength))?;
            }
        }
        Some(most)
    }
}

impl Flushed {
    /// Its volume over the whole order; `None`: without end.
    fn all(&self) -> Option<Curve> {
        let times = match self.every {
            None => 1,
            Some((_, Some(count))) => count,
            Some((_, None)) => return None,
        };
        Some(self.volume.scale(&Exact::from(i64::from(times))))
    }

    /// Its most volume in a window.
    fn most_in(&self, window: &Exact) -> Option<Curve> {
        let times = times_in(self.every.as_ref(), window)?;
        Some(self.volume.scale(&times))
    }

    /// How much of a substance its fluid brings per volume.
    pub(crate) fn strength<'a>(
        &self,
        order: &'a Order,
        name: &str,
        kind: DrugKind,
    ) -> Option<&'a Exact> {
        let (_, solution) = order.phases.get(self.phase)?.flushes.get(self.place)?;
        let contains = &solution.as_ref()?.value.contains;
        let content = contains
            .iter()
            .find(|content| content.substance == name && content.kind == kind)?;
        Some(&content.strength)
    }
}

/// How often something with these repetitions happens in a window, at most.
fn times_in(every: Option<&(Exact, Option<u32>)>, window: &Exact) -> Option<Exact> {
    let Some((interval, count)) = every else {
        return Some(Exact::ONE);
    };
    let fit = window.checked_div(interval)?.ceil().max(Exact::ONE);
    Some(match count {
        Some(count) => fit.min(Exact::from(i64::from(*count))),
        None => fit,
    })
}

/// Drug per time of a stretch, counted as the order's first bag counts it.
pub(super) fn drug_rate(order: &Order, view: &View, given: &Given) -> Option<Curve> {
    let dose = given.dose.as_ref()?;
    let first = view.first_kind()?;
    let own = view.phases.get(given.phase)?.bag.drug.as_ref()?.kind;
    let named = order.drug.as_ref().map(|drug| &*drug.value);
    Some(dose.scale(&super::equivalence(named, own, first)?))
}

/// A substance per time of a stretch; `None`: it brings none.
pub(crate) fn substance_rate(
    order: &Order,
    view: &View,
    given: &Given,
    name: &str,
    kind: DrugKind,
) -> Option<Curve> {
    if given.what == GivenWhat::KeepOpenFluid {
        let solution = kept_open_with(order, given.phase)?;
        let content = solution
            .value
            .contains
            .iter()
            .find(|content| content.substance == name && content.kind == kind)?;
        return Some(given.flow.scale(&content.strength));
    }
    let contents = view.contents(order, given.phase)?;
    let content = contents
        .iter()
        .find(|content| content.substance == name && content.kind == kind)?;
    given.flow.mul(&content.per_volume)
}

pub(crate) fn kept_open_with(order: &Order, phase: usize) -> Option<&Named<Solution>> {
    match &order.phases.get(phase)?.then.as_ref()?.0 {
        ThenSpec::KeepOpen { solution, .. } => solution.as_ref(),
        ThenSpec::Stop | ThenSpec::Renew(_) => None,
    }
}
