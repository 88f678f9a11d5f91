//! Files that are given another place: what `use` lines must say then.

use std::path::Path;

use gutta_notation::{Style, read_stanza};
use gutta_protocol::names::{join_path, relative_path};
use gutta_protocol::{FileId, StanzaId};
use rustc_hash::FxHashMap;
use smol_str::SmolStr;

use super::names::Change;
use crate::disk::EXTENSION;
use crate::state::{Move, Site, at_or_below};

/// The paths in `use` lines that no longer lead to their files, as they must
/// be; places are those before the moves. What leaves the repository cannot
/// be used: its `use` lines stay, and are findings.
///
/// # Errors
/// Where a `use` line cannot say a new path, in words: then none is changed.
pub(crate) fn follow(site: Site<'_>, moves: &[Move]) -> Result<Vec<Change>, String> {
    let workspace = site.workspace;
    let mut moved: FxHashMap<FileId, Option<SmolStr>> = FxHashMap::default();
    for step in moves {
        for (file, rest) in at_or_below(site, &step.from) {
            let to = step
                .to
                .as_ref()
                .map(|to| SmolStr::from(format!("{to}{rest}")));
            moved.insert(file, to);
        }
    }
    let mut using: Vec<FileId> = moved
        .keys()
        .flat_map(|file| workspace.seen_by(*file))
        .chain(moved.keys())
        .copied()
        .collect();
    using.sort_unstable();
    using.dedup();
    let path_of = |file: FileId| match moved.get(&file) {
        Some(to) => to.clone(),
        None => Some(workspace.file(file).path.clone()),
    };
    let mut changes = Vec::new();
    for file in using {
        let Some(from) = path_of(file) else { continue };
        for used in workspace.uses(file) {
            let Some(to) = used.target.as_ref().ok().and_then(|file| path_of(*file)) else {
                continue;
            };
            if join_path(&from, &used.path).as_deref() == Ok(to.as_str()) {
                continue;
            }
            let id = StanzaId {
                file,
                index: used.stanza,
            };
            changes.push(Change {
                place: workspace.place(id, used.span),
                text: written(&from, &to)?,
            });
        }
    }
    Ok(changes)
}

/// The path of the file at `to`, as a `use` line of the file at `from` writes
/// it: one that is read as just that.
fn written(from: &str, to: &str) -> Result<String, String> {
    let refused = |why: &str| {
        let name = to.escape_debug();
        Err(format!(
            "`{name}` {why}, so the `use` lines that name it would not be read: give it another name."
        ))
    };
    if Path::new(to).extension().is_none_or(|end| end != EXTENSION) {
        return refused("does not end in `.gtt`");
    }
    let path = relative_path(from, to);
    let quoted = format!("\"{path}\"");
    let stanza = read_stanza(&format!("use {quoted}\n"), Style::USUAL);
    let title = stanza.title.as_ref().map(|title| title.value.as_str());
    let as_meant = stanza.marks.is_empty()
        && title == Some(path.as_str())
        && join_path(from, &path).as_deref() == Ok(to);
    if as_meant {
        Ok(quoted)
    } else {
        refused("has a character that no path in a `use` line can have")
    }
}

#[cfg(test)]
mod tests {
    use super::follow;
    use crate::features::harness::Fixture;
    use crate::state::Move;

    fn followed(moves: &[(&str, Option<&str>)]) -> Vec<String> {
        let fixture = Fixture::new([
            ("reference/drugs.gtt", "use \"fluids.gtt\"\n"),
            ("reference/fluids.gtt", "# none\n"),
            (
                "wards/icu.gtt",
                "use \"../reference/drugs.gtt\"\nuse \"../reference/nothing.gtt\"\n",
            ),
            (
                "ward.gtt",
                "use \"reference/drugs.gtt\"\nuse \"./wards/icu.gtt\"\n",
            ),
        ]);
        let moves: Vec<_> = moves
            .iter()
            .map(|(from, to)| Move {
                from: (*from).into(),
                to: to.map(Into::into),
            })
            .collect();
        let changes = match follow(fixture.site(), &moves) {
            Ok(changes) => changes,
            Err(why) => return vec![why],
        };
        let told = changes
            .iter()
            .map(|change| format!("{} → {}", fixture.told(change.place), change.text));
        told.collect()
    }

    #[test]
    fn uses_follow_a_file() {
        assert_eq!(
            followed(&[("reference/drugs.gtt", Some("reference/medicines.gtt"))]),
            [
                "ward.gtt:1 \"reference/drugs.gtt\" → \"reference/medicines.gtt\"",
                "wards/icu.gtt:1 \"../reference/drugs.gtt\" → \"../reference/medicines.gtt\"",
            ]
        );
        assert_eq!(
            followed(&[("reference/drugs.gtt", Some("drugs.gtt"))]),
            [
                "reference/drugs.gtt:1 \"fluids.gtt\" → \"reference/fluids.gtt\"",
                "ward.gtt:1 \"reference/drugs.gtt\" → \"drugs.gtt\"",
                "wards/icu.gtt:1 \"../reference/drugs.gtt\" → \"../drugs.gtt\"",
            ]
        );
    }

    #[test]
    fn uses_follow_a_folder() {
        assert_eq!(
            followed(&[("reference", Some("wards/reference"))]),
            [
                "ward.gtt:1 \"reference/drugs.gtt\" → \"wards/reference/drugs.gtt\"",
                "wards/icu.gtt:1 \"../reference/drugs.gtt\" → \"reference/drugs.gtt\"",
            ]
        );
    }

    #[test]
    fn a_name_that_no_use_can_write_is_refused() {
        for name in ["a\"b.gtt", "a\\b.gtt", "a\nb.gtt", "drugs.txt", "drugs"] {
            let told = followed(&[("reference/drugs.gtt", Some(name))]).join(" | ");
            assert!(told.contains("give it another name"), "{name:?}: {told}");
        }
        // Where nothing names it, nothing is broken.
        assert_eq!(followed(&[("ward.gtt", Some("a\"b.gtt"))]).len(), 0);
        assert_eq!(
            followed(&[("reference/fluids.gtt", Some("reference/é #1 (new).gtt"))]),
            ["reference/drugs.gtt:1 \"fluids.gtt\" → \"é #1 (new).gtt\""]
        );
    }

    #[test]
    fn what_leaves_or_is_not_there_changes_nothing() {
        assert_eq!(followed(&[("reference/drugs.gtt", None)]), [""; 0]);
        assert_eq!(followed(&[("ref", Some("x"))]), [""; 0]);
        assert_eq!(followed(&[("ward.gtt", Some("other.gtt"))]), [""; 0]);
    }
}
