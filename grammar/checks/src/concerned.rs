//! Which files a change of some concerns: those that changed, and those of
//! which some stanza leans on what changed.

use gutta_notation::Span;
use gutta_protocol::{Content, FileId, Workspace};
use gutta_quantity::work::Interrupt;
use rustc_hash::FxHashSet;
use smol_str::SmolStr;

use crate::{Checked, Options};

/// A file as it was before a change.
#[derive(Clone, Debug)]
pub struct Before {
    /// From the root, with forward slashes.
    pub path: SmolStr,
    /// What it held; none where it was not there.
    pub content: Option<Content>,
}

/// The files of the workspace that changed, and those whose findings may be
/// others since, in the order of their paths. A file that is gone concerns
/// whoever leant on it.
///
/// The workspace is checked once as it was, which notes what every stanza asked
/// of others; what the change then makes out of date is concerned.
#[must_use]
pub fn concerned(workspace: &Workspace, before: Vec<Before>, options: &Options) -> Vec<FileId> {
    if before.is_empty() {
        return Vec::new();
    }
    let now: Vec<_> = before
        .iter()
        .map(|file| {
            let id = workspace.file_at(&file.path);
            let text = id.map(|id| workspace.file(id).text.clone());
            (file.path.clone(), text)
        })
        .collect();
    let mut turning = workspace.clone();
    for file in before {
        match file.content {
            Some(content) => {
                turning.replace_file(&file.path, content);
            }
            None => {
                turning.remove_file(&file.path);
            }
        }
    }
    let mut checked = Checked::new(&turning, options.clone());
    checked.work(&turning, &Interrupt::default(), || true);
    let mut changed = FxHashSet::default();
    for (path, text) in now {
        match (turning.file_at(&path), text) {
            (Some(id), Some(text)) => {
                let (span, with) = difference(&turning.file(id).text, &text);
                let change = turning.edit_file(id, span, with);
                checked.follow(&turning, &change);
            }
            (None, Some(text)) => {
                let id = turning.replace_file(&path, text);
                checked.insert_file(&turning, id);
            }
            (Some(id), None) => {
                checked.removing_file(&turning, id);
                turning.remove_file(&path);
                checked.removed_file(&turning, id);
            }
            (None, None) => {}
        }
        changed.insert(path);
    }
    // The same files as in the workspace, so that they bear the same ids.
    turning
        .file_ids()
        .filter(|id| changed.contains(&turning.file(*id).path) || !checked.is_file_settled(*id))
        .collect()
}

/// What of the old text gives way to what of the new one: all between the
/// beginning and the end that both have.
fn difference<'a>(old: &str, new: &'a str) -> (Span, &'a str) {
    let least = old.len().min(new.len());
    let same = |(old, new): &(u8, u8)| old == new;
    let mut from = old.bytes().zip(new.bytes()).take_while(same).count();
    while !old.is_char_boundary(from) || !new.is_char_boundary(from) {
        from -= 1;
    }
    let backwards = old.bytes().rev().zip(new.bytes().rev());
    let mut behind = backwards.take(least - from).take_while(same).count();
    while !old.is_char_boundary(old.len() - behind) || !new.is_char_boundary(new.len() - behind) {
        behind -= 1;
    }
    let end = |text: &str| text.len() - behind;
    let offset = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
    let span = Span::new(offset(from), offset(end(old)));
    (span, &new[from..end(new)])
}

#[cfg(test)]
mod tests {
    use gutta_protocol::{House, Workspace};

    use proptest::prelude::*;

    use super::{Before, concerned, difference};
    use crate::{Options, check};

    const DRUGS: &str = "drug aa \"Aa\"\n  dosed in mg/h\n  supplied 10 mg in 1 mL\n  usual dose 1 to 5 mg/h\n\ndrug bb \"Bb\"\n  dosed in mg/h\n  supplied 10 mg in 1 mL\n";

    fn order(name: &str, drug: &str) -> String {
        format!(
            "use \"drugs.gtt\"\n\norder {name} \"An order\"\n  drug {drug}\n  premixed 50 mg in 50 mL\n  run all at 2 mg/h\n  then stop\n"
        )
    }

    /// `drugs.gtt`, an order of either drug, one that stands alone.
    fn files() -> Vec<(&'static str, String)> {
        vec![
            ("a.gtt", order("a", "aa")),
            ("alone.gtt", "solution water \"Water\"\n".to_owned()),
            ("b.gtt", order("b", "bb")),
            ("drugs.gtt", DRUGS.to_owned()),
        ]
    }

    fn workspace(files: &[(&'static str, String)]) -> Workspace {
        Workspace::new(files.to_vec(), House::default())
    }

    fn told(workspace: &Workspace, path: &str) -> Vec<String> {
        let Some(id) = workspace.file_at(path) else {
            return Vec::new();
        };
        let findings = check(workspace, Some(&[id]), &Options::default());
        let one = |found: crate::Finding| format!("{} {}", found.rule.name, found.message);
        findings.into_iter().map(one).collect()
    }

    /// Whom it concerns that the file at `path` became `now`; also that nobody
    /// is left out whose findings changed.
    fn after(path: &'static str, now: Option<String>) -> Vec<String> {
        let mut files = files();
        let was = workspace(&files);
        let content = files.iter().find(|(held, _)| *held == path);
        let content = content.map(|(_, text)| text.clone().into());
        files.retain(|(held, _)| *held != path);
        files.extend(now.map(|text| (path, text)));
        let is = workspace(&files);
        let before = vec![Before {
            path: path.into(),
            content,
        }];
        let concerned = concerned(&is, before, &Options::default());
        let paths: Vec<_> = concerned
            .into_iter()
            .map(|id| is.file(id).path.to_string())
            .collect();
        for (held, _) in &files {
            let same = told(&was, held) == told(&is, held);
            assert!(same || paths.iter().any(|path| path == held), "{held}");
        }
        paths
    }

    #[test]
    fn a_limit_concerns_the_orders_of_its_drug() {
        let tighter = DRUGS.replace("1 to 5", "1 to 1.5");
        assert_eq!(after("drugs.gtt", Some(tighter)), ["a.gtt", "drugs.gtt"]);
    }

    #[test]
    fn an_order_concerns_itself() {
        let other = order("b", "bb").replace("2 mg/h", "3 mg/h");
        assert_eq!(after("b.gtt", Some(other)), ["b.gtt"]);
    }

    #[test]
    fn what_is_gone_concerns_whoever_leant_on_it() {
        assert_eq!(after("drugs.gtt", None), ["a.gtt", "b.gtt"]);
        assert_eq!(after("alone.gtt", None), [] as [&str; 0]);
    }

    #[test]
    fn what_came_concerns_whoever_bears_the_same_name() {
        let again = order("a", "bb");
        let concerned = after("again.gtt", Some(again));
        assert_eq!(concerned, ["a.gtt", "again.gtt", "drugs.gtt"]);
    }

    #[test]
    fn nothing_changed_concerns_nobody() {
        let workspace = workspace(&files());
        assert_eq!(concerned(&workspace, Vec::new(), &Options::default()), []);
    }

    proptest! {
        #[test]
        fn a_difference_makes_the_new_text_of_the_old(old in "[ab\u{e9}\u{e8}\u{1f489}]{0,8}", new in "[ab\u{e9}\u{e8}\u{1f489}]{0,8}") {
            let (span, with) = difference(&old, &new);
            let mut text = old.clone();
            text.replace_range(span.start as usize..span.end as usize, with);
            prop_assert_eq!(text, new);
        }
    }
}
