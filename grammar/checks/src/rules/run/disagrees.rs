#![doc = include_str!("disagrees.md")]

use gutta_protocol::curve::Curve;
use gutta_protocol::derive::{Disagreement, Run, View};
use gutta_protocol::model::order::{RunSpec, WaySpec, WhatSpec};
use gutta_protocol::model::size::{Scalar, Size};
use gutta_quantity::{Exact, Quantity, Style, Unit, units};

use crate::telling::{patient, sentence, told, told_apart, whom};
use crate::{Check, Finding, Fix, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "run.disagrees",
    severity: Severity::Error,
    locked: false,
    page: include_str!("disagrees.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let mut seen = Vec::new();
    for view in &values.views {
        for (index, (spec, phase)) in order.phases.iter().zip(&view.phases).enumerate() {
            for (run_spec, run) in spec.runs.iter().zip(&phase.runs) {
                let Some(disagreement) = &run.disagreement else {
                    continue;
                };
                if seen.contains(&run.span) {
                    continue;
                }
                seen.push(run.span);
                let run = Ill {
                    context,
                    view,
                    phase: index,
                    spec: run_spec,
                    run,
                    disagreement,
                };
                findings.push(run.report());
            }
        }
    }
}

/// A run whose figures contradict each other.
struct Ill<'a> {
    context: &'a OrderContext<'a>,
    view: &'a View,
    phase: usize,
    spec: &'a RunSpec,
    run: &'a Run,
    disagreement: &'a Disagreement,
}

impl Ill<'_> {
    fn report(&self) -> Finding {
        let message = self
            .message()
            .unwrap_or_else(|| "The figures of this run contradict each other.".to_owned());
        let mut finding = self
            .context
            .finding(&RULE, self.run.span, message)
            .note("Remove the figure that is not needed, or correct one of them.");
        finding.fixes = [self.other_volume(), self.other_rate(), self.other_time()]
            .into_iter()
            .flatten()
            .collect();
        finding
    }

    /// For whom, what follows from the others, and what is written.
    fn message(&self) -> Option<String> {
        let Disagreement {
            written,
            derived,
            way,
            tolerance,
        } = self.disagreement;
        let (unit, word) = match way {
            WaySpec::Over(time) => (time.unit, "the run would take"),
            WaySpec::At(rate) => (rate.unit, "the run would have to be set at"),
        };
        let style = self.context.style();
        let level = |value: Exact| Curve::constant(derived.span().clone(), value);
        let apart = derived.sub(&level(written.clone()))?;
        let apart = apart.max(&apart.neg())?;
        let worst = apart.max_value()?.x;
        let value = told_apart(&derived.at(&worst)?, written, unit, style);
        let stands = told(written, unit, style);
        let said = match way {
            WaySpec::Over(_) => format!("`over {stands}` is written"),
            WaySpec::At(_) => format!("`at {stands}` is written"),
        };
        let place = derived.is_constant().is_none().then(|| {
            let regions = apart.where_above(&level(tolerance.clone()))?;
            Some((
                whom(self.view, &regions, style)?,
                patient(self.view, &worst, style)?,
            ))
        });
        Some(match place.flatten() {
            Some((whom, at)) => format!(
                "{} the figures of this run disagree: from the others {word} {value} at {at}, but {said}.",
                sentence(&whom)
            ),
            None => format!(
                "The figures of this run disagree: from the others {word} {value}, but {said}."
            ),
        })
    }

    fn rates(&self) -> impl Iterator<Item = &Size> {
        self.spec.ways.iter().filter_map(|way| match way {
            WaySpec::At(rate) => Some(rate),
            WaySpec::Over(_) => None,
        })
    }

    fn time(&self) -> Option<&Scalar> {
        self.spec.ways.iter().find_map(|way| match way {
            WaySpec::Over(time) => Some(time),
            WaySpec::At(_) => None,
        })
    }

    /// The amount that flow and time make.
    fn other_volume(&self) -> Option<Fix> {
        let Some(WhatSpec::Size(size, None)) = &self.spec.what else {
            return None;
        };
        let volume = self.run.flow.scale(&self.time()?.value);
        self.offer(&volume, size).filter(|_| self.holds(&volume))
    }

    /// Whether the bag holds so much, whatever else leaves it.
    fn holds(&self, volume: &Curve) -> bool {
        let bag = self.view.phases.get(self.phase).map(|phase| &phase.bag);
        let all = bag.and_then(|bag| bag.volume.sub(volume)?.min_value());
        all.is_some_and(|left| !left.value.is_negative())
    }

    /// The rate that volume and time, or the other rate, make.
    fn other_rate(&self) -> Option<Fix> {
        match self.time() {
            Some(time) => {
                let flow = self.run.volume.scale(&time.value.recip()?);
                self.offer(&flow, self.rates().next()?)
            }
            None => self.offer(&self.run.flow, self.rates().nth(1)?),
        }
    }

    /// The time that volume and flow make.
    fn other_time(&self) -> Option<Fix> {
        let time = self.time()?;
        let text = clock(
            self.run.time.is_constant()?,
            time.unit,
            self.context.style(),
        )?;
        Some(self.write(time.span, &text))
    }

    /// A volume or flow, written as `like` is, where it is the same for every
    /// patient and its decimals end.
    fn offer(&self, value: &Curve, like: &Size) -> Option<Fix> {
        let order = &self.context.analysis.order;
        let value = self.view.in_form(order, self.phase, value, like)?;
        let value = Quantity::from_base(value.is_constant()?.clone(), like.unit);
        let told = self.context.style().quantity_exact(&value)?;
        Some(self.write(like.span, &told.to_string()))
    }

    fn write(&self, span: gutta_notation::Span, text: &str) -> Fix {
        let old = self.context.text(span);
        self.context
            .replace(span, text)
            .titled(format!("write {text} instead of {old}"))
    }
}

