#![doc = include_str!("hang_time.md")]

use gutta_notation::Span;
use gutta_protocol::curve::Curve;
use gutta_protocol::derive::{At, Next, View};
use gutta_protocol::model::order::Order;
use gutta_quantity::Exact;

use crate::beyond::{Beyond, furthest};
use crate::telling::{clock, sentence};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "mix.hang-time",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("hang_time.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let of_drug = order
        .drug
        .as_ref()
        .and_then(|drug| Some((drug.id, drug.value.hang_time.as_ref()?)));
    let (allowed, place) = match (&of_drug, &context.workspace.house.hang_time) {
        (Some((id, (time, span))), _) => (time, Some(context.workspace.place(*id, *span))),
        (None, Some(time)) => (time, None),
        (None, None) => return,
    };
    for index in 0..order.phases.len() {
        let mut found = Vec::new();
        for (place, view) in values.views.iter().enumerate() {
            for at in [At::Start, At::Low] {
                found.extend(Hanging { order, view, at }.too_long(index, place, allowed));
            }
        }
        // What it does as it starts is not said again of its lowest step.
        if found.iter().any(|bag| bag.at == At::Start) {
            found.retain(|bag| bag.at == At::Start);
        }
        let Some(bag) = furthest(found, |bag| &mut bag.beyond, |_, _| true)
            .into_iter()
            .next()
        else {
            continue;
        };
        let mut subject = if bag.later {
            "each bag after the first".to_owned()
        } else {
            "a bag".to_owned()
        };
        if bag.at == At::Low {
            subject.push_str(" at the lowest step");
        }
        let style = context.style();
        let allowed_told = clock(allowed, style);
        let longest = clock(&bag.beyond.value, style);
        let message = match bag.beyond.whom(values, style) {
            Some(whom) => format!(
                "{} {subject} hangs for longer than {}: up to {longest}.",
                sentence(&whom),
                allowed_told
            ),
            None => format!(
                "{} hangs for {longest}, longer than the maximum hang time of {}.",
                sentence(&subject),
                allowed_told
            ),
        };
        let mut finding = context.finding(&RULE, bag.span, message);
        finding = match place {
            Some(place) => finding.related(place, "the drug's hang time"),
            None => {
                finding.note("This is the hospital's own hang time, since the drug states none.")
            }
        };
        findings.push(finding.note(format!(
            "Write `change bag every {}`, or hang a smaller bag.",
            allowed_told
        )));
    }
}

/// A bag that hangs too long.
struct TooLong {
    /// At which setting.
    at: At,
    /// Whether it is one that follows another, rather than the first.
    later: bool,
    /// The run during which it does.
    span: Span,
    beyond: Beyond,
}

/// How long bags hang at a setting, in one view.
struct Hanging<'a> {
    order: &'a Order,
    view: &'a View,
    at: At,
}

impl Hanging<'_> {
    /// The bag that hangs too long, of those that a phase hangs: the first,
    /// or one that follows it where that hangs longer still.
    fn too_long(&self, index: usize, place: usize, allowed: &Exact) -> Option<TooLong> {
        let bound = self.view.patients.constant(allowed.clone());
        let beyond = |hangs: &Curve| Beyond::above(place, hangs, &bound);
        let first = self.first(index).as_ref().and_then(beyond);
        let later = self.later(index).as_ref().and_then(beyond);
        let (later, beyond) = match (first, later) {
            (Some(first), Some(later)) if later.excess() > first.excess() => (true, later),
            (None, Some(later)) => (true, later),
            (first, _) => (false, first?),
        };
        let mut sharing = self.view.sharing(index);
        let last = sharing.find_map(|(_, phase)| phase.runs.last());
        Some(TooLong {
            at: self.at,
            later,
            span: last.map_or(self.order.header, |run| run.span),
            beyond,
        })
    }

    fn flow(&self, phase: usize, run: usize) -> Option<Curve> {
        self.view.flow_of(self.order, phase, run, self.at)
    }

    /// From the moment the first bag is begun, with what is kept open from it.
    fn first(&self, index: usize) -> Option<Curve> {
        let life = self
            .view
            .life_with(index, |phase, run| self.flow(phase, run))?;
        match &self.order.phases.get(index)?.change_bag {
            Some(change) => {
                let change = self.view.patients.constant(change.value.clone());
                life.time.min(&change)
            }
            None => Some(life.time),
        }
    }

    /// A bag that follows: whole, for it has neither priming nor boluses.
    fn later(&self, index: usize) -> Option<Curve> {
        self.view.sharing(index).find_map(|(at, _)| {
            let flow = |phase, run| self.flow(phase, run);
            let succession = self.view.succession_with(self.order, at, flow)?;
            matches!(succession.next, Next::Renewed(_)).then_some(succession.lasts)
        })
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    const SOLVANE: &str = r#"
use "tarnwick.gtt"

drug solvane "Solvane, invented"
  supplied   100 mg in 10 mL
  hang time  12 h

order solvane-steady "Solvane"
  drug       solvane
  route      central vein
"#;

    fn assert_of(lines: &str) {
        assert_findings(&format!("{SOLVANE}{lines}"));
    }

    #[test]
    fn a_bag_that_follows_is_not_primed() {
        assert_of(
            "  mix        100 mg made up to 50 mL with saline
  prime      20 mL
  run        all at 2.5 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.hang-time: Each bag after the first hangs for 20 h, longer than the maximum hang time of 12 h.
  then       renew
",
        );
        assert_of(
            "  mix        100 mg made up to 50 mL with saline
  prime      20 mL
  run        all at 2.5 mL/h
  then       stop
",
        );
    }

    #[test]
    fn a_bag_kept_open_from_hangs_on() {
        assert_of(
            "  mix        100 mg made up to 250 mL with saline
  run        200 mL over 10 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.hang-time: A bag hangs
  then       keep open 2 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ run.keep-open-drug
",
        );
        assert_of(
            "  mix        100 mg made up to 250 mL with saline
  run        245 mL over 10 h
  then       keep open 5 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ run.keep-open-drug
",
        );
    }

    #[test]
    fn the_lowest_step_is_named_however_the_start_is_stated() {
        for run in ["all over 6 h", "all at 8 mg/h"] {
            let line = format!("  run        {run}");
            let marks = "^".repeat(line.len() - 2);
            assert_of(&format!(
                "  mix        48 mg made up to 48 mL with saline
{line}
  {marks} mix.hang-time: A bag at the lowest step hangs for 24 h, longer than the maximum hang time of 12 h.
  adjust     2 to 8 mg/h by 2 mg/h every 6 h
  then       renew
"
            ));
        }
    }
}
