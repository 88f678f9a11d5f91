//! Frames on the wire, and what was said kept for later.

use std::fs::File;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{ChildStdin, ChildStdout};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::mpsc::{Receiver, Sender};

use serde_json::Value;

/// Hands on every message, until the stream ends.
pub(crate) fn read_all(stdout: ChildStdout, told: &Sender<Value>) {
    let mut stdout = BufReader::new(stdout);
    while let Some(message) = read(&mut stdout) {
        if told.send(message).is_err() {
            return;
        }
    }
}

/// Writes what it is given, on a thread of its own: a server that stops
/// reading must not stop the test's clock.
pub(crate) fn write_all(mut stdin: ChildStdin, given: &Receiver<String>) {
    for framed in given {
        if stdin.write_all(framed.as_bytes()).is_err() || stdin.flush().is_err() {
            return;
        }
    }
}

fn read(stream: &mut impl BufRead) -> Option<Value> {
    let mut length = None;
    loop {
        let mut line = String::new();
        if stream.read_line(&mut line).ok()? == 0 {
            return None;
        }
        let line = line.trim_end();
        if line.is_empty() {
            break;
        }
        if let Some(value) = line.strip_prefix("Content-Length: ") {
            length = value.parse::<usize>().ok();
        }
    }
    let mut body = vec![0; length?];
    stream.read_exact(&mut body).ok()?;
    let message = serde_json::from_slice(&body);
    Some(message.expect("the server writes JSON"))
}

/// A file of this session's messages, which are held against the protocol's
/// published types afterwards.
pub(crate) fn transcript() -> File {
    static NEXT: AtomicU32 = AtomicU32::new(0);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("wire");
    std::fs::create_dir_all(&folder).unwrap();
    let number = NEXT.fetch_add(1, Ordering::Relaxed);
    let name = format!("{}-{number}.jsonl", std::process::id());
    File::create(folder.join(name)).unwrap()
}
