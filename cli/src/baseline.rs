//! Findings that a workspace lives with for now, kept in a file: by file,
//! stanza and rule, each with a count, never by line.

use std::collections::{BTreeMap, HashSet};
use std::path::Path;

use gutta_checks::words::counted;
use gutta_checks::{Finding, no_rule, rule};
use gutta_protocol::Workspace;
use gutta_server::disk::{MAX_OWN_BYTES, text};
use serde::{Deserialize, Serialize};

use crate::failure::Failure;
use crate::files::{Loaded, no_source, write_after};
use crate::holder::holder;

/// Which findings are counted together.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Key {
    /// From the root, with forward slashes.
    file: String,
    /// `order noradrenaline-central`; empty for what stands in no stanza.
    stanza: String,
    rule: String,
}

/// What a file lives with.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Baseline(BTreeMap<Key, usize>);

/// The file's form.
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    #[serde(default)]
    finding: Vec<Entry>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    file: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    stanza: String,
    rule: String,
    count: usize,
}

/// What a baseline made of the findings.
#[derive(Debug, Default, Serialize)]
pub(crate) struct Held {
    /// How many findings it holds back.
    pub(crate) held: usize,
    /// Its entries of which fewer, or none, were found.
    pub(crate) fixed: Vec<Fixed>,
}

/// An entry that is fixed, wholly or in part.
#[derive(Debug, PartialEq, Eq, Serialize)]
pub(crate) struct Fixed {
    pub(crate) file: String,
    #[serde(skip_serializing_if = "String::is_empty")]
    pub(crate) stanza: String,
    pub(crate) rule: String,
    /// As the baseline has it.
    pub(crate) count: usize,
    /// As it was found.
    pub(crate) found: usize,
}

const HEAD: &str = "\
# Findings that were already there when checking began, by file, stanza and rule.
# Written by `gutta check --write-baseline`. What is listed here is not reported by
# `gutta check --baseline`; if there is one more of a kind, all of them are reported.
";

impl Baseline {
    /// Reads a baseline.
    pub(crate) fn read(path: &Path) -> Result<Self, Failure> {
        Self::of_text(path, &text_at(path)?)
    }

    /// Reads a baseline that is to be written again, with its text; an empty one
    /// where there is none yet.
    pub(crate) fn read_if_there(path: &Path) -> Result<(Self, Option<String>), Failure> {
        no_source(path)?;
        if path.symlink_metadata().is_err() {
            return Ok((Self::default(), None));
        }
        let text = text_at(path)?;
        let baseline = Self::of_text(path, &text)?;
        let head = HEAD.lines().next().unwrap_or(HEAD);
        if baseline.0.is_empty() && !text.trim().is_empty() && !text.starts_with(head) {
            return Err(Failure::new(format!(
                "{} is not a baseline; nothing was written",
                path.display()
            )));
        }
        Ok((baseline, Some(text)))
    }

    fn of_text(path: &Path, text: &str) -> Result<Self, Failure> {
        Self::of(text).map_err(|why| Failure::new(format!("{}: {why}", path.display())))
    }

    fn of(text: &str) -> Result<Self, String> {
        let document: Document = toml::from_str(text).map_err(|error| {
            let before = error
                .span()
                .map_or("", |span| text.get(..span.start).unwrap_or(""));
            let line = 1 + before.matches('\n').count();
            format!("line {line}: {}", error.message().trim())
        })?;
        let mut entries = BTreeMap::new();
        for entry in document.finding {
            match rule(&entry.rule) {
                None => return Err(no_rule(&entry.rule)),
                Some(rule) if rule.locked => {
                    return Err(format!(
                        "`{}` is locked: its findings cannot be held back",
                        rule.name
                    ));
                }
                Some(_) => {}
            }
            let key = Key {
                file: entry.file,
                stanza: entry.stanza,
                rule: entry.rule,
            };
            let count = entries.entry(key).or_default();
            *count = sum(*count, entry.count);
        }
        Ok(Self(entries))
    }

    /// Takes out what the baseline holds. Where there is more of one kind than
    /// it has, nobody can say which is new: all of them stay. Of files that
    /// were not asked about, nothing is said.
    pub(crate) fn hold(&self, loaded: &Loaded, findings: &mut Vec<Finding>) -> Held {
        let workspace = &loaded.workspace;
        let mut found: BTreeMap<Key, usize> = BTreeMap::new();
        for finding in findings.iter().filter(|finding| !finding.locked) {
            *found.entry(key(workspace, finding)).or_default() += 1;
        }
        let is_held = |key: &Key| {
            let held = self.0.get(key);
            held.is_some_and(|held| found.get(key).is_some_and(|found| found <= held))
        };
        let before = findings.len();
        findings.retain(|finding| finding.locked || !is_held(&key(workspace, finding)));
        let asked: HashSet<_> = loaded
            .asked
            .iter()
            .map(|file| workspace.file(*file).path.as_str())
            .collect();
        let fixed = self.0.iter().filter_map(|(key, count)| {
            let judged = asked.contains(key.file.as_str()) || is_gone(loaded, &key.file);
            let found = found.get(key).copied().unwrap_or(0);
            (judged && found < *count).then(|| Fixed {
                file: key.file.clone(),
                stanza: key.stanza.clone(),
                rule: key.rule.clone(),
                count: *count,
                found,
            })
        });
        Held {
            held: before - findings.len(),
            fixed: fixed.collect(),
        }
    }

