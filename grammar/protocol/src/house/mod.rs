//! The numbers and habits that a house sets in `gutta.toml`.

mod positions;
mod read;
pub mod settings;

pub use read::HouseFault;

use gutta_notation::Style;
use gutta_quantity::Exact;
use smol_str::SmolStr;

use crate::Severity;

/// A house's settings. All bounds are house figures without a source; the
/// defaults are in [`settings::SETTINGS`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct House {
    /// How it writes.
    pub style: Style,
    /// The pump that holds where neither order nor area names one.
    pub pump: Option<SmolStr>,
    /// The area that holds where the order names none.
    pub area: Option<SmolStr>,
    /// The giving set that holds where neither order nor area names one.
    pub giving_set: Option<SmolStr>,
    /// Relative change of the flow by the pump's rounding.
    pub rounding_tolerance: Exact,
    /// Relative difference of a counted and the true volume.
    pub counted_as_tolerance: Exact,
    /// Relative difference of what a reference says twice.
    pub reference_tolerance: Exact,
    /// mOsm/L above which a peripheral vein is too small.
    pub peripheral_osmolarity: Exact,
    /// Share of a bag that may be left over without a word.
    pub left_over: Exact,
    /// Drops per minute that can be counted, lowest.
    pub drops_low: Exact,
    /// Drops per minute that can be counted, highest.
    pub drops_high: Exact,
    /// Minutes that a drug may need through the line.
    pub line_delay: Exact,
    /// Share of a dose that may stay in the line.
    pub left_in_line: Exact,
    /// Relative change of a value between two states that is marked.
    pub marked_change: Exact,
    /// Syringe marks: up to this many mL, this many mL from mark to mark.
    pub syringe_marks: Vec<(Exact, Exact)>,
    /// Minutes that a bag may hang where the drug does not say.
    pub hang_time: Option<Exact>,
    /// Severities other than the rules' usual ones, in the order written.
    pub severity: Vec<SeveritySetting>,
    /// Paths that are not checked (globs, relative to the root).
    pub exclude: Vec<String>,
    /// Where each key stands: line and column, from 1.
    pub positions: Vec<(&'static str, (u32, u32))>,
}

/// How serious the house takes the findings of a rule.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SeveritySetting {
    /// The rule as written; whether there is one, the rules know.
    pub rule: SmolStr,
    /// The severity.
    pub severity: Severity,
    /// The line it stands on, from 1.
    pub line: u32,
    /// The column of its rule, from 1.
    pub column: u32,
}

impl House {
    /// With nothing set, before the defaults are.
    fn blank() -> Self {
        Self {
            style: Style::USUAL,
            pump: None,
            area: None,
            giving_set: None,
            rounding_tolerance: Exact::ZERO,
            counted_as_tolerance: Exact::ZERO,
            reference_tolerance: Exact::ZERO,
            peripheral_osmolarity: Exact::ZERO,
            left_over: Exact::ZERO,
            drops_low: Exact::ZERO,
            drops_high: Exact::ZERO,
            line_delay: Exact::ZERO,
            left_in_line: Exact::ZERO,
            marked_change: Exact::ZERO,
            syringe_marks: Vec::new(),
            hang_time: None,
            severity: Vec::new(),
            exclude: Vec::new(),
            positions: Vec::new(),
        }
    }

    /// The severity that the house sets for the rule.
    #[must_use]
    pub fn severity_of(&self, rule: &str) -> Option<Severity> {
        self.severity
            .iter()
            .rev()
            .find(|setting| setting.rule == rule)
            .map(|setting| setting.severity)
    }

    /// Line and column, from 1, at which a key stands; the file's start where
    /// it does not.
    #[must_use]
    pub fn position(&self, key: &str) -> (u32, u32) {
        self.positions
            .iter()
            .find(|(held, _)| *held == key)
            .map_or((1, 1), |(_, position)| *position)
    }
}
