//! `gutta derive`: all that follows from an order.

use std::path::PathBuf;

use clap::ValueEnum;
use gutta_notation::{DigitGroups, Style, read_quantity};
use gutta_protocol::model::size::{Scalar, Size};
use gutta_quantity::{Dimension, Exact};

use crate::derived::{Derived, DerivedQuery, gather};
use crate::failure::{Failure, Outcome};
use crate::files::{self, Listing, Loaded, Root, tell_unread};
use crate::out::Out;
use crate::progress::Progress;
use crate::prose::Prose;
use crate::terminal::{self, Colour};

/// Calculate flows, times, strengths and totals, exactly
///
/// Without a weight, the values at the ends of each order's range and at every
/// weight in between where the calculation changes. An order that is not
/// complete has no values.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Files and folders; `-` for standard input [default: the workspace]
    #[arg(value_name = "PATH")]
    paths: Vec<PathBuf>,

    /// Only this order (may be given more than once)
    #[arg(long = "order", value_name = "NAME")]
    orders: Vec<String>,

    /// For this patient, such as "70 kg" (may be given more than once)
    #[arg(long = "weight", value_name = "WEIGHT", value_parser = written(weight, A_WEIGHT))]
    weights: Vec<String>,

    /// For this body surface area, such as "1.8 m2" (may be repeated)
    #[arg(long = "surface", value_name = "SURFACE", value_parser = written(surface, A_SURFACE))]
    surfaces: Vec<String>,

    /// At this setting, such as "0.1 mcg/kg/min" (may be given more than once)
    #[arg(long = "dose", value_name = "DOSE", value_parser = written(dose, A_DOSE))]
    doses: Vec<String>,

    /// Show how each value is calculated (as text, and in JSON)
    #[arg(long)]
    working: bool,

    /// The form of the values
    #[arg(long, value_enum, default_value_t)]
    format: Format,

    /// The file name to use for standard input
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
    /// One document; `form` is the number of its form
    Json,
    /// One row per value
    Csv,
    /// One table per order
    Markdown,
}

impl Args {
    pub(crate) fn run(mut self, colour: Colour) -> Result<Outcome, Failure> {
        let files = files::FileSelection {
            paths: std::mem::take(&mut self.paths),
            stdin_name: self.stdin_name.take(),
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
        let found = files.find_all()?.into_iter().map(files::FoundFiles::load);
        let parts = found.collect::<Result<Vec<_>, _>>()?;
        let derived = parts
            .iter()
            .map(|loaded| Ok(gather(loaded, &self.asked(loaded)?)))
            .collect::<Result<Vec<_>, Failure>>()?;
        progress.end();
        let named = !self.orders.is_empty();
        let mut unread = false;
        if let Some(name) = self.orders.iter().find(|name| !derived_has(&derived, name)) {
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

    /// What is asked of a workspace, as its house writes it.
    fn asked(&self, loaded: &Loaded) -> Result<DerivedQuery, Failure> {
        let style = loaded.workspace.house.style;
        Ok(DerivedQuery {
            orders: self.orders.clone(),
            weights: all(&self.weights, style, weight)?,
            surfaces: all(&self.surfaces, style, surface)?,
            doses: all(&self.doses, style, dose)?,
            working: match self.format {
                Format::Text | Format::Json => self.working,
                Format::Csv | Format::Markdown => false,
            },
        })
    }
}

fn derived_has(all: &[Derived], name: &str) -> bool {
    let mut orders = all.iter().flat_map(|derived| &derived.orders);
    orders.any(|order| order.name == name)
}

/// What was derived in several workspaces, named from the folder around them.
fn beside(parts: &[Loaded], all: Vec<Derived>) -> Result<(Root, Derived), Failure> {
    let root = Root::around(parts.iter().map(|loaded| &loaded.root));
    let root = root.ok_or_else(|| Failure::new("there is nothing to calculate"))?;
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

const A_WEIGHT: &str = "a weight is written \"70 kg\"";
const A_SURFACE: &str = "a body surface area is written \"1.8 m2\"";
const A_DOSE: &str = "a dose is written \"0.1 mcg/kg/min\"";

fn weight(text: &str, style: Style) -> Option<Exact> {
    let weight = Scalar::read_weight(&read_quantity(text, style)?)?.value;
    weight.is_positive().then_some(weight)
}

fn surface(text: &str, style: Style) -> Option<Exact> {
    let surface = Scalar::read(&read_quantity(text, style)?, Dimension::SURFACE)?.value;
    surface.is_positive().then_some(surface)
}

fn dose(text: &str, style: Style) -> Option<Size> {
    let size = Size::read(&read_quantity(text, style)?)?;
    (size.form.rate && size.value.is_positive()).then_some(size)
}

/// What some house reads: which one is asked is not known yet.
fn written<T>(
    read: fn(&str, Style) -> Option<T>,
    how: &'static str,
) -> impl Fn(&str) -> Result<String, String> + Clone {
    move |text| {
        let houses = [DigitGroups::Comma, DigitGroups::Space].map(|digit_groups| Style {
            digit_groups,
            ..Style::USUAL
        });
        let known = houses.iter().any(|style| read(text, *style).is_some());
        known.then(|| text.to_owned()).ok_or_else(|| how.to_owned())
    }
}

/// All of them, as the house writes.
fn all<T>(
    texts: &[String],
    style: Style,
    read: fn(&str, Style) -> Option<T>,
) -> Result<Vec<T>, Failure> {
    let parts = match style.digit_groups {
        DigitGroups::Comma => "a comma",
        DigitGroups::Space => "a space",
    };
    let one = |text: &String| {
        read(text, style).ok_or_else(|| {
            Failure::new(format!(
                "`{text}` has no value here: this hospital separates thousands with {parts}"
            ))
        })
    };
    texts.iter().map(one).collect()
}
