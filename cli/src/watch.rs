//! Running again whenever the files change.

use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError};
use std::time::{Duration, Instant};

use gutta_server::disk::{may_matter, watch};

use crate::failure::Failure;
use crate::terminal;

/// An editor that saves touches a file several times; a switch of branches,
/// many. A run waits until it has been quiet for so long.
const QUIET: Duration = Duration::from_millis(100);
/// It waits no longer than this, however busy the folder is.
const LONGEST: Duration = Duration::from_secs(2);

enum News {
    Changed,
    Ended,
}

/// Runs once, and again after every change below the folder that may matter, or
/// of a file named as one of `others`, until the user ends it. A run that could
/// not be is said, and the next one awaited.
pub(crate) fn again_and_again(
    folder: &Path,
    others: &[&Path],
    mut run: impl FnMut() -> Result<(), Failure>,
) -> Result<(), Failure> {
    let (tell, news) = mpsc::channel();
    let end = tell.clone();
    // A second time, nobody wants to wait for the run to come to its end.
    let once = std::sync::Once::new();
    let ended = move || {
        if once.is_completed() {
            std::process::exit(0);
        }
        once.call_once(|| {
            let _ = end.send(News::Ended);
        });
    };
    ctrlc::set_handler(ended)
        .map_err(|error| Failure::new(format!("cannot wait for Ctrl-C: {error}")))?;
    let root = folder.to_owned();
    let names: Vec<_> = others.iter().filter_map(|path| path.file_name()).collect();
    let names: Vec<_> = names.into_iter().map(ToOwned::to_owned).collect();
    let hear = move |path: PathBuf| {
        let named = path
            .file_name()
            .is_some_and(|name| names.iter().any(|other| other == name));
        if named || (may_matter(&path) && !is_hidden(&root, &path)) {
            let _ = tell.send(News::Changed);
        }
    };
    let shown = folder.display();
    // Before the first run, so that nothing is missed while it lasts.
    let _watcher = watch(folder, hear)
        .map_err(|error| Failure::new(format!("cannot watch {shown}: {error}")))?;
    loop {
        terminal::clear();
        if let Err(failure) = run() {
            terminal::fail(&failure);
        }
        terminal::tell(&format!("gutta: watching {shown}; Ctrl-C ends it"));
        if !changed(&news) {
            return Ok(());
        }
    }
}

/// Waits for a change, and for the quiet after it; `false` once it is ended.
fn changed(news: &Receiver<News>) -> bool {
    let Ok(News::Changed) = news.recv() else {
        return false;
    };
    let since = Instant::now();
    while since.elapsed() < LONGEST {
        match news.recv_timeout(QUIET) {
            Ok(News::Changed) => {}
            Err(RecvTimeoutError::Timeout) => return true,
            Ok(News::Ended) | Err(RecvTimeoutError::Disconnected) => return false,
        }
    }
    true
}

/// Whether the path lies in a folder that is passed over, as git's own is.
fn is_hidden(root: &Path, path: &Path) -> bool {
    let inner = path.strip_prefix(root).unwrap_or(path);
    let folders = inner.parent().into_iter().flat_map(Path::components);
    folders
        .map(|part| part.as_os_str().as_encoded_bytes())
        .any(|name| name.starts_with(b"."))
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::is_hidden;

    #[test]
    fn what_git_does_for_itself_is_not_heard() {
        let hidden = |path: &str| is_hidden(Path::new("/.house/orders"), Path::new(path));
        assert!(hidden("/.house/orders/.git/index"));
        assert!(hidden("/.house/orders/icu/.cache/a.gtt"));
        assert!(!hidden("/.house/orders/.gitignore"));
        assert!(!hidden("/.house/orders/icu/a.gtt"));
    }
}
