//! What any stanza may state: words for people, the review's date, waivers.

use gutta_notation::ast::{Waive, WordsKind};
use gutta_notation::{Fact, Span};
use gutta_protocol::{StanzaId, Workspace};

use super::statement::{Bearing, Statement, StatementValue};

/// The lines that every kind of stanza has in common. Those that say what the
/// stanza is are told by its model.
pub(super) fn of_stanza(workspace: &Workspace, id: StanzaId) -> Vec<Statement> {
    let stanza = workspace.stanza(id);
    let mut all = Vec::new();
    let title = stanza.title.as_ref().map(|title| title.value.as_str());
    all.extend(title.map(|title| Statement::words("title", title, Bearing::TELLS)));
    for line in &stanza.lines {
        if !line.whole {
            let words = words(workspace, id, line.span);
            all.push(Statement::words(
                "line that could not be read",
                words,
                Bearing::ACTS,
            ));
            continue;
        }
        match &line.fact {
            Fact::Words { kind, text } => {
                let what = match kind {
                    WordsKind::Goal => "goal",
                    WordsKind::Monitor => "monitor",
                    WordsKind::Note => "note",
                    WordsKind::Source => "source",
                    WordsKind::StopWhen => "stop when",
                };
                all.push(Statement::words(what, text.value.as_str(), Bearing::TELLS));
            }
            Fact::ReviewBy(date) => {
                let day = date.value.map(StatementValue::Day);
                all.extend(day.map(|day| Statement::new("review by", day, Bearing::TELLS)));
            }
            Fact::Accuracy(share) => {
                let share = share.quantity();
                all.extend(share.map(|share| {
                    let number = StatementValue::Number(share.base(), share.unit);
                    Statement::new("accuracy", number, Bearing::TELLS)
                }));
            }
            Fact::Waive(waive) => waiver(waive, &mut all),
            _ => {}
        }
    }
    all
}

/// What stands in a stretch of a stanza, blanks apart.
pub(super) fn words(workspace: &Workspace, id: StanzaId, span: Span) -> String {
    workspace.written(workspace.place(id, span))
}

/// A waiver, its bound, its last day and its reason.
fn waiver(waive: &Waive, all: &mut Vec<Statement>) {
    let Waive {
        rule,
        bound,
        because,
        until,
    } = waive;
    let mut what = format!("waiver of {}", rule.value);
    let (said, bearing) = match bound {
        None => (StatementValue::So, Bearing::ALLOWS),
        Some(bound) => {
            let (side, bearing) = if bound.up {
                ("up to", Bearing::ALLOWS_UP_TO)
            } else {
                ("down to", Bearing::ALLOWS_DOWN_TO)
            };
            what = format!("{what}, {} {side}", bound.measure.value.phrase());
            let quantity = bound.quantity.quantity();
            let said = quantity.map(|bound| StatementValue::Number(bound.base(), bound.unit));
            (said.unwrap_or(StatementValue::So), bearing)
        }
    };
    all.push(Statement::new(what.clone(), said, bearing));
    if let Some(day) = until.as_ref().and_then(|until| until.value) {
        let until = format!("{what}, until");
        all.push(Statement::new(
            until,
            StatementValue::Day(day),
            Bearing::MOST,
        ));
    }
    if let Some(reason) = because {
        let reason = reason.value.as_str();
        let because = format!("{what}, because");
        all.push(Statement::words(because, reason, Bearing::TELLS));
    }
}
