//! `--watch`.

use std::io::{BufRead, BufReader, Read};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{self, Receiver};
use std::time::Duration;

use crate::support::{Folder, RIGHT};

/// A run that is watching, and the lines that it says.
struct Watching {
    child: Child,
    said: Receiver<String>,
}

impl Watching {
    fn begin(folder: &Folder, more: &[&str]) -> Self {
        let mut command = folder.command(&[&["check", "--watch"], more].concat());
        let mut child = command
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let (tell, said) = mpsc::channel();
        let out = child.stdout.take().unwrap();
        let err = child.stderr.take().unwrap();
        for stream in [Box::new(out) as Box<dyn Read + Send>, Box::new(err)] {
            let tell = tell.clone();
            std::thread::spawn(move || {
                for line in BufReader::new(stream).lines() {
                    let _ = tell.send(line.unwrap());
                }
            });
        }
        Self { child, said }
    }

    /// All that is said up to a line that holds `words`, which must come.
    fn until(&self, words: &str) -> Vec<String> {
        let mut lines = Vec::new();
        loop {
            let line = self.said.recv_timeout(Duration::from_secs(30));
            let line = line.unwrap_or_else(|_| panic!("{words} does not come after {lines:?}"));
            let last = line.contains(words);
            lines.push(line);
            if last {
                return lines;
            }
        }
    }

    /// What is said of the next run: a line of it, and that it is watching. The
    /// two come by different pipes, in either order.
    fn run_says(&self, words: &str) {
        let mut lines = self.until("gutta: watching ");
        if !lines.iter().any(|line| line.contains(words)) {
            lines.extend(self.until(words));
        }
        assert!(
            lines.iter().all(|line| !line.contains('\u{1b}')),
            "no terminal: {lines:?}"
        );
    }

    /// Ends it as Ctrl-C does.
    fn end(mut self) -> Option<i32> {
        let pid = self.child.id().to_string();
        let sent = Command::new("kill").args(["-INT", &pid]).status().unwrap();
        assert!(sent.success());
        self.child.wait().unwrap().code()
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[cfg(unix)]
#[test]
fn every_change_is_a_run_until_it_is_ended() {
    let folder = Folder::with_order(RIGHT);
    let watching = Watching::begin(&folder, &[]);
    watching.run_says("No errors or warnings in 2 files");
    let wrong = RIGHT.replace("0.06 mcg", "3 mcg");
    folder.write("order.gtt", wrong.as_bytes());
    watching.run_says("errors");
    std::fs::remove_file(folder.path("order.gtt")).unwrap();
    watching.run_says("No errors or warnings in 1 file");
    folder.write("icu/new.gtt", wrong.replace("\"ref", "\"../ref").as_bytes());
    watching.run_says("errors");
    std::fs::rename(folder.path("icu"), folder.path(".icu")).unwrap();
    watching.run_says("No errors or warnings in 1 file");
    // The house's settings count, and a wrong one does not end it.
    folder.write("gutta.toml", b"colour = \"red\"\n");
    watching.run_says("gutta.toml:1:1: ");
    folder.write("gutta.toml", b"");
    watching.run_says("No errors or warnings in 1 file");
    assert_eq!(watching.end(), Some(0));
}

#[cfg(unix)]
#[test]
fn a_change_of_the_baseline_counts() {
    let folder = Folder::with_order(&RIGHT.replace("0.06 mcg", "1.5 mcg"));
    folder.write("known.toml", b"");
    let watching = Watching::begin(&folder, &["--baseline", "known.toml"]);
    watching.run_says("1 error, 2 warnings");
    folder.write("notes.txt", b"no order");
    folder.run(&["check", "--write-baseline", "known.toml"]);
    watching.run_says("held back by known.toml");
    assert_eq!(watching.end(), Some(0));
}

#[test]
fn what_cannot_be_watched_is_refused() {
    let folder = Folder::with_order(RIGHT);
    folder
        .run(&["check", "--watch", "gone.gtt"])
        .refused("cannot read gone.gtt: there is no such file or folder");
    folder
        .run(&["check", "--watch", "-"])
        .refused("--watch does not work with standard input");
    folder
        .run(&["check", "--watch", "--format", "sarif"])
        .refused("--watch is for use at a terminal: only with --format text or concise");
    for other in ["--fix", "--diff", "--write-baseline=known.toml"] {
        let ran = folder.run(&["check", "--watch", other]);
        assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""), "{ran:?}");
    }
}
