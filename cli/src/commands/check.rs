//! `gutta check`: the findings.

use std::path::{Path, PathBuf};

use clap::ValueEnum;
use clap::builder::{PossibleValuesParser, TypedValueParser};
use gutta_checks::words::counted;
use gutta_checks::{Finding, Options, Severity, check};
use gutta_notation::ast::Date;

use crate::baseline::{Baseline, Held, told_gone};
use crate::correct::{Changed, correct, write_changed};
use crate::day;
use crate::failure::{Failure, Outcome};
use crate::files::{FileSelection, FoundFiles, Listing, Loaded, no_such_list, side_by_side};
use crate::out::Out;
use crate::progress::Progress;
use crate::prose::Prose;
use crate::report::{Report, is_loud};
use crate::since::narrow;
use crate::terminal::{self, Colour};
use crate::watch::again_and_again;

/// Check orders, and what they refer to
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Files and folders; `-` for standard input [default: the workspace]
    #[arg(value_name = "PATH")]
    paths: Vec<PathBuf>,

    /// The form of the findings
    ///
    /// JSON has every finding, and names files from the root of the workspace.
    /// The others have what is shown (with --all, information and hints too)
    /// and name files from the current folder. Lines and columns count from 1,
    /// columns in characters; GitLab's report has lines only.
    #[arg(long, value_enum, default_value_t)]
    format: Format,

    /// Show information and hints too
    #[arg(long)]
    all: bool,

    /// Correct the spelling (never a number, a drug or a route)
    #[arg(long)]
    fix: bool,

    /// Show what --fix would change, without changing it
    #[arg(long)]
    diff: bool,

    /// Hold back the known findings listed in FILE
    ///
    /// With a baseline a hospital can begin with the orders that it has: what
    /// is listed in it (by file, stanza, rule and count, never by line) is not
    /// shown and does not fail the check. If more is found than it lists,
    /// every finding of that rule in that stanza is shown, since it is not
    /// known which is new. What has been fixed is reported. A locked rule
    /// cannot be listed.
    #[arg(long, value_name = "FILE", conflicts_with = "write_baseline")]
    baseline: Option<PathBuf>,

    /// Write the present findings to FILE, as a baseline
    ///
    /// Lists every warning and error that is not locked (with --fail-on, all
    /// of that severity or higher). Entries of files that were not checked
    /// stay.
    #[arg(long, value_name = "FILE")]
    write_baseline: Option<PathBuf>,

    /// Check only the files changed since REV, and those that depend on them
    ///
    /// REV is a commit, branch or tag of git. Changes count from the commit at
    /// which it and the present one diverged, including what is not committed
    /// yet. If a limit, a pump or an order has changed or been removed, the
    /// files whose orders depend on it are checked too. After a change to
    /// gutta.toml or to what git ignores every file is checked. Findings that
    /// come with time only, such as a review that falls due, are made by a run
    /// without this.
    #[arg(long, value_name = "REV")]
    changed_since: Option<String>,

    #[command(flatten)]
    listing: Listing,

    /// Check again whenever a file changes, until Ctrl-C
    ///
    /// A change of an order file, of gutta.toml, of what git ignores or of the
    /// baseline counts. On a terminal each run begins on a clear screen. Ended
    /// by Ctrl-C, the exit code is 0.
    #[arg(long, conflicts_with_all = ["fix", "diff", "write_baseline"])]
    watch: bool,

    /// The lowest severity for which the exit code is 1
    #[arg(long, value_parser = severity(), value_name = "LEVEL", default_value = "error")]
    fail_on: Severity,

    /// The day on which review dates and waivers are checked [default: today]
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = day::read)]
    today: Option<Date>,

    /// The file name to use for standard input
    #[arg(long, value_name = "PATH")]
    stdin_name: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, Default, ValueEnum)]
enum Format {
    /// For people, with the lines they are about
    #[default]
    Text,
    /// One line per finding
    Concise,
    /// One document
    Json,
    /// One document per finding, and one for the counts
    Jsonl,
    /// SARIF 2.1.0, for viewers of findings
    Sarif,
    /// JUnit XML: one case per stanza
    Junit,
    /// Annotations for GitHub Actions
    Github,
    /// A code quality report for GitLab
    Gitlab,
}

