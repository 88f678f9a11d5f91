//! `gutta derive`: all that follows from an order.

use std::path::PathBuf;

use clap::ValueEnum;
use gutta_notation::read_quantity;
use gutta_protocol::model::size::{Scalar, Size};
use gutta_quantity::{Dimension, Exact};

use crate::derived::{Asked, gather};
use crate::failure::{Failure, Outcome};
use crate::files::{self, Loaded};
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

    /// Show how each value comes about
    #[arg(long)]
    working: bool,

    /// The form of the values
    #[arg(long, value_enum, default_value_t)]
    format: Format,

    /// The file that standard input stands for
    #[arg(long, value_name = "PATH")]
    stdin_name: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, Default, ValueEnum)]
enum Format {
    /// For people
    #[default]
    Text,
    /// One document
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
        let progress = Progress::begin("Deriving");
        let loaded = files.find()?.load()?;
        let asked = Asked {
            orders: self.orders,
            weights: self.weights,
            surfaces: self.surfaces,
            doses: self.doses,
            working: match self.format {
                Format::Text => self.working,
                Format::Json => true,
                Format::Csv | Format::Markdown => false,
            },
        };
        let derived = gather(&loaded, &asked);
        for name in &asked.orders {
            if !derived.orders.iter().any(|order| order.name == *name) {
                return Err(unknown(&loaded, name));
            }
        }
        progress.end();
        match self.format {
            Format::Text => {
                let width = terminal::width();
                let prose = Prose::new(colour.on(), width);
                terminal::print(derived.text(&loaded.root, prose, width, self.working))?;
            }
            Format::Json => terminal::print_json(&derived.document())?,
            Format::Csv => terminal::print(derived.csv()?)?,
            Format::Markdown => terminal::print(derived.markdown())?,
        }
        let incomplete = derived
            .orders
            .iter()
            .any(|order| !order.obstacles.is_empty() || !order.outside.is_empty());
        Ok(Outcome::found(incomplete))
    }
}

fn unknown(loaded: &Loaded, name: &str) -> Failure {
    use gutta_notation::StanzaKind::{Order, Specimen};
    let workspace = &loaded.workspace;
    let names = [Order, Specimen]
        .into_iter()
        .flat_map(|kind| workspace.stanzas_of(kind))
        .filter_map(|id| workspace.stanza(id).name.as_ref())
        .map(|name| name.value.as_str());
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
