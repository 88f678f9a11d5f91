//! A raw client: it keeps what it was told, answers what it is asked, and
//! never waits without an end.

mod documents;
pub(crate) mod raw;
mod setup;
mod stream;
mod text;

use std::collections::{BTreeMap, VecDeque};
use std::ffi::OsString;
use std::io::Write;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use tempfile::TempDir;

pub(crate) use setup::Setup;
pub(crate) use text::Text;

/// So long an answer may take on a busy machine.
pub(crate) const PATIENCE: Duration = Duration::from_secs(60);

/// So many messages of a kind are kept of a session: a long one says the same
/// by the gigabyte.
const ENOUGH: u32 = 200;

/// Another program than the one built with the tests: a release build, for
/// what would take long in a debug build.
pub(crate) fn program() -> Option<OsString> {
    std::env::var_os("GUTTA_PROGRAM")
}

/// A running server and what it said.
pub(crate) struct Client {
    pub(crate) child: Child,
    outbox: Option<Sender<String>>,
    inbox: Receiver<Value>,
    /// What is to be written in one piece.
    held: Option<String>,
    next: i64,
    encoding: &'static str,
    answers: bool,
    /// What the client answers where it is asked for its settings.
    settings: Value,
    pub(crate) folder: PathBuf,
    _held: TempDir,
    /// What is open: by path, the text and its version.
    pub(crate) open: BTreeMap<String, (Text, i32)>,
    /// The last findings pushed for each URL.
    pub(crate) pushed: BTreeMap<String, Value>,
    /// Every other notification, and every request of the server's.
    pub(crate) heard: VecDeque<Value>,
    /// What the server said that it can do.
    pub(crate) capabilities: Value,
    /// Where what was said is kept, for the check against the protocol.
    transcript: std::fs::File,
    /// How many were said, by method.
    kept: BTreeMap<String, u32>,
    methods: BTreeMap<i64, String>,
    answered: BTreeMap<i64, Value>,
}

impl Client {
    fn start(folder: TempDir, setup: &Setup) -> Self {
        let built = || env!("CARGO_BIN_EXE_gutta").into();
        let mut command = Command::new(program().unwrap_or_else(built));
        command.env("XDG_CACHE_HOME", env!("CARGO_TARGET_TMPDIR"));
        if !setup.home {
            for name in ["HOME", "LOCALAPPDATA", "XDG_CACHE_HOME"] {
                command.env_remove(name);
            }
            command.env("TMPDIR", folder.path());
        }
        let mut child = command
            .arg("serve")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .unwrap();
        let stdout = child.stdout.take().unwrap();
        let (told, inbox) = channel();
        std::thread::spawn(move || stream::read_all(stdout, &told));
        let stdin = child.stdin.take().unwrap();
        let (outbox, written) = channel();
        std::thread::spawn(move || stream::write_all(stdin, &written));
        let path = folder.path().canonicalize().unwrap();
        let mut client = Self {
            outbox: Some(outbox),
            child,
            inbox,
            held: None,
            next: 0,
            encoding: setup.encoding,
            answers: setup.answers,
            settings: setup.options.clone(),
            folder: path,
            _held: folder,
            open: BTreeMap::new(),
            pushed: BTreeMap::new(),
            heard: VecDeque::new(),
            capabilities: Value::Null,
            transcript: stream::transcript(),
            kept: BTreeMap::new(),
            methods: BTreeMap::new(),
            answered: BTreeMap::new(),
        };
        client.initialize(setup);
        client
    }

    fn initialize(&mut self, setup: &Setup) {
        let named = |folder: &&str| match *folder {
            "" => json!({ "uri": self.folder_url(), "name": "orders" }),
            folder => json!({ "uri": self.url(folder), "name": folder }),
        };
        let folders: Vec<_> = setup.folders.iter().map(named).collect();
        let mut capabilities: Value =
            serde_json::from_str(include_str!("capabilities.json")).unwrap();
        capabilities["general"]["positionEncodings"] = json!([setup.encoding]);
        capabilities["workspace"]["didChangeWatchedFiles"]["dynamicRegistration"] =
            json!(setup.watches);
        for (section, key, value) in &setup.has {
            capabilities.pointer_mut(section).unwrap()[key] = value.clone();
        }
        for (section, key) in &setup.lacks {
            let section = capabilities.pointer_mut(section).unwrap();
            assert!(section.as_object_mut().unwrap().remove(*key).is_some());
        }
        if !setup.pulls {
            let text = capabilities["textDocument"].as_object_mut().unwrap();
            text.remove("diagnostic");
        }
        let answer = self.request(
            "initialize",
            json!({
                "processId": setup.process,
                "rootUri": folders.first().map(|folder| &folder["uri"]),
                "workspaceFolders": folders,
                "capabilities": capabilities,
                "initializationOptions": setup.options,
            }),
        );
        self.capabilities = answer["capabilities"].clone();
        self.notify("initialized", json!({}));
    }

    fn folder_url(&self) -> String {
        format!("file://{}", self.folder.display())
    }

    /// The URL of a file of the folder.
    pub(crate) fn url(&self, path: &str) -> String {
        format!("{}/{path}", self.folder_url())
    }

    /// Asks, and waits for the answer.
    ///
    /// # Panics
    /// Where the answer is an error.
    pub(crate) fn request(&mut self, method: &str, params: Value) -> Value {
        let answer = self.try_request(method, params);
        answer.unwrap_or_else(|error| panic!("{method}: {error}"))
    }

    /// The same; the answer may be an error.
    pub(crate) fn try_request(&mut self, method: &str, params: Value) -> Result<Value, Value> {
        let id = self.send(method, params);
        self.answer(id)
    }

