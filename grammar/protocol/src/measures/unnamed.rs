//! What `expect` has no word for: the diluent, the containers to open, when a
//! bag runs dry, bags in a day, and the dose that the pump's flow gives.

use gutta_notation::Span;
use gutta_quantity::{Unit, units};

use super::{AsPumped, Measure, Measures, Value, ValueOf, WhereNothing};
use crate::curve::Curve;
use crate::model::size::{Form, Size};

impl Measures<'_> {
    /// A value of a phase and its bag.
    pub(super) fn of_bag(
        &self,
        measure: Measure,
        phase: usize,
        unit: Unit,
        value: ValueOf,
    ) -> Value {
        Value {
            per_day: measure == Measure::Bags,
            measure,
            phase: Some(phase),
            run: None,
            bolus: None,
            span: self.bag_span(phase),
            unit,
            value,
        }
    }

    /// The diluent of each bag that the drug is mixed in.
    pub(super) fn diluents(&self) -> Vec<Value> {
        let diluents = self.view.bags().filter_map(|(phase, derived)| {
            derived.bag.drug.as_ref()?;
            let diluent = ValueOf::Exact(derived.bag.diluent.clone()?);
            Some(self.of_bag(Measure::Diluent, phase, units::ML, diluent))
        });
        diluents.collect()
    }

    /// The containers to open for each bag.
    pub(super) fn containers(&self) -> Vec<Value> {
        let containers = self.view.bags().filter_map(|(phase, derived)| {
            let containers = derived.bag.drug.as_ref()?.containers.clone()?;
            let whole = ValueOf::Whole(containers);
            Some(self.of_bag(Measure::Containers, phase, Unit::NONE, whole))
        });
        containers.collect()
    }

    /// When each bag runs dry, where it does for anybody.
    pub(super) fn runs_dry(&self, setting: Option<&Size>) -> Vec<Value> {
        let dry = self.view.bags().filter_map(|(phase, _)| {
            let life = self.view.life_of_bag(self.order, phase, setting)?;
            if life.left.min_value()?.value.is_positive() {
                return None;
            }
            let value = if life.left.max_value()?.value.is_positive() {
                ValueOf::WhereNothing(Box::new(WhereNothing {
                    value: life.time,
                    left: life.left,
                }))
            } else {
                ValueOf::Exact(life.time)
            };
            Some(self.of_bag(Measure::RunsDry, phase, units::H, value))
        });
        dry.collect()
    }

    /// Bags in a day, where one follows the other.
    pub(super) fn bags_per_day(&self, setting: Option<&Size>) -> Vec<Value> {
        let bags = (0..self.view.phases.len()).filter_map(|phase| {
            let succession = self.view.succession(self.order, phase, setting)?;
            let per_day = ValueOf::Exact(succession.per_day);
            Some(self.of_bag(Measure::Bags, phase, Unit::NONE, per_day))
        });
        bags.collect()
    }

    /// Whether a value is another where another setting is asked for: some run
    /// that it follows from goes by that.
    #[must_use]
    pub fn goes_by_setting(&self, value: &Value) -> bool {
        let takes = |phase, run| self.view.takes_setting(self.order, phase, run);
        value.measure.follows_the_setting()
            && match (value.phase, value.run) {
                (None, _) => true,
                (Some(phase), Some(run)) => takes(phase, run),
                // A bag's: of its own phase and of those that go on with it.
                (Some(from), None) => self.view.runs().any(|(phase, run)| {
                    let hung_by = self.view.phases.get(phase).map(|phase| phase.bag.phase);
                    (phase == from || hung_by == Some(from)) && takes(phase, run.index)
                }),
            }
    }

    /// The dose that each run really gives as the pump runs it: by the true
    /// strength.
    pub(super) fn pump_doses(&self, setting: Option<&Size>) -> Vec<Value> {
        let mut doses = Vec::new();
        for (phase, run) in self.view.runs() {
            let Some((unit, per_flow)) = self.dose_per_flow(phase, run.index) else {
                continue;
            };
            let Some(pumped) = self.as_pumped(phase, run.index, setting) else {
                continue;
            };
            let dose = ValueOf::PumpDose(Box::new(pumped), per_flow);
            doses.push(Value {
                run: Some(run.index),
                span: run.span,
                ..self.of_bag(Measure::PumpDose, phase, unit, dose)
            });
        }
        doses
    }

    /// The dose that one base unit of flow truly gives, and its unit.
    fn dose_per_flow(&self, phase: usize, run: usize) -> Option<(Unit, Curve)> {
        let drug = self.view.phases.get(phase)?.bag.drug.as_ref()?;
        let unit = self.dose_unit(phase, run)?;
        let form = Form::of(unit.dimension())?;
        let strength = &drug.true_strength;
        let per_flow = self.view.drug_in_form(self.order, phase, strength, form)?;
        Some((unit, per_flow))
    }

    /// A run as its pump runs it.
    pub(super) fn as_pumped(
        &self,
        phase: usize,
        run: usize,
        setting: Option<&Size>,
    ) -> Option<AsPumped> {
        Some(AsPumped {
            flow: self.flow(phase, run, setting)?,
            pump: self.order.phases.get(phase)?.pump.as_ref()?.value.clone(),
            bounds: crate::pump::FlowBounds::of(
                self.order,
                self.view,
                phase,
                self.run(phase, run)?,
            ),
        })
    }

    /// The line of a phase's bag.
    pub(super) fn bag_span(&self, phase: usize) -> Span {
        let spec = self
            .order
            .phases
            .get(phase)
            .and_then(|phase| phase.bag.as_ref());
        spec.map_or(self.order.header, |bag| bag.span)
    }
}
