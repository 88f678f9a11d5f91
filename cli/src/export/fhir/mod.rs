//! The parts of HL7 FHIR that the export writes: R4 (4.0.1) and R5 (5.0.0).
//! Names of fields are the standard's; a field that only one release has says
//! so.

mod decimal;
mod resources;
mod types;

pub(crate) use decimal::{Decimal, Quantity, Rate, Ratio};
pub(crate) use resources::{
    Action, ActivityDefinition, Bundle, Entry, Frame, Ingredient, Issue, Medication,
    OperationOutcome, PlanDefinition, RelatedAction, Resource,
};
pub(crate) use types::{
    CodeableConcept, CodeableReference, Coding, Dosage, DoseAndRate, Identifier, Narrative,
    OneOrMany, Period, Range, Reference, RelatedArtifact, Repeat, Timing, UsageContext,
};
