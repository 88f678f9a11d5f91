//! One line a finding: `orders/a.gtt:3:5: error limit.never: …`.

use std::fmt::Write;

use gutta_checks::Finding;
use gutta_notation::visible_line;

use super::Report;
use crate::prose::{Prose, curt};

impl Report<'_> {
    /// The findings chosen, one line each.
    pub(crate) fn concise(&self, prose: Prose, chosen: impl Fn(&Finding) -> bool) -> String {
        let mut out = String::new();
        for (finding, cause) in self.with_causes(chosen) {
            let (start, _) = self.positions(finding.place);
            let message: Vec<_> = finding.message.split_whitespace().collect();
            let _ = writeln!(
                out,
                "{}:{}:{}: {} {}: {}{}",
                self.shown(finding.place.file),
                start.line,
                start.column,
                prose.severity(finding.severity.word()),
                finding.rule.name,
                visible_line(&curt(&message.join(" "))),
                self.follows_from(finding, cause),
            );
        }
        out
    }
}
