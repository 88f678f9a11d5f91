//! The resources.

use serde::Serialize;
use serde_with::skip_serializing_none;

use super::{
    CodeableConcept, CodeableReference, Dosage, Identifier, Narrative, Period, Quantity, Ratio,
    Reference, RelatedArtifact, UsageContext,
};

/// Resources that belong together.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct Bundle {
    pub(crate) resource_type: &'static str,
    #[serde(rename = "type")]
    pub(crate) kind: &'static str,
    pub(crate) entry: Vec<Entry>,
}

/// A resource of a bundle.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct Entry {
    pub(crate) full_url: String,
    pub(crate) resource: Resource,
}

/// Any of the resources that are written.
#[derive(Debug, Serialize)]
#[serde(tag = "resourceType")]
pub(crate) enum Resource {
    Medication(Box<Medication>),
    ActivityDefinition(Box<ActivityDefinition>),
    PlanDefinition(Box<PlanDefinition>),
    OperationOutcome(Box<OperationOutcome>),
}

/// A drug as supplied, a solution, or what is in a bag.
#[skip_serializing_none]
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct Medication {
    pub(crate) id: String,
    pub(crate) text: Narrative,
    pub(crate) identifier: Vec<Identifier>,
    pub(crate) code: CodeableConcept,
    /// R4: the volume, of one.
    pub(crate) amount: Option<Ratio>,
    /// R5: the volume.
    pub(crate) total_volume: Option<Quantity>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) ingredient: Vec<Ingredient>,
}

/// What is in a medication.
#[skip_serializing_none]
#[derive(Debug, Default, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct Ingredient {
    /// R4.
    pub(crate) item_reference: Option<Reference>,
    /// R4.
    pub(crate) item_codeable_concept: Option<CodeableConcept>,
    /// R5.
    pub(crate) item: Option<CodeableReference>,
    /// R4.
    pub(crate) strength: Option<Ratio>,
    /// R5.
    pub(crate) strength_ratio: Option<Ratio>,
}

/// What every definition begins with. A draft, never more.
#[skip_serializing_none]
#[derive(Clone, Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct Frame {
    pub(crate) id: String,
    pub(crate) text: Narrative,
    pub(crate) url: String,
    pub(crate) identifier: Vec<Identifier>,
    pub(crate) name: Option<String>,
    pub(crate) title: String,
    pub(crate) status: &'static str,
    pub(crate) experimental: bool,
    pub(crate) description: String,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) use_context: Vec<UsageContext>,
    pub(crate) usage: &'static str,
    pub(crate) effective_period: Option<Period>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) related_artifact: Vec<RelatedArtifact>,
}

/// An order, or a phase of one.
#[skip_serializing_none]
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct ActivityDefinition {
    #[serde(flatten)]
    pub(crate) frame: Frame,
    pub(crate) kind: &'static str,
    pub(crate) product_reference: Option<Reference>,
    pub(crate) dosage: Vec<Dosage>,
}

/// A set, or an order with phases.
#[derive(Debug, Serialize)]
pub(crate) struct PlanDefinition {
    #[serde(flatten)]
    pub(crate) frame: Frame,
    #[serde(rename = "type")]
    pub(crate) kind: CodeableConcept,
    pub(crate) action: Vec<Action>,
}

/// A step of a plan.
#[skip_serializing_none]
#[derive(Debug, Default, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct Action {
    pub(crate) id: Option<String>,
    /// R5.
    pub(crate) link_id: Option<String>,
    pub(crate) title: String,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) related_action: Vec<RelatedAction>,
    pub(crate) grouping_behavior: Option<&'static str>,
    pub(crate) selection_behavior: Option<&'static str>,
    pub(crate) definition_canonical: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) action: Vec<Self>,
}

/// The step that another follows.
#[skip_serializing_none]
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct RelatedAction {
    /// R4.
    pub(crate) action_id: Option<String>,
    /// R5.
    pub(crate) target_id: Option<String>,
    pub(crate) relationship: &'static str,
}

/// What is not in the other resources.
#[derive(Debug, Serialize)]
pub(crate) struct OperationOutcome {
    pub(crate) id: String,
    pub(crate) text: Narrative,
    pub(crate) issue: Vec<Issue>,
}

/// One thing that is not in them.
#[derive(Debug, Serialize)]
pub(crate) struct Issue {
    pub(crate) severity: &'static str,
    pub(crate) code: &'static str,
    pub(crate) details: CodeableConcept,
    pub(crate) diagnostics: String,
}
