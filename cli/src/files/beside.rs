//! Several workspaces, shown as one.

use gutta_checks::Finding;
use gutta_protocol::Workspace;

use super::{Loaded, Root};

/// The files and findings of several workspaces, named from the folder around
/// all of them. Each was checked by itself, and nothing is judged anew.
pub(crate) fn side_by_side(parts: Vec<(Loaded, Vec<Finding>)>) -> Option<(Loaded, Vec<Finding>)> {
    if parts.len() < 2 {
        return parts.into_iter().next();
    }
    let root = Root::around(parts.iter().map(|(loaded, _)| &loaded.root))?;
    let mut workspaces = Vec::new();
    let mut rest = Vec::new();
    for (loaded, findings) in parts {
        workspaces.push((root.before(&loaded.root), loaded.workspace));
        rest.push((loaded.asked, loaded.passed, findings));
    }
    let (workspace, ids) = Workspace::side_by_side(workspaces);
    let (mut asked, mut passed, mut all) = (Vec::new(), Vec::new(), Vec::new());
    for ((own, over, findings), ids) in rest.into_iter().zip(ids) {
        asked.extend(own.iter().filter_map(|file| ids.get(file.0 as usize)));
        passed.extend(over);
        all.extend(findings.into_iter().map(|found| found.with_files(&ids)));
    }
    asked.sort_unstable();
    // In the order of the files' names, as in one workspace.
    all.sort_by_key(|finding: &Finding| finding.place);
    let loaded = Loaded {
        root,
        workspace,
        asked,
        passed,
    };
    Some((loaded, all))
}
