//! From the line of an adjustment to what it means.

use gutta_notation::Span;
use gutta_notation::ast::{self, Steps};

use super::lower::Lowering;
use super::order::{AdjustSpec, StepsSpec};
use super::problem::ProblemKind;
use super::size::{Form, Stuff};

pub(super) fn adjust(
    lowering: &mut Lowering,
    adjust: &ast::Adjust,
    span: Span,
) -> Option<AdjustSpec> {
    let every = lowering.time(&adjust.every);
    let rate = |form: &Form| form.rate && form.stuff != Stuff::Drops;
    let steps = match &adjust.steps {
        Steps::By { range, step } => {
            let (Some(low), Some(high)) = (&range.low, &range.high) else {
                lowering.problem(
                    range.span,
                    ProblemKind::Missing {
                        what: "both ends of the range",
                    },
                );
                return None;
            };
            let low = lowering.size(low, "a dose or a flow", rate)?;
            let high = lowering.size(high, "a dose or a flow", rate)?;
            let step = lowering.size(step, "a dose or a flow", rate)?;
            for size in [&high, &step] {
                if size.form != low.form {
                    lowering.problem(
                        size.span,
                        ProblemKind::WrongKind {
                            found: size.unit.dimension().name(),
                            wanted: "the kind that the range begins with",
                        },
                    );
                    return None;
                }
            }
            StepsSpec::By { low, high, step }
        }
        Steps::List(list) => {
            let sizes: Option<Vec<_>> = list
                .iter()
                .map(|written| lowering.size(written, "a dose or a flow", rate))
                .collect();
            StepsSpec::List(sizes?)
        }
    };
    Some(AdjustSpec {
        span,
        steps,
        every: every?,
    })
}
