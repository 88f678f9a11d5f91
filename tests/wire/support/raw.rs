//! A client that writes bytes as it likes.

use std::io::{Read, Write};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::stream::read_all;
use super::{PATIENCE, program};

/// A server that is written to byte by byte.
pub(crate) struct Raw {
    child: Child,
    input: Option<ChildStdin>,
    said: Receiver<Value>,
}

pub(crate) fn spawn() -> Child {
    let built = || env!("CARGO_BIN_EXE_gutta").into();
    Command::new(program().unwrap_or_else(built))
        .arg("serve")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
}

impl Raw {
    /// A session that has begun, with a client that can do nothing.
    pub(crate) fn start() -> Self {
        Self::greeting(&json!({ "capabilities": {} })).0
    }

    /// A server to which nothing was said yet.
    pub(crate) fn silent() -> Self {
        let mut child = spawn();
        let (told, said) = channel();
        let output = child.stdout.take().unwrap();
        std::thread::spawn(move || read_all(output, &told));
        let input = child.stdin.take();
        Self { child, input, said }
    }

    /// A session that begins with these parameters, and what it answered.
    pub(crate) fn greeting(params: &Value) -> (Self, Value) {
        let mut raw = Self::silent();
        raw.ask(1, "initialize", params);
        let answer = raw.wait(|said| said["id"] == 1);
        assert!(answer["result"]["capabilities"].is_object(), "{answer}");
        raw.notify("initialized", &json!({}));
        (raw, answer["result"]["capabilities"].clone())
    }

    pub(crate) fn ask(&mut self, id: i64, method: &str, params: &Value) {
        self.send(framed(
            &json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params }),
        ));
    }

    pub(crate) fn notify(&mut self, method: &str, params: &Value) {
        self.send(framed(
            &json!({ "jsonrpc": "2.0", "method": method, "params": params }),
        ));
    }

    /// Ends the client's side of the stream.
    pub(crate) fn hang_up(&mut self) {
        self.input = None;
    }

    pub(crate) fn send(&mut self, bytes: impl AsRef<[u8]>) {
        let input = self.input.as_mut().unwrap();
        input.write_all(bytes.as_ref()).unwrap();
        input.flush().unwrap();
    }

    /// Waits for a message of which this holds.
    pub(crate) fn wait(&self, holds: impl Fn(&Value) -> bool) -> Value {
        let until = Instant::now() + PATIENCE;
        loop {
            let left = until.saturating_duration_since(Instant::now());
            let said = self.said.recv_timeout(left).expect("it says something");
            if holds(&said) {
                return said;
            }
        }
    }

    /// Looks at what is said within the time.
    pub(crate) fn quiet(&self, time: Duration, look: impl Fn(&Value)) {
        let until = Instant::now() + time;
        loop {
            let left = until.saturating_duration_since(Instant::now());
            match self.said.recv_timeout(left) {
                Ok(said) => look(&said),
                Err(_) => return,
            }
        }
    }

    /// Waits for an error that answers no request.
    pub(crate) fn error(&self) -> (i64, String) {
        let said = self.wait(|said| said["id"].is_null() && said.get("error").is_some());
        let error = &said["error"];
        let message = error["message"].as_str().unwrap().to_owned();
        (error["code"].as_i64().unwrap(), message)
    }

    /// The exit code, and what was written beside the stream.
    pub(crate) fn end(mut self) -> (Option<i32>, String) {
        let mut told = String::new();
        let mut errors = self.child.stderr.take().unwrap();
        errors.read_to_string(&mut told).unwrap();
        (self.child.wait().unwrap().code(), told)
    }
}

impl Drop for Raw {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

pub(crate) fn framed(message: &Value) -> String {
    let body = message.to_string();
    format!("Content-Length: {}\r\n\r\n{body}", body.len())
}
