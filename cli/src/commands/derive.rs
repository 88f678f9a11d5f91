//! `gutta derive`: all that follows from an order.

use std::path::PathBuf;

use clap::ValueEnum;
use gutta_notation::read_quantity;
use gutta_protocol::model::size::{Scalar, Size};
use gutta_quantity::{Dimension, Exact};

use crate::derived::{Asked, Derived, gather};
use crate::failure::{Failure, Outcome};
use crate::files::{self, Listing, Loaded, Root, tell_unread};
use crate::out::Out;
use crate::progress::Progress;
use crate::prose::Prose;
use crate::terminal::{self, Colour};

/// Derive flows, times, strengths and totals, exactly
///
/// Without a weight, the values at the ends of each order's range and at every
/// corner between. An order that is not complete has no values.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Files and folders; `-` for standard input [default: the workspace]
    #[arg(value_name = "PATH")]
    paths: Vec<PathBuf>,

    /// This order alone (may be given more than once)
    #[arg(long = "order", value_name = "NAME")]
    orders: Vec<String>,

    /// For this patient, such as "70 kg" (may be given more than once)
    #[arg(long = "weight", value_name = "WEIGHT", value_parser = weight)]
    weights: Vec<Exact>,

    /// For this body surface, such as "1.8 m2" (may be given more than once)
    #[arg(long = "surface", value_name = "SURFACE", value_parser = surface)]
    surfaces: Vec<Exact>,

    /// At this setting, such as "0.1 mcg/kg/min" (may be given more than once)
    #[arg(long = "dose", value_name = "DOSE", value_parser = dose)]
    doses: Vec<Size>,

    /// Show how each value comes about (as text, and in JSON)
    #[arg(long)]
    working: bool,

    /// The form of the values
    #[arg(long, value_enum, default_value_t)]
    format: Format,

    /// The file that standard input stands for
    #[arg(long, value_name = "PATH")]
    stdin_name: Option<PathBuf>,

    #[command(flatten)]
    listing: Listing,
}

#[derive(Clone, Copy, Debug, Default, ValueEnum)]
enum Format {
    /// For people
    #[default]
    Text,
    /// One document, of the form that its `form` says
    Json,
    /// A value a row
    Csv,
    /// A table an order
    Markdown,
}

impl Args {
    pub(crate) fn run(self, colour: Colour) -> Result<Outcome, Failure> {
        let files = files::Asked {
            paths: self.paths,
            stdin_name: self.stdin_name,
        };
        if self.listing.is_asked() {
            let json = match self.format {
                Format::Text => false,
                Format::Json => true,
                Format::Csv | Format::Markdown => return Err(files::no_such_list()),
            };
            return self.listing.show(&files, json);
        }
        let progress = Progress::begin("Deriving");
        let found = files.find_all()?.into_iter().map(files::Found::load);
        let parts = found.collect::<Result<Vec<_>, _>>()?;
        let asked = Asked {
            orders: self.orders,
            weights: self.weights,
            surfaces: self.surfaces,
            doses: self.doses,
            working: match self.format {
                Format::Text | Format::Json => self.working,
                Format::Csv | Format::Markdown => false,
            },
        };
        let derived: Vec<_> = parts.iter().map(|loaded| gather(loaded, &asked)).collect();
        progress.end();
        let named = !asked.orders.is_empty();
        let mut unread = false;
        if let Some(name) = asked
            .orders
            .iter()
            .find(|name| !derived_has(&derived, name))
        {
            for loaded in &parts {
                tell_unread(loaded);
            }
            return Err(unknown(&parts, name));
        }
        // Who names an order has it, or an error.
        for loaded in parts.iter().filter(|_| !named) {
            unread |= tell_unread(loaded);
        }
        let (root, derived) = beside(&parts, derived)?;
        match self.format {
            Format::Text => {
                let width = terminal::width();
                let prose = Prose::new(colour.on(), width);
                let text = derived.text(&root, prose, width, self.working);
                terminal::print(Out::text(text, prose.coloured()))?;
            }
            Format::Json => terminal::print(Out::json_line(&derived.document())?)?,
            Format::Csv => terminal::print(Out::csv(derived.csv()?)?)?,
            Format::Markdown => terminal::print(Out::markdown(&derived.markdown()))?,
        }
        let incomplete = derived
            .orders
            .iter()
            .any(|order| !order.obstacles.is_empty() || !order.outside.is_empty());
        Ok(Outcome::found(incomplete || unread))
    }
}

fn derived_has(all: &[Derived], name: &str) -> bool {
    let mut orders = all.iter().flat_map(|derived| &derived.orders);
    orders.any(|order| order.name == name)
}

/// What was derived in several workspaces, named from the folder around them.
fn beside(parts: &[Loaded], all: Vec<Derived>) -> Result<(Root, Derived), Failure> {
    let root = Root::around(parts.iter().map(|loaded| &loaded.root));
    let root = root.ok_or_else(|| Failure::new("there is nothing to look at"))?;
    let mut orders = Vec::new();
    for (loaded, derived) in parts.iter().zip(all) {
        let before = root.before(&loaded.root);
        orders.extend(derived.orders.into_iter().map(|mut order| {
            order.file.insert_str(0, &before);
            order
        }));
    }
    Ok((root, Derived { orders }))
}

fn unknown(parts: &[Loaded], name: &str) -> Failure {
    use gutta_notation::StanzaKind::{Order, Specimen};
    let names = parts.iter().flat_map(|loaded| {
        let workspace = &loaded.workspace;
        [Order, Specimen]
            .into_iter()
            .flat_map(|kind| workspace.stanzas_of(kind))
            .filter_map(|id| workspace.stanza(id).name.as_ref())
            .map(|name| name.value.as_str())
    });
    Failure::unknown("order", name, names)
}

fn weight(text: &str) -> Result<Exact, String> {
    let weight = read_quantity(text).and_then(|written| Scalar::read_weight(&written));
    let weight = weight.map(|weight| weight.value).filter(Exact::is_positive);
    weight.ok_or_else(|| "a weight is written \"70 kg\"".to_owned())
}

fn surface(text: &str) -> Result<Exact, String> {
    let surface =
        read_quantity(text).and_then(|written| Scalar::read(&written, Dimension::SURFACE));
    let surface = surface
        .map(|surface| surface.value)
        .filter(Exact::is_positive);
    surface.ok_or_else(|| "a body surface is written \"1.8 m2\"".to_owned())
}

fn dose(text: &str) -> Result<Size, String> {
    let size = read_quantity(text).and_then(|written| Size::read(&written));
    let size = size.filter(|size| size.form.rate && size.value.is_positive());
    size.ok_or_else(|| "a dose is written \"0.1 mcg/kg/min\"".to_owned())
}
