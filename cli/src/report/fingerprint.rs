//! What marks a finding as the same one in the next run, wherever its lines
//! have moved.

use std::fmt::Write;

use gutta_checks::{Finding, explains};
use rustc_hash::FxHashMap;
use sha2::{Digest, Sha256};

use super::Report;
use crate::holder::holder;

/// So many bytes of the hash are kept: two findings of a house never meet.
const BYTES: usize = 16;

impl Report<'_> {
    /// A fingerprint for each finding, in hexadecimal digits: of its rule, its
    /// file, its stanza, its message without numbers, and its place among the
    /// findings that are alike in these. None of it is a line or a column.
    pub(super) fn fingerprints(&self) -> Vec<String> {
        let mut seen: FxHashMap<String, usize> = FxHashMap::default();
        let one = |finding: &Finding| {
            let workspace = self.workspace;
            let file = &workspace.file(finding.place.file).path;
            let stanza = holder(workspace, finding);
            // Which slips explain a number goes with the number.
            let message = match explains(finding) {
                true => String::new(),
                false => stable(&finding.message),
            };
            let alike = [finding.rule.name, file, &stanza, &message].join("\0");
            let ordinal = seen.entry(alike.clone()).or_default();
            *ordinal += 1;
            hashed(&format!("{alike}\0{ordinal}"))
        };
        self.findings.iter().map(one).collect()
    }
}

/// The message with every number made `#` and every run of blanks one blank: an
/// order that is worked on changes its numbers before it is right.
fn stable(message: &str) -> String {
    let mut out = String::with_capacity(message.len());
    let mut number = false;
    let mut chars = message.chars().peekable();
    while let Some(c) = chars.next() {
        let digit = |c: &char| c.is_ascii_digit();
        let inside = number && matches!(c, '.' | ',') && chars.peek().is_some_and(digit);
        if digit(&c) || inside {
            if !number {
                out.push('#');
            }
            number = true;
            continue;
        }
        number = false;
        match c {
            c if c.is_whitespace() => {
                if !out.ends_with(' ') {
                    out.push(' ');
                }
            }
            c => out.push(c),
        }
    }
    out
}

fn hashed(text: &str) -> String {
    let digest = Sha256::digest(text.as_bytes());
    let mut hex = String::with_capacity(2 * BYTES);
    for byte in digest.iter().take(BYTES) {
        let _ = write!(hex, "{byte:02x}");
    }
    hex
}

#[cfg(test)]
mod tests {
    use super::stable;

    #[test]
    fn numbers_and_blanks_are_levelled() {
        assert_eq!(
            stable("Above 106.6 kg the\n  flow is more than 1,000 mL/h: 56.3."),
            "Above # kg the flow is more than # mL/h: #."
        );
        assert_eq!(stable("`glucose-5`, then 2."), "`glucose-#`, then #.");
    }
}
