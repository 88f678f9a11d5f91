#![doc = include_str!("missing.md")]

use gutta_notation::Span;
use gutta_protocol::model::order::{RunSpec, WaySpec};
use gutta_protocol::model::size::{Size, Stuff};
use gutta_quantity::{Dimension, Exact, Quantity, Unit, units};

use crate::lines::line_at;
use crate::words::all_of;
use crate::{Check, Finding, Fix, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "volume.missing",
    severity: Severity::Error,
    locked: false,
    page: include_str!("missing.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let mut seen = Vec::new();
    for phase in &context.analysis.order.phases {
        for run in phase.runs.iter().filter(|run| run.what.is_none()) {
            // A line above the first phase belongs to each of them.
            if !seen.contains(&run.span) {
                seen.push(run.span);
                findings.push(report(context, run));
            }
        }
    }
}

fn report(context: &OrderContext<'_>, run: &RunSpec) -> Finding {
    let asked = |message: String| {
        context
            .finding(&RULE, run.span, message)
            .note("State the volume, the amount of drug, or `all` for everything in the bag.")
    };
    let (mut finding, insertion) = match (amount(context, run), run.ways.as_slice()) {
        (Some(amount), _) => {
            let ways = run.ways.iter().map(|way| match way {
                WaySpec::At(rate) => rate.span,
                WaySpec::Over(time) => time.span,
            });
            let ways: Vec<_> = ways
                .map(|span| format!("its {}", context.text(span)))
                .collect();
            let message = format!(
                "The run does not state how much: {} together give {amount}.",
                all_of(&ways)
            );
            (asked(message), Some(amount))
        }
        (None, ways) => {
            let all = (ways.len() == 1).then(|| "all".to_owned());
            (
                asked("The run does not state how much is to be given.".to_owned()),
                all,
            )
        }
    };
    let fix = insertion.and_then(|amount| insert(context, run, &amount));
    finding.fixes.extend(fix);
    finding
}

/// How much follows from the two ways, as it would be written.
fn amount(context: &OrderContext<'_>, run: &RunSpec) -> Option<String> {
    let rate = run.ways.iter().find_map(|way| match way {
        WaySpec::At(rate) => Some(rate),
        WaySpec::Over(_) => None,
    })?;
    let time = run.ways.iter().find_map(|way| match way {
        WaySpec::Over(time) => Some(&time.value),
        WaySpec::At(_) => None,
    })?;
    let (value, unit) = if run.dose_cap.is_some() || rate.form.stuff == Stuff::Drops {
        (derived(context, run.span)?, units::ML)
    } else {
        (&rate.value * time, without_time(rate))
    };
    let amount = Quantity::from_base(value, unit);
    let told = context.style().quantity_exact(&amount)?;
    Some(told.to_string())
}

/// The volume of the run, where it is the same for every patient.
fn derived(context: &OrderContext<'_>, span: Span) -> Option<Exact> {
    let values = context.analysis.values.as_ref().ok()?;
    let view = values.views.first()?;
    let run = view
        .phases
        .iter()
        .flat_map(|phase| &phase.runs)
        .find(|run| run.span == span)?;
    run.volume.is_constant().cloned()
}

fn without_time(rate: &Size) -> Unit {
    let kept = rate
        .unit
        .below()
        .filter(|atom| atom.dimension() != Dimension::TIME);
    let top = Unit {
        per: [None, None],
        ..rate.unit
    };
    kept.fold(top, |unit, atom| unit.per(atom).unwrap_or(unit))
}

/// Writes how much before the first way.
fn insert(context: &OrderContext<'_>, run: &RunSpec, amount: &str) -> Option<Fix> {
    let line = line_at(context, run.span)?;
    let after = context.text(Span::new(line.keyword.end, line.span.end));
    let blanks = after.len() - after.trim_start().len();
    let at = line.keyword.end + u32::try_from(blanks).ok()?;
    Some(
        Fix::replace(context.place(Span::new(at, at)), format!("{amount} "))
            .titled(format!("insert `{amount}`")),
    )
}

#[cfg(test)]
mod tests {
    use crate::harness::findings;

    fn found(way: &str) -> (String, Vec<String>) {
        let text = format!(
            "use \"tarnwick.gtt\"\n\norder midazolam-run \"Midazolam\"\n  drug       midazolam\n  patient    weight 40 to 80 kg\n  route      central vein\n  pump       syringe\n  mix        50 mg made up to 50 mL with saline\n  run        {way}\n  then       stop\n"
        );
        let found = findings(&text);
        let finding = found
            .iter()
            .find(|finding| finding.rule.name == "volume.missing")
            .unwrap();
        let fixes = finding.fixes.iter().map(|fix| fix.title.clone()).collect();
        (finding.message.clone(), fixes)
    }

    #[test]
    fn what_follows_is_offered() {
        for (way, amount) in [
            ("at 5 mL/h over 6 h", "30 mL"),
            ("at 2 mg/h over 6 h", "12 mg"),
            ("at 0.05 mg/kg/h over 6 h", "0.3 mg/kg"),
        ] {
            let (message, fixes) = found(way);
            let (rate, time) = way.split_once(" over ").unwrap();
            let rate = rate.strip_prefix("at ").unwrap();
            assert_eq!(
                message,
                format!(
                    "The run does not state how much: its {rate} and its {time} together give {amount}."
                )
            );
            assert_eq!(fixes, [format!("insert `{amount}`")]);
        }
    }

    #[test]
    fn one_way_tells_no_volume() {
        let (message, fixes) = found("at 5 mL/h");
        assert_eq!(message, "The run does not state how much is to be given.");
        assert_eq!(fixes, ["insert `all`"]);
    }

    #[test]
    fn what_the_lid_makes_of_each_patient_is_not_offered() {
        let (_, fixes) = found("at 0.05 mg/kg/h over 6 h, at most 3 mg/h");
        assert_eq!(fixes, [""; 0]);
    }
}