    /// Asks, and does not wait.
    pub(crate) fn send(&mut self, method: &str, params: Value) -> i64 {
        self.next += 1;
        let id = self.next;
        self.methods.insert(id, method.to_owned());
        self.write(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params }));
        id
    }

    /// Whether it was answered, as far as was heard.
    pub(crate) fn has_answered(&self, id: i64) -> bool {
        self.answered.contains_key(&id)
    }

    /// Waits for the answer to what was sent.
    pub(crate) fn answer(&mut self, id: i64) -> Result<Value, Value> {
        let until = Instant::now() + PATIENCE;
        loop {
            if let Some(mut answer) = self.answered.remove(&id) {
                if let Some(error) = answer.get("error") {
                    return Err(error.clone());
                }
                let result = answer["result"].take();
                return Ok(result);
            }
            assert!(self.hear(until), "no answer to {:?}", self.methods.get(&id));
        }
    }

    pub(crate) fn notify(&mut self, method: &str, params: Value) {
        self.write(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    pub(crate) fn write(&mut self, message: &Value) {
        self.write_raw(&message.to_string());
    }

    /// Writes a message as it stands, in its frame.
    pub(crate) fn write_raw(&mut self, body: &str) {
        let framed = format!("Content-Length: {}\r\n\r\n{body}", body.len());
        if let Some(held) = &mut self.held {
            held.push_str(&framed);
            return;
        }
        // A server that has ended is found out by what it no longer says.
        let _ = self.outbox.as_ref().unwrap().send(framed);
    }

    /// Writes in one piece what is written within.
    pub(crate) fn burst(&mut self, work: impl FnOnce(&mut Self)) {
        self.held = Some(String::new());
        work(self);
        let held = self.held.take().unwrap_or_default();
        let _ = self.outbox.as_ref().unwrap().send(held);
    }

    /// Ends the client's side of the stream.
    pub(crate) fn hang_up(&mut self) {
        self.outbox = None;
    }

    /// Waits until the file's findings are pushed for the version that is
    /// open, and gives them.
    pub(crate) fn findings(&mut self, path: &str) -> Vec<Value> {
        let url = self.url(path);
        let version = self.open.get(path).map(|(_, version)| json!(version));
        let until = Instant::now() + PATIENCE;
        loop {
            if let Some(pushed) = self.pushed.get(&url)
                && version
                    .as_ref()
                    .is_none_or(|version| &pushed["version"] == version)
            {
                return pushed["diagnostics"].as_array().unwrap().clone();
            }
            assert!(self.hear(until), "no findings for {path}");
        }
    }

    /// Waits until something holds of what was heard.
    pub(crate) fn wait_until(&mut self, what: &str, mut holds: impl FnMut(&Self) -> bool) {
        let until = Instant::now() + PATIENCE;
        while !holds(self) {
            assert!(self.hear(until), "waited in vain until {what}");
        }
    }

    /// Takes in what comes within the time.
    pub(crate) fn listen(&mut self, time: Duration) {
        let until = Instant::now() + time;
        while self.hear(until) {}
    }

    /// Takes in one message; `false` where none comes in time.
    fn hear(&mut self, until: Instant) -> bool {
        let left = until.saturating_duration_since(Instant::now());
        let message = match self.inbox.recv_timeout(left) {
            Ok(message) => message,
            Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => return false,
        };
        self.keep(&message);
        let method = message["method"].as_str().map(str::to_owned);
        match (method, message.get("id").cloned()) {
            (Some(method), Some(id)) => {
                if self.answers {
                    let result = match method.as_str() {
                        "workspace/configuration" => json!([self.settings]),
                        "workspace/applyEdit" => json!({ "applied": true }),
                        _ => Value::Null,
                    };
                    self.write(&json!({ "jsonrpc": "2.0", "id": id, "result": result }));
                }
                self.heard.push_back(message);
            }
            (Some(method), None) if method == "textDocument/publishDiagnostics" => {
                let params = &message["params"];
                let url = params["uri"].as_str().unwrap().to_owned();
                self.pushed.insert(url, params.clone());
            }
            (Some(_), None) => self.heard.push_back(message),
            (None, Some(id)) => {
                if let Some(id) = id.as_i64() {
                    self.answered.insert(id, message);
                } else {
                    self.heard.push_back(message);
                }
            }
            (None, None) => panic!("neither an answer nor a request: {message}"),
        }
        true
    }

    /// Keeps what the server said, with the method that it answers.
    fn keep(&mut self, message: &Value) {
        let answers = message.get("method").is_none();
        let method = message["id"]
            .as_i64()
            .filter(|_| answers)
            .and_then(|id| self.methods.get(&id));
        let kind = message["method"].as_str().or(method.map(String::as_str));
        let count = self.kept.entry(kind.unwrap_or_default().to_owned());
        let count = count.or_default();
        *count += 1;
        if *count <= ENOUGH {
            let kept = json!({ "answers": method, "message": message });
            let _ = writeln!(self.transcript, "{kept}");
        }
    }

    /// Shuts down as the protocol asks, and gives the exit code.
    pub(crate) fn finish(mut self) -> Option<i32> {
        self.request("shutdown", Value::Null);
        self.notify("exit", Value::Null);
        self.end()
    }

    /// Waits for the process's end.
    pub(crate) fn end(&mut self) -> Option<i32> {
        let until = Instant::now() + PATIENCE;
        while Instant::now() < until {
            if let Some(status) = self.child.try_wait().unwrap() {
                return status.code();
            }
            std::thread::sleep(Duration::from_millis(10));
        }
        panic!("the server did not end");
    }
}

impl Drop for Client {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
