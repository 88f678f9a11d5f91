//! One deliberate slip at a time, in right orders: what is caught, and what
//! is not. The table stands in DEVELOPERS.md.

mod table;

use gutta_checks::{Finding, Options, Severity, check_stanza};
use gutta_notation::StanzaKind;
use gutta_notation::ast::Date;
use gutta_protocol::model::Library;
use gutta_protocol::{House, Workspace};
use gutta_quantity::Exact;

use gutta_tests::right::{self, Right};
use gutta_tests::seed::Seed;
use gutta_tests::slips::{KINDS, Slip, line};
use gutta_tests::{generated, hospital, slips};
use table::Row;

/// The hospital's files, and one beside each folder's for the order at hand.
struct Bench {
    workspace: Workspace,
    library: Library,
    options: Options,
}

impl Bench {
    fn new() -> Self {
        let mut files = hospital::files();
        let mut folders: Vec<_> = files
            .iter()
            .filter_map(|(path, _)| path.rsplit_once('/'))
            .map(|(folder, _)| folder.to_owned())
            .collect();
        folders.sort();
        folders.dedup();
        for folder in folders {
            files.push((format!("{folder}/slip.gtt"), String::new()));
        }
        let workspace = Workspace::new(files, House::default());
        let library = Library::new(&workspace);
        let today = Date {
            year: 2026,
            month: 11,
            day: 25,
        };
        let options = Options { today: Some(today) };
        Self {
            workspace,
            library,
            options,
        }
    }

    /// Warnings and errors in the order's stanza, and in what a slip made of
    /// it.
    fn loud(&mut self, order: &Right, lines: &[String]) -> Vec<Finding> {
        let path = order.file();
        self.workspace.replace_file(&path, order.text(lines));
        let file = self.workspace.file_at(&path).expect("the file");
        let stanzas: Vec<_> = self.workspace.stanzas_in(file).collect();
        let mut loud = Vec::new();
        for id in stanzas {
            if self.workspace.stanza(id).kind != StanzaKind::Use {
                let found = check_stanza(&self.workspace, &self.library, id, &self.options);
                loud.extend(
                    found
                        .into_iter()
                        .filter(|finding| finding.severity >= Severity::Warning),
                );
            }
        }
        loud
    }
}

fn all_orders() -> Vec<Right> {
    let mut orders = right::orders(&hospital::files());
    let examples = orders.len();
    assert!(examples > 80, "{examples} orders in the examples");
    orders.extend(generated::orders());
    orders
}

/// Slips of one kind in one order, at most.
const MOST: usize = 3;

/// The slips of an order, some of each kind, and always the same.
fn some(order: &Right, seed: &mut Seed) -> Vec<Slip> {
    let made = slips::all(order, seed);
    let mut chosen = Vec::new();
    for (kind, ..) in KINDS {
        let mut of_kind: Vec<_> = made.iter().filter(|slip| slip.kind == *kind).collect();
        while of_kind.len() > MOST {
            of_kind.remove(seed.below(of_kind.len()));
        }
        chosen.extend(of_kind.into_iter().cloned());
    }
    chosen
}

/// Whether the slip takes the run's dose out of what the reference says is
/// usual, by the reckoning here.
fn leaves_the_usual(order: &Right, slip: &Slip) -> bool {
    let (Some(known), Some((light, heavy))) = (&order.known, &slip.dose) else {
        return false;
    };
    let rate = order
        .lines
        .iter()
        .filter(|line| line::keyword(line) == "run")
        .find_map(|line| line::after(line, "at"))
        .expect("a rate");
    let outside = |factor: &Exact| {
        let dose = &rate.value * factor;
        dose < known.usual.0 || dose > known.usual.1
    };
    outside(light) || outside(heavy)
}

#[test]
fn right_orders_are_left_in_peace() {
    let mut bench = Bench::new();
    let mut alarms = String::new();
    for order in all_orders() {
        for finding in bench.loud(&order, &order.lines) {
            alarms.push_str(&format!(
                "{}: {} {}\n{}\n\n",
                order.name,
                finding.rule.name,
                finding.message,
                order.lines.join("\n")
            ));
        }
    }
    assert!(alarms.is_empty(), "{alarms}");
}

#[test]
fn slips_are_caught() {
    let mut bench = Bench::new();
    let mut seed = Seed(4);
    let mut rows: Vec<Row> = KINDS.iter().map(|(_, told, _)| Row::new(told)).collect();
    let mut escapes = String::new();
    let orders = all_orders();
    for order in &orders {
        for slip in some(order, &mut seed) {
            let place = KINDS.iter().position(|(kind, ..)| *kind == slip.kind);
            let row = &mut rows[place.expect("a kind of the table")];
            let caught = bench.loud(order, &slip.lines);
            let caught = !caught.is_empty();
            let leaves = leaves_the_usual(order, &slip);
            row.count(caught, leaves);
            if !caught {
                let changed = slip.lines.iter().find(|line| !order.lines.contains(line));
                let lost = order.lines.iter().find(|line| !slip.lines.contains(line));
                escapes.push_str(&format!(
                    "{}\t{}\t{}\t{}\n",
                    row.told,
                    order.name,
                    lost.map_or("", |line| line.trim()),
                    changed.map_or("", |line| line.trim()),
                ));
            }
        }
    }
    if let Ok(path) = std::env::var("GUTTA_ESCAPES") {
        std::fs::write(path, &escapes).expect("the escapes are written");
    }
    let table = table::table(&rows, orders.len());
    println!("{table}");
    for ((_, told, floor), row) in KINDS.iter().zip(&rows) {
        assert!(row.made > 0, "no slip of this kind: {told}");
        assert!(
            row.caught * 100 >= row.made * *floor as usize,
            "{told}: {} of {}, and at least {floor} % was caught before",
            row.caught,
            row.made
        );
        assert_eq!(row.leaving, row.leaving_caught, "{told}: beyond the usual");
    }
    table::assert_current(&table);
}
