//! Right orders: those of the examples, and generated ones.

use gutta_quantity::Exact;

use crate::hospital::{Page, Stanza, pages};

/// An order as it should be.
pub struct Right {
    /// Its name.
    pub name: String,
    /// The folder of its file, from the root.
    pub folder: String,
    /// The `use` lines it stands below.
    pub uses: String,
    /// The stanza, header first.
    pub lines: Vec<String>,
    /// What is known of it besides, where it was generated.
    pub known: Option<Known>,
    /// The flow that belongs to its dose, in mL/h.
    pub flow: Option<String>,
}

/// What a generated order was made from.
pub struct Known {
    /// What its drug's `usual dose` allows, in the unit of its run.
    pub usual: (Exact, Exact),
    /// Its weights in kg.
    pub weights: (Exact, Exact),
}

impl Known {
    /// A weight in the middle, in whole kg.
    pub fn middle(&self) -> Exact {
        let sum = &self.weights.0 + &self.weights.1;
        (&sum * &Exact::ratio(1, 2).expect("a half")).floor()
    }
}

impl Right {
    /// The file in which it is checked.
    pub fn file(&self) -> String {
        format!("{}/slip.gtt", self.folder)
    }

    /// The text of that file with these lines in its place.
    pub fn text(&self, lines: &[String]) -> String {
        format!("{}\n{}\n", self.uses, lines.join("\n"))
    }

    /// Its drug's name, or that it is a fluid.
    pub fn drug(&self) -> &str {
        let drug = self
            .lines
            .iter()
            .find_map(|line| line.trim_start().strip_prefix("drug "));
        drug.map_or("fluid", str::trim)
    }

    /// A worked example of a generated order's flow, in the middle of its weights.
    pub fn expectation(&self) -> Option<String> {
        let (flow, known) = self.flow.as_ref().zip(self.known.as_ref())?;
        let weight = known.middle();
        let weight = gutta_quantity::machine::fraction(&weight);
        Some(format!("  expect flow {flow} mL/h at {weight} kg"))
    }

    /// The order that a stanza of this page is, its lines without comments.
    pub fn of(page: &Page, stanza: &Stanza) -> Self {
        let bare = |line: &String| line.split(" #").next().unwrap_or(line).to_owned();
        let uses = page.uses.iter().map(|line| format!("{line}\n"));
        Self {
            name: stanza.name().to_owned(),
            folder: page.folder().to_owned(),
            uses: uses.collect(),
            lines: stanza.lines.iter().map(bare).collect(),
            known: None,
            flow: stanza.lines.iter().find_map(|line| flow(line)),
        }
    }
}

/// Whether the line is a worked example.
pub fn is_expect(line: &str) -> bool {
    line.split_whitespace().next() == Some("expect")
}

/// `expect flow 3.15 mL/h at 70 kg`
fn flow(line: &str) -> Option<String> {
    let words: Vec<_> = line.split_whitespace().collect();
    let of_order = words.starts_with(&["expect", "flow"]) && !words.contains(&"in");
    of_order.then(|| words[2].replace(',', ""))
}

/// The orders of these files without their worked examples, each under a name
/// of its own: the order itself stands in the workspace as well.
pub fn orders(files: &[(String, String)]) -> Vec<Right> {
    let mut orders = Vec::new();
    for page in pages(files) {
        let of_page = page.stanzas.iter();
        for stanza in of_page.filter(|stanza| stanza.keyword() == "order") {
            let mut order = Right::of(&page, stanza);
            order.lines.retain(|line| !is_expect(line));
            order.lines[0] = order.lines[0].replacen(" \"", "-here \"", 1);
            order.name.push_str("-here");
            orders.push(order);
        }
    }
    orders
}
