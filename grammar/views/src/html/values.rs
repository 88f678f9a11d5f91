//! Values on a sheet. Each carries what it is and for whom in its attributes,
//! so that a program can find it too.

use gutta_protocol::measures::NOTHING;
use gutta_quantity::Printed;
use maud::{Markup, html};

use crate::sheet::{Setting, Settings};
use crate::table::{self, ByPatient, Measured, Patients, Same, Table};

/// Whose values they are: the phase's name, or nothing.
#[derive(Clone, Copy)]
pub(super) struct Whose<'a>(pub(super) Option<&'a str>);

impl Whose<'_> {
    /// The values that are the same for all, then a table of the rest.
    pub(super) fn values(self, values: &ByPatient) -> Markup {
        html! {
            @if !values.same.is_empty() {
                dl.same {
                    @for Same { measure, value } in &values.same {
                        div {
                            dt { (measure) }
                            dd data-measure=(measure) data-phase=[self.0] {
                                (table::cell(value.as_ref()))
                            }
                        }
                    }
                }
            }
            @for table in &values.tables { (self.table(table)) }
        }
    }

    fn table(self, table: &Table) -> Markup {
        let Table { patients, measures } = table;
        let with = patients.with.as_ref().map(Printed::to_string);
        html! {
            div.scroll tabindex="0" role="group" aria-label={ "By " (patients.across) } {
                table {
                    @if let Some(with) = &with { caption { "At " (with) } }
                    thead {
                        tr {
                            th scope="col" { (patients.across) }
                            @for Measured { name, .. } in measures { th scope="col" { (name) } }
                        }
                    }
                    tbody {
                        @for (index, patient) in patients.all.iter().enumerate() {
                            tr {
                                th scope="row" { (patient.told.to_string()) }
                                @for Measured { name, cells } in measures {
                                    td data-measure=(name) data-phase=[self.0]
                                        data-at=(patient.told.to_string())
                                        data-with=[with.as_deref()] {
                                        (table::cell(cells.get(index).and_then(Option::as_ref)))
                                    }
                                }
                            }
                        }
                    }
                }
            }
            @if let Some(note) = table.note() { p.note { (NOTHING) " no value: " (note) "." } }
        }
    }

    /// The flow by patient at every setting.
    pub(super) fn settings(self, settings: &Settings) -> Markup {
        let whom = settings.patients.as_ref();
        let across = whom.map_or("", |patients| patients.across);
        html! {
            div.scroll tabindex="0" role="group" aria-label="Flow at each setting" {
                table.settings {
                    caption {
                        @if settings.measure == "flow" {
                            "Exact flow in " (settings.unit) " (no pump is named)"
                        } @else {
                            "Set the pump to, in " (settings.unit)
                        }
                        @if let Some(patients) = whom { (with(patients)) }
                    }
                    thead {
                        @match whom {
                            Some(patients) => (heads(patients)),
                            None => tr { th scope="col" { "dose" } th scope="col" { "every patient" } },
                        }
                    }
                    tbody {
                        @for row in &settings.rows { (self.setting(settings, row)) }
                    }
                }
            }
            p.note {
                "\u{25b6} starting setting. "
                @if !across.is_empty() {
                    "For a " (across) " between two columns the flow is between theirs: have the "
                    "rate calculated, do not estimate it. "
                }
                @if settings.thinned { "Not every setting is shown in the table. " }
                @if let Some(note) = settings.note { (NOTHING) " no value: " (note) "." }
            }
        }
    }

    fn setting(self, settings: &Settings, row: &Setting) -> Markup {
        let Setting { dose, start, cells } = row;
        let patients = settings.patients.as_ref();
        let at = |index: usize| Some(patients?.all.get(index)?.told.to_string());
        let with = patients.and_then(|patients| patients.with.as_ref());
        html! {
            tr.start[*start] {
                th scope="row" {
                    @if *start { span.sign title="start" { "\u{25b6}" } " " }
                    (dose)
                }
                @for (index, cell) in cells.iter().enumerate() {
                    td data-measure=(settings.measure) data-phase=[self.0] data-dose=(dose)
                        data-unit=(settings.unit) data-at=[at(index)]
                        data-with=[with.map(Printed::to_string)] {
                        (cell.as_deref().unwrap_or(NOTHING))
                    }
                }
            }
        }
    }
}

fn heads(patients: &Patients) -> Markup {
    html! {
        tr {
            th scope="col" { "dose" }
            @for patient in &patients.all { th scope="col" { (patient.told.to_string()) } }
        }
    }
}

fn with(patients: &Patients) -> String {
    patients
        .with
        .as_ref()
        .map(|with| format!(", at {with}"))
        .unwrap_or_default()
}
