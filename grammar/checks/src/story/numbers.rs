//! What one number breaks: found by changing it, and looking what is then gone.

use gutta_protocol::Analysis;
use gutta_protocol::derive::Patient;
use gutta_quantity::Exact;

use crate::as_if::AsIf;
use crate::slots::{Slot, slots};
use crate::{Check, Extent, Finding, OrderContext, Rule, Severity, rules};

/// A point moved, or a unit a thousandfold apart: a number as many times too
/// large or too small.
const SLIPS: [(i64, i64); 6] = [(1, 10), (10, 1), (1, 100), (100, 1), (1, 1000), (1000, 1)];

/// Ever further from the number as it is written, down and up.
const AWAY: [[(i64, i64); 4]; 2] = [
    [(4, 5), (1, 2), (1, 5), (1, 10)],
    [(5, 4), (2, 1), (5, 1), (10, 1)],
];

/// Finds the findings, by their indexes, that go together with the change of one
/// number of the order; no group of one. What matters most goes first.
pub(super) fn groups(
    context: &OrderContext<'_>,
    findings: &[Finding],
    groups: &mut Vec<Vec<usize>>,
) {
    let mut open = open(findings, groups);
    let numbers = match open.len() {
        0 | 1 => Vec::new(),
        _ => slots(&context.analysis.order),
    };
    while let [cause, _, ..] = open.as_slice() {
        let search = Search {
            context,
            findings,
            open: &open,
            cause: *cause,
        };
        let group = search.group(&numbers);
        open.retain(|index| !group.contains(index));
        if group.len() > 1 {
            groups.push(group);
        }
    }
}

/// Puts together what is left and is said of one measure: that needs no search.
pub(super) fn of_one_measure(findings: &[Finding], groups: &mut Vec<Vec<usize>>) {
    let mut open = open(findings, groups);
    while let [cause, _, ..] = open.as_slice() {
        let group = alike(findings, &open, *cause);
        open.retain(|index| !group.contains(index));
        if group.len() > 1 {
            groups.push(group);
        }
    }
}

/// What may follow from a number and is in no group, what matters most first.
fn open(findings: &[Finding], groups: &[Vec<usize>]) -> Vec<usize> {
    let mut open: Vec<_> = (0..findings.len())
        .filter(|index| may_follow(&findings[*index]))
        .filter(|index| !groups.iter().any(|group| group.contains(index)))
        .collect();
    open.sort_by_key(|index| (findings[*index].rule.rank(), findings[*index].place));
    open
}

/// A finding itself, and what is said of the same measure on the same line, on
/// the same side: a dose beyond the `never` is beyond the `usual`.
fn alike(findings: &[Finding], open: &[usize], cause: usize) -> Vec<usize> {
    let own = &findings[cause];
    let side = |extent: &Extent| (extent.low.is_some(), extent.high.is_some());
    let is_alike = |other: &Finding| match (&own.extent, &other.extent) {
        (Some(one), Some(two)) => {
            let same = one.measure == two.measure && side(one) == side(two);
            same && other.place == own.place
        }
        _ => false,
    };
    let open = open.iter().copied();
    open.filter(|index| *index == cause || is_alike(&findings[*index]))
        .collect()
}

/// Whether it follows from what the order's numbers are.
fn may_follow(finding: &Finding) -> bool {
    let of_order = matches!(
        finding.rule.check,
        Check::Order(_) | Check::StanzaAndOrder(..)
    );
    of_order && finding.severity >= Severity::Warning
}

/// For what goes together with one finding.
struct Search<'a> {
    context: &'a OrderContext<'a>,
    findings: &'a [Finding],
    /// What belongs to no group yet.
    open: &'a [usize],
    /// The finding.
    cause: usize,
}