/// Takes a severity by its word.
fn severity() -> impl TypedValueParser<Value = Severity> {
    PossibleValuesParser::new(Severity::WORDS).map(|word| {
        // The parser lets no other word through.
        Severity::of_word(&word).unwrap_or(Severity::Error)
    })
}

impl Args {
    pub(crate) fn run(self, colour: Colour) -> Result<Outcome, Failure> {
        if self.listing.is_asked() {
            let own = [
                (self.fix, "--fix"),
                (self.diff, "--diff"),
                (self.watch, "--watch"),
                (self.baseline.is_some(), "--baseline"),
                (self.write_baseline.is_some(), "--write-baseline"),
                (self.changed_since.is_some(), "--changed-since"),
            ];
            let json = match self.format {
                Format::Text => false,
                Format::Json => true,
                _ => return Err(no_such_list()),
            };
            return self.listing.alone(&own)?.show(&self.asked(), json);
        }
        if self.watch {
            return self.again_and_again(colour);
        }
        self.once(colour)
    }

    fn again_and_again(&self, colour: Colour) -> Result<Outcome, Failure> {
        if !matches!(self.format, Format::Text | Format::Concise) {
            let why = "--watch is for use at a terminal: only with --format text or concise";
            return Err(Failure::new(why));
        }
        let asked = self.asked();
        if asked.stdin() {
            return Err(Failure::new("--watch does not work with standard input"));
        }
        for path in &self.paths {
            std::fs::metadata(path).map_err(|error| {
                Failure::system(format!("cannot read {}", path.display()), &error)
            })?;
        }
        let others: Vec<_> = self.baseline.as_deref().into_iter().collect();
        again_and_again(asked.root()?.folder(), &others, || {
            self.once(colour).map(drop)
        })?;
        Ok(Outcome::Clean)
    }

    fn asked(&self) -> FileSelection {
        FileSelection {
            paths: self.paths.clone(),
            stdin_name: self.stdin_name.clone(),
        }
    }

    fn once(&self, colour: Colour) -> Result<Outcome, Failure> {
        let options = Options {
            today: self.today.or_else(day::today),
        };
        let asked = self.asked();
        let baseline = match &self.baseline {
            Some(path) => Some((path, Baseline::read(path)?)),
            None => None,
        };
        let progress = Progress::begin("Checking");
        if self.changed_since.is_some() && asked.stdin() {
            let why = "--changed-since does not work with standard input";
            return Err(Failure::new(why));
        }
        // All are read before any is written.
        let found = asked.find_all()?.into_iter().map(FoundFiles::load);
        let parts = found.collect::<Result<Vec<_>, _>>()?;
        let mut checked = Vec::new();
        let (mut left, mut diffs) = (false, String::new());
        for mut loaded in parts {
            if let Some(revision) = &self.changed_since {
                narrow(&mut loaded, revision, &options)?;
            }
            let mut findings = check(&loaded.workspace, Some(&loaded.asked), &options);
            if self.fix || self.diff {
                let changed = correct(&mut loaded, &findings, &options);
                if self.diff {
                    diffs.extend(changed.iter().map(Changed::diff));
                } else {
                    left |= self.write(&mut loaded, &changed, asked.stdin())?;
                    if !changed.is_empty() {
                        findings = check(&loaded.workspace, Some(&loaded.asked), &options);
                    }
                }
            }
            checked.push((loaded, findings));
        }
        progress.end();
        let Some((loaded, mut findings)) = side_by_side(checked) else {
            return Err(Failure::new("there is nothing to check"));
        };
        let faulty = loaded.tell_passed();
        terminal::print(Out::text(diffs, false))?;
        if self.diff || (self.fix && asked.stdin()) {
            return Ok(self.outcome(&findings, faulty));
        }
        if let Some(path) = &self.write_baseline {
            let outcome = self.write_baseline(path, &loaded, &findings)?;
            return Ok(if left || faulty {
                Outcome::Found
            } else {
                outcome
            });
        }
        let held = match &baseline {
            Some((path, baseline)) => {
                let held = baseline.hold(&loaded, &mut findings);
                Some((path, held))
            }
            None => None,
        };
        let shown = held.as_ref().map(|(_, held)| held);
        self.show(&loaded, &findings, shown, colour)?;
        for line in held.iter().flat_map(|(path, held)| held.told(path)) {
            terminal::tell(&format!("gutta: {line}"));
        }
        let outcome = self.outcome(&findings, faulty || left);
        if !self.watch {
            // The process ends: to take a large workspace apart first takes time.
            std::mem::forget((loaded, findings));
        }
        Ok(outcome)
    }

