//! A folder of small orders, and the command run in it.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use tempfile::TempDir;

/// The reference that the tests' orders lean on. Its limits are invented.
pub(crate) const REFERENCE: &str = r#"area adult-icu "Adult intensive care"
  patient    weight 40 to 150 kg

pump syringe "Syringe pump"
  flow       0.1 to 99.9 mL/h in steps of 0.1 mL/h
  bolus      up to 600 mL/h

solution glucose-5 "Glucose 5 %"
  contains   glucose 50 mg/mL

drug noradrenaline "Noradrenaline (as base)"
  dosed in   mcg/kg/min
  supplied   4 mg in 4 mL
  with       glucose-5
  only by    central vein
  usual dose       0.01 to 1 mcg/kg/min
  never dose       above 2 mcg/kg/min
"#;

/// An order in which nothing is wrong.
pub(crate) const RIGHT: &str = r#"use "reference.gtt"

order noradrenaline-central "Noradrenaline, single strength"
  drug       noradrenaline
  area       adult-icu
  route      central vein
  pump       syringe
  mix        4 mg made up to 50 mL with glucose-5
  run        all at 0.06 mcg/kg/min
  then       renew
  review by  2027-11-01
"#;

/// A folder that is gone with the test.
pub(crate) struct Folder(TempDir);

/// What a run came to.
#[derive(Debug)]
pub(crate) struct Ran {
    pub(crate) code: Option<i32>,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Folder {
    pub(crate) fn new(files: &[(&str, &str)]) -> Self {
        let folder = Self(TempDir::new().unwrap());
        for (path, text) in files {
            folder.write(path, text.as_bytes());
        }
        folder
    }

    /// A workspace with the reference and one order.
    pub(crate) fn with_order(order: &str) -> Self {
        Self::new(&[
            ("gutta.toml", ""),
            ("reference.gtt", REFERENCE),
            ("order.gtt", order),
        ])
    }

    pub(crate) fn path(&self, path: &str) -> PathBuf {
        self.0.path().join(path)
    }

    pub(crate) fn write(&self, path: &str, bytes: &[u8]) {
        let path = self.path(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }

    pub(crate) fn read(&self, path: &str) -> Vec<u8> {
        std::fs::read(self.path(path)).unwrap()
    }

    /// The command, in the folder, on a day that does not pass.
    pub(crate) fn command(&self, words: &[&str]) -> Command {
        command(self.0.path(), words)
    }

    pub(crate) fn run(&self, words: &[&str]) -> Ran {
        ran(self.command(words).output().unwrap())
    }

    /// The same in a folder inside.
    pub(crate) fn run_in(&self, inner: &str, words: &[&str]) -> Ran {
        ran(command(&self.path(inner), words).output().unwrap())
    }

    /// The same with a text on standard input.
    pub(crate) fn pipe(&self, words: &[&str], text: &str) -> Ran {
        let mut command = self.command(words);
        command.stdin(Stdio::piped());
        command.stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let mut stdin = child.stdin.take().unwrap();
        let text = text.to_owned();
        let writer = std::thread::spawn(move || stdin.write_all(text.as_bytes()));
        let output = child.wait_with_output().unwrap();
        // A run that needs no input may end before it is read.
        let _ = writer.join().unwrap();
        ran(output)
    }
}

fn command(folder: &Path, words: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_gutta"));
    command.current_dir(folder).args(words);
    if words.first() == Some(&"check") && !words.contains(&"--today") {
        command.args(["--today", "2026-11-25"]);
    }
    command.env_remove("NO_COLOR").stdin(Stdio::null());
    command
}

fn ran(output: Output) -> Ran {
    Ran {
        code: output.status.code(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

impl Ran {
    /// The exit code and all that was said, for a snapshot.
    pub(crate) fn told(&self) -> String {
        let code = self.code.map_or("none".to_owned(), |code| code.to_string());
        let err = if self.err.is_empty() {
            String::new()
        } else {
            format!("── standard error ──\n{}", self.err)
        };
        format!("exit code {code}\n{}{err}", self.out)
    }

    /// The last line of what it printed: of `check`, the counts.
    pub(crate) fn last_line(&self) -> &str {
        self.out.lines().last().unwrap_or("")
    }

    /// That it could not run, which it said in one line.
    pub(crate) fn refused(&self, line: &str) {
        assert_eq!(self.code, Some(2), "{self:?}");
        assert_eq!(self.err, format!("gutta: {line}\n"));
        assert_eq!(self.out, "");
    }

    /// The one value of JSON on standard output.
    pub(crate) fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap()
    }
}
