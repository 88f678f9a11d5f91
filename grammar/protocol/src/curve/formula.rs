//! Curves in writing.

use std::fmt;

use gutta_quantity::{Exact, machine};

use super::pieces::Curve;
use super::polynomial::Polynomial;
use super::rational::Rational;

impl Curve {
    /// The curve in writing, where it has one piece: `3/8 × weight`,
    /// `60 / weight`, `(2 × weight + 5) / (weight + 50)`; `None` for more.
    #[must_use]
    pub fn formula(&self, variable: &str) -> Option<String> {
        match self.pieces.as_slice() {
            [only] => Some(only.formula(variable)),
            _ => None,
        }
    }

    /// Each piece in writing, with where it begins and ends (as in
    /// [`Curve::breaks`], the neighbours outside where not rational).
    #[must_use]
    pub(crate) fn formulas(&self, variable: &str) -> Vec<(Exact, Exact, String)> {
        self.parts()
            .map(|(piece, start, end)| {
                (
                    self.bracket(&start).0,
                    self.bracket(&end).1,
                    piece.formula(variable),
                )
            })
            .collect()
    }
}

/// The pieces with their ends.
impl fmt::Debug for Curve {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, (lo, hi, formula)) in self.formulas("x").into_iter().enumerate() {
            if index > 0 {
                f.write_str("; ")?;
            }
            write!(f, "{formula} on [{lo:?}, {hi:?}]")?;
        }
        Ok(())
    }
}

impl Rational {
    /// In writing, with whole coefficients in sums.
    fn formula(&self, variable: &str) -> String {
        let (num, den) = (self.num(), self.den());
        let power = usize::try_from(self.power.unsigned_abs()).unwrap_or_default();
        if num.is_constant() && den.is_constant() {
            return monomial(&self.coefficient, self.power, variable);
        }
        // A sum keeps its own numbers where nothing divides it.
        if den.is_constant() && self.power >= 0 {
            return sum(&num.scale(&self.coefficient).raise(power), variable);
        }
        let (cleared_num, cleared_den) = (num.cleared(), den.cleared());
        let outer = (&self.coefficient * &cleared_den.lead())
            .checked_div(&cleared_num.lead())
            .unwrap_or_default();
        let mut above = cleared_num.scale(&outer.numerator());
        let mut below = cleared_den.scale(&outer.denominator());
        if self.power >= 0 {
            above = above.raise(power);
        } else {
            below = below.raise(power);
        }
        format!(
            "{} / {}",
            bracketed(&above, variable),
            bracketed(&below, variable)
        )
    }
}

fn monomial(coefficient: &Exact, power: i32, variable: &str) -> String {
    let raised = raised(variable, power.unsigned_abs());
    match power {
        0 => number(coefficient),
        1.. if *coefficient == Exact::ONE => raised,
        1.. => format!("{} × {raised}", number(coefficient)),
        _ if coefficient.is_whole() || short(coefficient) => {
            format!("{} / {raised}", number(coefficient))
        }
        _ => format!(
            "{} / ({} × {raised})",
            machine::fraction(&coefficient.numerator()),
            machine::fraction(&coefficient.denominator())
        ),
    }
}

/// `x`, `x²`, `x³`, `x^4`.
fn raised(variable: &str, power: u32) -> String {
    match power {
        1 => variable.to_owned(),
        2 => format!("{variable}²"),
        3 => format!("{variable}³"),
        _ => format!("{variable}^{power}"),
    }
}

/// In brackets unless it is a single term without a division.
fn bracketed(polynomial: &Polynomial, variable: &str) -> String {
    let terms = polynomial
        .coefficients()
        .iter()
        .filter(|each| !each.is_zero());
    let text = sum(polynomial, variable);
    if terms.count() > 1 || text.contains('×') {
        format!("({text})")
    } else {
        text
    }
}

/// The terms from the highest power down.
fn sum(polynomial: &Polynomial, variable: &str) -> String {
    let mut text = String::new();
    for (power, coefficient) in polynomial.coefficients().iter().enumerate().rev() {
        if coefficient.is_zero() {
            continue;
        }
        let power = i32::try_from(power).unwrap_or(i32::MAX);
        let term = if text.is_empty() {
            monomial(coefficient, power, variable)
        } else {
            text.push_str(if coefficient.is_negative() {
                " − "
            } else {
                " + "
            });
            monomial(&coefficient.abs(), power, variable)
        };
        text.push_str(&term);
    }
    if text.is_empty() {
        text.push('0');
    }
    text
}

/// Whether the number is written as a decimal: at most two decimals.
fn short(value: &Exact) -> bool {
    value.decimals().is_some_and(|decimals| decimals <= 2)
}

/// A decimal where at most two decimals do, else a fraction.
fn number(value: &Exact) -> String {
    if short(value) {
        machine::decimal(value, 2)
    } else {
        machine::fraction(value)
    }
}