    /// Writes what is found to a baseline, and says what cannot stand in it.
    fn write_baseline(
        &self,
        path: &Path,
        loaded: &Loaded,
        findings: &[Finding],
    ) -> Result<Outcome, Failure> {
        let (old, read) = Baseline::read_if_there(path)?;
        let concerns = |finding: &&Finding| is_loud(finding) || self.fails(finding);
        let chosen = findings.iter().filter(concerns);
        let locked = chosen.clone().filter(|finding| finding.locked).count();
        let (new, gone) = old.with_findings(loaded, chosen);
        new.write(path, read.as_deref())?;
        let findings = counted(new.len(), "finding");
        terminal::tell(&format!("gutta: {} has {findings}.", path.display()));
        if let Some(gone) = told_gone(&gone) {
            terminal::tell(&format!("gutta: {gone}"));
        }
        if locked > 0 {
            let findings = counted(locked, "finding");
            terminal::tell(&format!(
                "gutta: {findings} cannot be held back, and will still be reported: they protect a `never`, a route or legibility."
            ));
        }
        Ok(Outcome::found(locked > 0))
    }

    fn show(
        &self,
        loaded: &Loaded,
        findings: &[Finding],
        held: Option<&Held>,
        colour: Colour,
    ) -> Result<(), Failure> {
        let report = Report::new(loaded, findings).baseline(held);
        let width = terminal::width();
        let prose = Prose::new(colour.on(), width);
        let chosen = |finding: &Finding| self.all || is_loud(finding) || self.fails(finding);
        match self.format {
            Format::Text => {
                let bytes = report.text(prose, width, chosen);
                let text = String::from_utf8_lossy(&bytes);
                terminal::print(Out::text(text, prose.coloured()))
            }
            Format::Concise => {
                let mut lines = report.concise(prose, chosen);
                lines.push_str(&report.closing(prose, width, chosen));
                terminal::print(Out::text(lines, prose.coloured()))
            }
            Format::Json => terminal::print(Out::json(&report.document())?),
            Format::Jsonl => terminal::print(Out::jsonl(report.found(), &report.summary)?),
            Format::Sarif => terminal::print(Out::json(&report.sarif(chosen))?),
            Format::Junit => {
                let bytes = report.junit(chosen, |finding| self.fails(finding))?;
                terminal::print(Out::xml(bytes))
            }
            Format::Github => terminal::print(Out::commands(&report.github(chosen))),
            Format::Gitlab => terminal::print(Out::json(&report.gitlab(chosen))?),
        }
    }

    fn fails(&self, finding: &Finding) -> bool {
        finding.severity >= self.fail_on
    }

    /// `faulty`: something was passed over that an order could be in.
    fn outcome(&self, findings: &[Finding], faulty: bool) -> Outcome {
        Outcome::found(faulty || findings.iter().any(|finding| self.fails(finding)))
    }

    /// Writes the corrected files; standard input goes to standard output. Tells
    /// whether any was left, since somebody else had changed it: what is then
    /// judged of it is the text that was read.
    fn write(
        &self,
        loaded: &mut Loaded,
        changed: &[Changed],
        stdin: bool,
    ) -> Result<bool, Failure> {
        if stdin {
            let file = loaded.asked.first().map(|id| loaded.workspace.file(*id));
            let text = file.map_or_else(String::new, |file| file.text.to_string());
            terminal::print(Out::file(text))?;
            return Ok(false);
        }
        let written = write_changed(&loaded.root, changed)?;
        if let Some(failure) = written.failure {
            return Err(failure);
        }
        let done = changed.len() - written.left.len();
        if done > 0 {
            let files = counted(done, "file");
            terminal::tell(&format!("gutta: corrected {files}"));
        }
        let is_left = |change: &&Changed| written.left.contains(&change.path);
        for change in changed.iter().filter(is_left) {
            loaded
                .workspace
                .replace_file(&change.path, change.before().to_owned());
        }
        Ok(!written.left.is_empty())
    }
}
