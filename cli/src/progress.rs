//! A sign of life on a long run.

use std::sync::mpsc::{self, RecvTimeoutError, Sender};
use std::thread::JoinHandle;
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::terminal;

/// A run shorter than this shows nothing.
const PATIENCE: Duration = Duration::from_millis(300);

/// Shown on standard error, if that is a terminal and the run is long.
pub(crate) struct Progress(Option<(Sender<()>, JoinHandle<()>)>);

impl Progress {
    /// Begins to wait.
    pub(crate) fn begin(what: &'static str) -> Self {
        if !terminal::is_watched() {
            return Self(None);
        }
        let (done, wait) = mpsc::channel();
        let shown = std::thread::spawn(move || {
            if wait.recv_timeout(PATIENCE) != Err(RecvTimeoutError::Timeout) {
                return;
            }
            let style = ProgressStyle::with_template("{spinner} {msg} {elapsed}");
            let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr())
                .with_style(style.unwrap_or_else(|_| ProgressStyle::default_spinner()))
                .with_message(what);
            bar.enable_steady_tick(Duration::from_millis(100));
            let _ = wait.recv();
            bar.finish_and_clear();
        });
        Self(Some((done, shown)))
    }

    /// Clears it away.
    pub(crate) fn end(self) {}
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some((done, shown)) = self.0.take() {
            drop(done);
            let _ = shown.join();
        }
    }
}
