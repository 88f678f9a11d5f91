//! `gutta export`: orders and sets for other programs.

use std::path::PathBuf;

use gutta_checks::Options;
use gutta_notation::ast::Date;
use gutta_protocol::model::Library;

use crate::day;
use crate::export::{Refused, Release, base_url, choose, export};
use crate::failure::{Failure, Outcome};
use crate::files::{FileSelection, Listing, tell_unread, write_at};
use crate::out::Out;
use crate::progress::Progress;
use crate::prose::Prose;
use crate::terminal;

/// The width of what goes to standard error.
const LIST_WIDTH: usize = 80;

/// Export orders and sets as HL7 FHIR resources
///
/// One bundle: a Medication for each drug, solution and bag, an
/// ActivityDefinition for each order or phase, a PlanDefinition for each set
/// and each order with phases, all of them drafts, and an OperationOutcome
/// that lists every line for which there is no field. The same list, one line
/// per stanza, goes to standard error. An order with an error (in it, or in
/// anything that it uses) is not exported, nor is its set: exit code 1.
/// Specimens are never exported.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Files and folders; `-` for standard input [default: the workspace]
    #[arg(value_name = "PATH")]
    paths: Vec<PathBuf>,

    /// The release of FHIR
    #[arg(
        long,
        value_enum,
        value_name = "RELEASE",
        required_unless_present = "show_files"
    )]
    fhir: Option<Release>,

    /// Only this order (may be given more than once)
    #[arg(long = "order", value_name = "NAME")]
    orders: Vec<String>,

    /// This set with its orders (may be given more than once)
    #[arg(long = "set", value_name = "NAME")]
    sets: Vec<String>,

    /// Write it to this file, whole or not at all [default: standard output]
    #[arg(long, short, value_name = "FILE")]
    output: Option<PathBuf>,

    /// The base URL of the resources [default: none, urn:uuid:]
    #[arg(long, value_name = "URL", value_parser = base_url)]
    base_url: Option<String>,

    /// The day on which review dates and waivers are checked [default: today]
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = day::read)]
    today: Option<Date>,

    /// The file name to use for standard input
    #[arg(long, value_name = "PATH")]
    stdin_name: Option<PathBuf>,

    #[command(flatten)]
    listing: Listing,
}

impl Args {
    pub(crate) fn run(self) -> Result<Outcome, Failure> {
        let asked = FileSelection {
            paths: self.paths,
            stdin_name: self.stdin_name,
        };
        let Some(release) = self.fhir.filter(|_| !self.listing.is_asked()) else {
            let output = [(self.output.is_some(), "--output")];
            return self.listing.alone(&output)?.show_one(&asked);
        };
        let progress = Progress::begin("Exporting");
        let loaded = asked.find()?.load()?;
        let workspace = &loaded.workspace;
        let library = Library::new(workspace);
        let options = Options {
            today: self.today.or_else(day::today),
        };
        let choice = choose(&loaded, &library, &self.orders, &self.sets, &options)?;
        let base = self.base_url.as_deref();
        let exported = export(workspace, &choice, release, base);
        progress.end();
        let prose = Prose::new(false, LIST_WIDTH);
        let tell = |text: &str| {
            prose
                .hanging(text, "", "  ")
                .lines()
                .for_each(terminal::tell)
        };
        for refused in &choice.refused {
            let Refused {
                place, holder, why, ..
            } = refused;
            tell(&format!(
                "gutta: {place}: {holder} is not exported: {}",
                why.join("; ")
            ));
        }
        // Who names an order or a set has it, or an error.
        let all = self.orders.is_empty() && self.sets.is_empty();
        let unread = all && tell_unread(&loaded);
        let outcome = Outcome::found(unread || !choice.refused.is_empty());
        if choice.orders.is_empty() && choice.sets.is_empty() {
            tell("gutta: nothing is exported");
            return Ok(outcome);
        }
        match &self.output {
            None => terminal::print(Out::json(&exported.bundle)?)?,
            Some(path) => write_at(path, Out::json(&exported.bundle)?.bytes())?,
        }
        if !exported.left_out.is_empty() {
            tell(
                "gutta: FHIR has no field for these lines; they are in the text of the \
                 resources and, each with the reason, in the bundle's OperationOutcome:",
            );
        }
        exported.left_out.iter().for_each(|line| tell(line));
        Ok(outcome)
    }
}