    /// A baseline of these findings: all that is not locked. Entries of files
    /// that were not asked about stay as they are; those of files that are gone
    /// go with them, and come second: the file, and how many findings it had.
    pub(crate) fn with_findings<'a>(
        &self,
        loaded: &Loaded,
        findings: impl Iterator<Item = &'a Finding>,
    ) -> (Self, BTreeMap<String, usize>) {
        let workspace = &loaded.workspace;
        let asked: HashSet<_> = loaded.asked.iter().copied().collect();
        let mut entries = self.0.clone();
        let mut gone: BTreeMap<String, usize> = BTreeMap::new();
        entries.retain(|key, count| match workspace.file_at(&key.file) {
            Some(file) => !asked.contains(&file),
            None if is_gone(loaded, &key.file) => {
                let of_file = gone.entry(key.file.clone()).or_default();
                *of_file = sum(*of_file, *count);
                false
            }
            None => true,
        });
        for finding in findings.filter(|finding| !finding.locked) {
            let count = entries.entry(key(workspace, finding)).or_default();
            *count = sum(*count, 1);
        }
        (Self(entries), gone)
    }

    /// How many findings it has.
    pub(crate) fn len(&self) -> usize {
        self.0.values().fold(0, |all, count| sum(all, *count))
    }

    /// Writes it over a text that was read.
    pub(crate) fn write(&self, path: &Path, read: Option<&str>) -> Result<(), Failure> {
        let finding = self.0.iter().map(|(key, count)| Entry {
            file: key.file.clone(),
            stanza: key.stanza.clone(),
            rule: key.rule.clone(),
            count: *count,
        });
        let document = Document {
            finding: finding.collect(),
        };
        let body = toml::to_string(&document)
            .map_err(|error| Failure::new(format!("cannot write the baseline: {error}")))?;
        let text = format!("{HEAD}\n{body}");
        write_after(path, text.as_bytes(), read.map(str::as_bytes))
    }
}

fn text_at(path: &Path) -> Result<String, Failure> {
    text(path, MAX_OWN_BYTES)
        .map_err(|error| Failure::system(format!("cannot read {}", path.display()), &error))
}

/// Whether nothing is there any more. What is there and was not read (it is
/// ignored, say, or nobody asked about it) is not gone.
fn is_gone(loaded: &Loaded, file: &str) -> bool {
    let path = loaded.root.folder().join(file);
    loaded.workspace.file_at(file).is_none() && path.symlink_metadata().is_err()
}

/// What there is to say of findings that went with their files.
pub(crate) fn told_gone(gone: &BTreeMap<String, usize>) -> Option<String> {
    const NAMED: usize = 20;
    let all = gone.values().fold(0, |all, count| sum(all, *count));
    let mut files: Vec<_> = gone
        .iter()
        .take(NAMED)
        .map(|(file, count)| format!("{file} ({count})"))
        .collect();
    if let Some(more) = gone.len().checked_sub(NAMED).filter(|more| *more > 0) {
        files.push(format!("and {}", counted(more, "more file")));
    }
    (!gone.is_empty()).then(|| {
        let findings = counted(all, "finding");
        format!(
            "{findings} of files that no longer exist removed: {}.",
            files.join(", ")
        )
    })
}

/// Both counts together, as far as the file's form can hold them.
fn sum(one: usize, other: usize) -> usize {
    one.saturating_add(other).min(isize::MAX.unsigned_abs())
}

fn key(workspace: &Workspace, finding: &Finding) -> Key {
    Key {
        file: workspace.file(finding.place.file).path.to_string(),
        stanza: holder(workspace, finding),
        rule: finding.rule.name.to_owned(),
    }
}

impl Held {
    /// What there is to say of it, in lines.
    pub(crate) fn told(&self, path: &Path) -> Vec<String> {
        let mut lines = Vec::new();
        if self.held > 0 {
            let findings = counted(self.held, "finding");
            lines.push(format!("{findings} held back by {}.", path.display()));
        }
        for fixed in &self.fixed {
            let left = match fixed.found {
                0 => "fixed".to_owned(),
                found => format!("{} of {} fixed", fixed.count - found, fixed.count),
            };
            let place = match fixed.stanza.as_str() {
                "" => String::new(),
                stanza => format!(", {stanza}"),
            };
            lines.push(format!("{} in {}{place}: {left}.", fixed.rule, fixed.file));
        }
        if !self.fixed.is_empty() {
            lines.push(format!(
                "Remove what is fixed with `gutta check --write-baseline {}`.",
                path.display()
            ));
        }
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::Baseline;

    #[test]
    fn counts_grow_no_further_than_can_be_written() {
        let entry = |stanza: &str| {
            let count = i64::MAX;
            format!(
                "[[finding]]\nfile = \"a.gtt\"\nstanza = \"{stanza}\"\nrule = \"review.none\"\ncount = {count}\n"
            )
        };
        let text = [entry("order a"), entry("order a"), entry("order b")].concat();
        let baseline = Baseline::of(&text).unwrap();
        assert_eq!(baseline.len(), isize::MAX.unsigned_abs());
        let most = baseline.0.values().copied().max();
        assert_eq!(most, Some(isize::MAX.unsigned_abs()));
    }
}