/// A time as the notation writes it: in its own unit, else as hours and
/// minutes.
fn clock(minutes: &Exact, unit: Unit, style: Style) -> Option<String> {
    let own = Quantity::from_base(minutes.clone(), unit);
    if !own.value.is_whole() && minutes.is_whole() && unit == units::H {
        let sixty = Exact::int(60);
        let hours = minutes.checked_div(&sixty)?.floor();
        let rest = Quantity::new(minutes - &(&hours * &sixty), units::MIN);
        let rest = style.quantity_exact(&rest)?;
        if hours.is_zero() {
            return Some(rest.to_string());
        }
        let hours = style.quantity_exact(&Quantity::new(hours, units::H))?;
        return Some(format!("{hours} {rest}"));
    }
    Some(style.quantity_exact(&own)?.to_string())
}

#[cfg(test)]
mod tests {
    use crate::harness::findings;

    fn found(run: &str) -> Option<(String, Vec<String>)> {
        let text = format!(
            "use \"tarnwick.gtt\"\n\norder magnesium-run \"Magnesium\"\n  drug       magnesium-sulfate\n  patient    weight 40 to 80 kg\n  route      central vein\n  pump       volumetric\n  mix        5 g made up to 500 mL with saline\n  run        {run}\n  then       stop\n"
        );
        let found = findings(&text);
        let finding = found
            .iter()
            .find(|finding| finding.rule.name == "run.disagrees")?;
        let fixes = finding.fixes.iter().map(|fix| fix.title.clone()).collect();
        Some((finding.message.clone(), fixes))
    }

    #[test]
    fn three_ways_to_set_it_right() {
        let (message, fixes) = found("500 mL at 100 mL/h over 4 h").unwrap();
        assert_eq!(
            message,
            "The figures of this run disagree: from the others the run would take 5 h, but `over 4 h` is written."
        );
        assert_eq!(
            fixes,
            [
                "write 400 mL instead of 500 mL",
                "write 125 mL/h instead of 100 mL/h",
                "write 5 h instead of 4 h",
            ]
        );
    }

    #[test]
    fn a_single_digit_is_no_licence() {
        assert!(found("3 g at 2 g/h over 2 h").is_some());
        assert!(found("480 mL at 2 mL/h over 200 h").is_some());
        assert!(found("360 mg at 1 mg/min over 9 h").is_some());
        assert_eq!(found("360 mg at 1 mg/min over 6 h"), None);
    }

    #[test]
    fn half_the_last_digit_is_allowed() {
        assert_eq!(found("500 mL at 83 mL/h over 6 h"), None);
        assert_eq!(found("500 mL at 125 mL/h over 4 h"), None);
        // 500 / 79 is 6.33 h.
        assert_eq!(found("500 mL at 79 mL/h over 6 h"), None);
        // Of a time of 4 h no more than a tenth: 500 / 112 is 4.46 h.
        assert!(found("500 mL at 112 mL/h over 4 h").is_some());
        assert_eq!(found("500 mL at 114 mL/h over 4 h"), None);
    }

    #[test]
    fn for_the_weights_at_which_they_do() {
        let (message, fixes) = found("500 mL at 2 mL/kg/h over 4 h").unwrap();
        assert!(message.contains("at 40 kg"), "{message}");
        assert_eq!(fixes, [""; 0]);
    }

    #[test]
    fn an_amount_of_drug() {
        // The last digit of 1 g/h would leave room for 1.25.
        assert!(found("5 g at 1 g/h over 4 h").is_some());
        let (_, fixes) = found("5 g at 2 g/h over 4 h").unwrap();
        assert_eq!(
            fixes,
            [
                "write 1.25 g/h instead of 2 g/h",
                "write 2 h 30 min instead of 4 h",
            ],
            "8 g are not in the bag"
        );
    }
}
