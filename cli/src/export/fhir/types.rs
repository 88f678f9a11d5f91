//! The data types.

use serde::Serialize;
use serde_with::skip_serializing_none;

use super::{Decimal, Quantity, Ratio};

/// A code of a code system.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Coding {
    pub(crate) system: &'static str,
    pub(crate) code: &'static str,
}

/// A concept, in words where no code fits.
#[skip_serializing_none]
#[derive(Clone, Debug, Default, Serialize)]
pub(crate) struct CodeableConcept {
    pub(crate) coding: Option<Vec<Coding>>,
    pub(crate) text: Option<String>,
}

impl CodeableConcept {
    /// Words alone.
    pub(crate) fn text(text: impl Into<String>) -> Self {
        Self {
            coding: None,
            text: Some(text.into()),
        }
    }

    /// A code alone.
    pub(crate) fn code(system: &'static str, code: &'static str) -> Self {
        Self {
            coding: Some(vec![Coding { system, code }]),
            text: None,
        }
    }
}

/// Another resource.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Reference {
    pub(crate) reference: String,
}

/// A concept or another resource (R5).
#[skip_serializing_none]
#[derive(Clone, Debug, Default, Serialize)]
pub(crate) struct CodeableReference {
    pub(crate) concept: Option<CodeableConcept>,
    pub(crate) reference: Option<Reference>,
}

/// Text for people: XHTML.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Narrative {
    pub(crate) status: &'static str,
    pub(crate) div: String,
}

/// A business name.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Identifier {
    pub(crate) value: String,
}

/// From when to when.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Period {
    pub(crate) end: String,
}

/// Between two quantities, both counted in.
#[skip_serializing_none]
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Range {
    pub(crate) low: Option<Quantity>,
    pub(crate) high: Option<Quantity>,
}

/// For whom or where something is meant.
#[skip_serializing_none]
#[derive(Clone, Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct UsageContext {
    pub(crate) code: Coding,
    pub(crate) value_codeable_concept: Option<CodeableConcept>,
    pub(crate) value_range: Option<Range>,
}

/// What something rests on.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct RelatedArtifact {
    #[serde(rename = "type")]
    pub(crate) kind: &'static str,
    pub(crate) display: String,
}

/// When.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Timing {
    pub(crate) repeat: Repeat,
}

/// How often and how long. Units are UCUM codes of time.
#[skip_serializing_none]
#[derive(Clone, Debug, Default, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct Repeat {
    pub(crate) count: Option<u32>,
    pub(crate) duration: Option<Decimal>,
    pub(crate) duration_unit: Option<&'static str>,
    pub(crate) frequency: Option<u32>,
    pub(crate) period: Option<Decimal>,
    pub(crate) period_unit: Option<&'static str>,
}

/// How one thing is given.
#[skip_serializing_none]
#[derive(Clone, Debug, Default, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct Dosage {
    pub(crate) sequence: usize,
    pub(crate) text: String,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) additional_instruction: Vec<CodeableConcept>,
    pub(crate) timing: Option<Timing>,
    pub(crate) route: Option<CodeableConcept>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) dose_and_rate: Vec<DoseAndRate>,
    pub(crate) max_dose_per_period: Option<OneOrMany<Ratio>>,
    pub(crate) max_dose_per_administration: Option<Quantity>,
}

/// An element that may stand once in R4, and several times in R5.
#[derive(Clone, Debug, Serialize)]
#[serde(untagged)]
pub(crate) enum OneOrMany<T> {
    /// R4.
    One(T),
    /// R5.
    Many([T; 1]),
}

/// How much, and how fast.
#[skip_serializing_none]
#[derive(Clone, Debug, Default, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct DoseAndRate {
    #[serde(rename = "type")]
    pub(crate) kind: CodeableConcept,
    pub(crate) dose_quantity: Option<Quantity>,
    pub(crate) rate_quantity: Option<Quantity>,
    pub(crate) rate_ratio: Option<Ratio>,
}
