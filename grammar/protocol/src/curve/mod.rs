//! Exact piecewise rational functions of one variable.
//!
//! A [`Curve`] gives a derived value as a function of the patient's weight (or
//! surface) over a closed range: `3/8 × weight` mL/h, say, bounded by a cap from
//! 320/3 kg on. All of it is exact: a sum, quotient or minimum of curves is the
//! true one at every number of the range, and a corner that is not a rational
//! number is kept as the root of its polynomial. Only where such a place is
//! reported is it bracketed, to 1/1000 of the unit, and said on the safe side.
//!
//! Units are the caller's: a curve knows numbers only.

mod algebra;
mod analysis;
mod extremum;
mod formula;
mod pieces;
mod point;
mod polynomial;
mod rational;
mod regions;
mod roots;
mod steps;
mod strokes;
#[cfg(test)]
mod tests;

pub use extremum::Extremum;
pub use pieces::{Curve, Interval};
pub use regions::{Edge, Region, covered};
pub use steps::{MonotonePiece, StepEdge, StepEdges, Trend};
pub use strokes::Dot;
