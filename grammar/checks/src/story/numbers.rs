//! What one number breaks: found by changing it, and looking what is then gone.

use gutta_notation::Span;
use gutta_protocol::Analysis;
use gutta_protocol::derive::At;
use gutta_protocol::limits::passes;

use super::changes::{Changes, RuleAnswers};
use crate::slots::{Slot, slots};
use crate::{Check, Finding, OrderContext, Severity};

/// A point moved, or a unit a thousandfold apart: a number as many times too
/// large or too small.
const SLIPS: [(i64, i64); 6] = [(1, 10), (10, 1), (1, 100), (100, 1), (1, 1000), (1000, 1)];

/// Ever further from the number as it is written, down and up.
const AWAY: [[(i64, i64); 4]; 2] = [
    [(4, 5), (1, 2), (1, 5), (1, 10)],
    [(5, 4), (2, 1), (5, 1), (10, 1)],
];

/// Finds the findings, by their indexes, that go together with the change of one
/// number of the order; no group of one. What matters most goes first; what goes
/// with nothing by itself may go with what comes after it: the change that brings
/// a day's dose below its limit may leave the rate above its own.
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
    let changes = Changes::new(context, findings);
    for cause in open.clone() {
        if open.len() < 2 {
            break;
        }
        if !open.contains(&cause) {
            continue;
        }
        let search = Search {
            context,
            changes: &changes,
            findings,
            open: &open,
            cause,
        };
        let mut group = search.group(&numbers);
        if group.len() > 1 {
            // What goes with one of them by itself goes with all.
            let all = group.clone().into_iter();
            let more = all.flat_map(|one| alike(findings, &open, one));
            for one in more {
                if !group.contains(&one) {
                    group.push(one);
                }
            }
            open.retain(|index| !group.contains(index));
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
    let is_alike = |other: &Finding| match (&own.extent, &other.extent) {
        (Some(one), Some(two)) => {
            let same = one.measure == two.measure && one.side() == two.side();
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
    changes: &'a Changes<'a>,
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
        for mended in self.context.mended.get().into_iter().flatten() {
            if self.stands_in(mended.line) {
                let said = RuleAnswers::default();
                self.take(&mut best, self.mended(&mended.right, &said));
            }
        }
        let near = self.near(numbers).into_iter();
        let (first, then): (Vec<&Slot>, Vec<&Slot>) =
            near.partition(|slot| self.stands_in(slot.line));
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
                // What the furthest does not mend, no gentler one does.
                let furthest = way.last().and_then(|far| self.changes.changed(slot, *far));
                if furthest.is_some_and(|far| !self.is_mended(&far.analysis, &far.said)) {
                    continue;
                }
                let mut tried = way.into_iter();
                // The gentlest change that mends it says what leans on it.
                let gentlest = tried.find_map(|factor| {
                    let changed = self.changes.changed(slot, factor)?;
                    let mended = self.mended(&changed.analysis, &changed.said);
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

    /// Whether the finding stands in a line of the order, or is that line.
    fn stands_in(&self, line: Span) -> bool {
        let (own, line) = (self.findings[self.cause].place, self.context.place(line));
        own.file == line.file && line.span.start <= own.span.start && own.span.end <= line.span.end
    }

    /// The numbers of the phases that the finding is about; all, where it is
    /// about none.
    fn near<'s>(&self, numbers: &'s [Slot]) -> Vec<&'s Slot> {
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
        let of_it = lines.filter(|lines| lines.iter().any(|line| self.stands_in(*line)));
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
        let Some(changed) = self.changes.changed(slot, factor) else {
            return;
        };
        let mended = self.mended(&changed.analysis, &changed.said);
        if self.is_better(best, &mended) && !self.changes.bring(&changed) {
            *best = mended;
        }
    }

    /// Whether the cause says that the order as it starts passes a bound, and it
    /// still does: asked first, since all the other bounds need not be.
    fn is_passed(&self, changed: &Analysis) -> bool {
        let cause = &self.findings[self.cause];
        let (Some(usual), Ok(values), Some(drug), [limit, ..]) = (
            cause.rule.tells_of_usual(),
            &changed.values,
            &changed.order.drug,
            cause.related.as_slice(),
        ) else {
            return false;
        };
        let bounds = drug.value.limits.iter().filter(|bound| {
            let place = self.context.workspace.place(drug.id, bound.span);
            place == limit.place && bound.usual == usual
        });
        passes(
            &changed.order,
            values,
            &bounds.collect::<Vec<_>>(),
            |breach| {
                let at_start = breach.reading.at == At::Start;
                at_start && self.context.place(breach.reading.span) == cause.place
            },
        )
    }

    /// What is open and not found in the order as it might be; nothing, where the
    /// cause itself is.
    fn mended(&self, changed: &Analysis, said: &RuleAnswers) -> Vec<usize> {
        if !self.is_mended(changed, said) {
            return Vec::new();
        }
        let open = self.open.iter().copied();
        open.filter(|index| !self.is_left(*index, changed, said))
            .collect()
    }

    fn is_mended(&self, changed: &Analysis, said: &RuleAnswers) -> bool {
        !self.is_passed(changed) && !self.is_left(self.cause, changed, said)
    }

    fn is_left(&self, index: usize, changed: &Analysis, said: &RuleAnswers) -> bool {
        let finding = &self.findings[index];
        let said = said.by(self.context, changed, finding.rule);
        said.contains(&finding.key())
    }
}