impl Search<'_> {
    /// The finding and all that is gone with it, once the number is another that
    /// most goes with.
    fn group(&self, numbers: &[Slot]) -> Vec<usize> {
        let of_one = alike(self.findings, self.open, self.cause);
        let mut best = of_one.clone();
        let own = self.findings[self.cause].place;
        for mended in self.context.mended.get().into_iter().flatten() {
            if self.context.place(mended.line) == own {
                self.take(&mut best, self.mended(&mended.right));
            }
        }
        let on_line = |slot: &&Slot| self.context.place(slot.line) == own;
        let near = self.near(numbers);
        let (first, then): (Vec<&Slot>, Vec<&Slot>) = near.into_iter().partition(on_line);
        let near = || first.iter().chain(&then);
        for slot in near() {
            if best.len() == self.open.len() {
                return best;
            }
            for factor in SLIPS {
                self.slipped(&mut best, slot, factor);
            }
        }
        // How far an example is out says nothing of how it was meant.
        let example = self.findings[self.cause].rule.is_example();
        for slot in near().filter(|_| !example) {
            if best.len() == self.open.len() {
                return best;
            }
            for way in AWAY {
                let mut tried = way.into_iter().map(|factor| self.changed(slot, factor));
                // The gentlest change that mends it says what leans on it.
                let gentlest = tried.find_map(|changed| {
                    let mended = self.mended(&changed?);
                    of_one
                        .iter()
                        .all(|one| mended.contains(one))
                        .then_some(mended)
                });
                if let Some(mended) = gentlest {
                    self.take(&mut best, mended);
                }
            }
        }
        best
    }

    /// The numbers of the phases that the finding is about; all, where it is
    /// about none.
    fn near<'s>(&self, numbers: &'s [Slot]) -> Vec<&'s Slot> {
        let own = self.findings[self.cause].place;
        let phases = &self.context.analysis.order.phases;
        let mut hung = None;
        let lines = phases.iter().map(|phase| {
            // A phase without a bag goes on with the one above.
            hung = phase.bag.as_ref().map(|bag| bag.span).or(hung);
            let bag = hung.into_iter();
            let runs = phase.runs.iter().map(|run| run.span);
            let boluses = phase.boluses.iter().map(|bolus| bolus.span);
            let adjust = phase.adjust.iter().map(|adjust| adjust.span);
            let then = phase.then.iter().map(|(_, span)| *span);
            let lines = bag.chain(runs).chain(boluses).chain(adjust).chain(then);
            lines.collect::<Vec<_>>()
        });
        let of_it = lines.filter(|lines| lines.iter().any(|line| self.context.place(*line) == own));
        let near: Vec<_> = of_it.flatten().collect();
        let numbers = numbers.iter();
        numbers
            .filter(|slot| near.is_empty() || near.contains(&slot.line))
            .collect()
    }

    /// Takes what is mended instead of the best so far, if it is more.
    fn take(&self, best: &mut Vec<usize>, mended: Vec<usize>) {
        if self.is_better(best, &mended) {
            *best = mended;
        }
    }

    fn is_better(&self, best: &[usize], mended: &[usize]) -> bool {
        mended.contains(&self.cause) && mended.len() > best.len()
    }

    /// A slip may be it only where nothing else is wrong without it.
    fn slipped(&self, best: &mut Vec<usize>, slot: &Slot, factor: (i64, i64)) {
        let Some(changed) = self.changed(slot, factor) else {
            return;
        };
        let mended = self.mended(&changed);
        if !self.is_better(best, &mended) {
            return;
        }
        let known: Vec<_> = self.findings.iter().map(Finding::key).collect();
        if !self.as_if().brings(&changed, &known) {
            *best = mended;
        }
    }

    fn changed(&self, slot: &Slot, (times, parts): (i64, i64)) -> Option<Analysis> {
        let factor = Exact::ratio(times, parts)?;
        let order = slot.scaled(&self.context.analysis.order, &factor)?;
        let changed = Analysis::of_order(order, &Patient::default());
        changed.values.is_ok().then_some(changed)
    }

    fn as_if(&self) -> AsIf<'_> {
        AsIf {
            context: self.context,
            rules: rules(),
        }
    }

    /// What these rules say of the order as it might be.
    fn found(&self, changed: &Analysis, of: &[&Rule]) -> Vec<Finding> {
        let is_of = |rule: &Rule| of.iter().any(|one| one.name == rule.name);
        self.as_if().found(changed, is_of)
    }

    /// What is open and not found in the order as it might be; nothing, where the
    /// cause itself is.
    fn mended(&self, changed: &Analysis) -> Vec<usize> {
        let cause = &self.findings[self.cause];
        let own = self.found(changed, &[cause.rule]);
        if own.iter().any(|left| left.key() == cause.key()) {
            return Vec::new();
        }
        let open = self.open.iter();
        let rules: Vec<_> = open.map(|index| self.findings[*index].rule).collect();
        let left = self.found(changed, &rules);
        let left: Vec<_> = left.iter().map(Finding::key).collect();
        let open = self.open.iter().copied();
        open.filter(|index| !left.contains(&self.findings[*index].key()))
            .collect()
    }
}
