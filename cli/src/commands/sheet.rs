//! `gutta sheet`: a page for the bedside.

use std::io::ErrorKind;
use std::path::PathBuf;

use gutta_checks::Options;
use gutta_checks::words::counted;
use gutta_notation::StanzaKind;
use gutta_notation::ast::Date;
use gutta_protocol::StanzaId;
use gutta_protocol::model::Library;
use gutta_server::disk::{HOUSE_FILE, house_text};
use gutta_views::html::{Sources, document};
use gutta_views::site::Site;

use crate::day;
use crate::failure::{Failure, Outcome};
use crate::files::{self, Listing, Loaded, tell_unread, write_at};
use crate::out::Out;
use crate::{site, terminal};

/// Make a printable sheet of an order, or of a set of orders, for the bedside
///
/// One page of HTML that needs nothing else: how the bag is prepared, what the
/// pump is set to by weight and dose, the flow with its limits, what to
/// monitor, room for two signatures, and the SHA-256 checksums of its files.
/// Print it on A4 or Letter. For an order with an error there is no sheet, and
/// the reason is given: exit code 1. Without a review date in the future it is
/// marked as a draft.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The order or set, by name
    #[arg(value_name = "NAME", required_unless_present_any = ["site", "show_files"])]
    name: Option<String>,

    /// Files and folders to find it in [default: the workspace]
    #[arg(value_name = "PATH")]
    paths: Vec<PathBuf>,

    /// Write it to this file, whole or not at all [default: standard output]
    #[arg(long, short, value_name = "FILE")]
    output: Option<PathBuf>,

    /// Make a folder of pages instead, for reviewers: every order and set with
    /// its sheet, every drug, and an index to search; nothing is loaded from
    /// elsewhere. A folder that holds anything else is refused; in one that it
    /// made, other files, and pages that were changed since, are left as they
    /// are
    #[arg(long, value_name = "DIR", conflicts_with_all = ["name", "paths", "output"])]
    site: Option<PathBuf>,

    /// The day on which the review date is checked [default: today]
    #[arg(long, value_name = "DATE", value_parser = day::read)]
    today: Option<Date>,

    #[command(flatten)]
    listing: Listing,
}

impl Args {
    pub(crate) fn run(self) -> Result<Outcome, Failure> {
        let mut asked = files::FileSelection {
            paths: self.paths,
            stdin_name: None,
        };
        if self.listing.is_asked() {
            let site = [
                (self.site.is_some(), "--site"),
                (self.output.is_some(), "--output"),
            ];
            // Without a name the first of the paths stands in its place.
            let first = self.name.map(PathBuf::from).filter(|path| path.exists());
            asked.paths.extend(first);
            return self.listing.alone(&site)?.show_one(&asked);
        }
        let loaded = asked.find()?.load()?;
        let options = Options {
            today: self.today.or_else(day::today),
        };
        let library = Library::new(&loaded.workspace);
        let mut sources = sources(&loaded)?;
        if let Some(folder) = &self.site {
            let pages = Site::of(&loaded.workspace, &library, &mut sources, &options);
            let written = site::write(&pages, folder)?;
            let (written_pages, without) = (written.pages, pages.without_sheet());
            let folder = folder.display();
            terminal::tell(&format!(
                "gutta: wrote {} to {folder}",
                counted(written_pages, "page")
            ));
            if without > 0 {
                let orders = counted(without, "order");
                terminal::tell(&format!(
                    "gutta: {orders} without a sheet; each page gives the reason"
                ));
            }
            for left in &written.left {
                terminal::tell(&format!("gutta: {left}"));
            }
            let unread = tell_unread(&loaded);
            let left = !written.left.is_empty();
            return Ok(Outcome::found(without > 0 || left || unread));
        }
        let name = self.name.unwrap_or_default();
        let id = find(&loaded, &name).inspect_err(|_| {
            tell_unread(&loaded);
        })?;
        let document = match document(&loaded.workspace, &library, &mut sources, id, &options) {
            Ok(document) => document,
            Err(reasons) => {
                terminal::tell(&format!("gutta: there is no sheet of {name}:"));
                for reason in reasons {
                    terminal::tell(&format!("gutta:   {reason}"));
                }
                return Ok(Outcome::Found);
            }
        };
        let page = Out::html(document.html());
        match self.output {
            Some(path) => write_at(&path, page.bytes())?,
            None => terminal::print(page)?,
        }
        Ok(Outcome::Clean)
    }
}

/// The files of the sheets: the house's settings, where there are any, are one
/// of each.
fn sources(loaded: &Loaded) -> Result<Sources, Failure> {
    match house_text(loaded.root.folder()) {
        Ok(text) => Ok(Sources::new(Some((HOUSE_FILE, &text)))),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(Sources::new(None)),
        Err(error) => Err(Failure::system(format!("cannot read {HOUSE_FILE}"), &error)),
    }
}

/// The one order or set of this name.
fn find(loaded: &Loaded, name: &str) -> Result<StanzaId, Failure> {
    let workspace = &loaded.workspace;
    let kinds = [StanzaKind::Order, StanzaKind::Set];
    let named = |id: &StanzaId| {
        workspace
            .stanza(*id)
            .name
            .as_ref()
            .map(|name| name.value.clone())
    };
    let of_kind = |id: &StanzaId| kinds.contains(&workspace.stanza(*id).kind);
    let all = loaded
        .asked
        .iter()
        .flat_map(|file| workspace.stanzas_in(*file));
    let all: Vec<_> = all.filter(of_kind).collect();
    let found: Vec<_> = all
        .iter()
        .filter(|id| named(id).is_some_and(|own| own == name))
        .collect();
    match found.as_slice() {
        [one] => Ok(**one),
        [] => {
            let names: Vec<_> = all.iter().filter_map(named).collect();
            let names = names.iter().map(|name| name.as_str());
            Err(Failure::unknown("order or set", name, names))
        }
        several => {
            let files = several
                .iter()
                .map(|id| workspace.file(id.file).path.as_str());
            let files: Vec<_> = files.collect();
            Err(Failure::new(format!(
                "more than one order or set is called `{name}`: name one of {}",
                files.join(", ")
            )))
        }
    }
}
