use gutta_notation::Span;
use gutta_notation::ast::LimitMeasure;
use gutta_protocol::{FileId, House, StanzaId, Workspace};
use gutta_quantity::{Exact, Quantity, Unit};

use super::apply;
use crate::context::StanzaContext;
use crate::{Excess, Finding, Options, rule};

fn quantity(text: &str) -> Quantity {
    let (value, unit) = text.split_once(' ').unwrap();
    Quantity::new(
        Exact::parse_decimal(value).unwrap(),
        Unit::parse(unit).unwrap(),
    )
}

/// What is left of a `limit.unusual` of this extent in an order with these
/// waivers, and what is said of the waivers.
fn left(waivers: &str, low: Option<&str>, high: Option<&str>) -> Vec<&'static str> {
    let text = format!("order a \"A\"\n  note \"x\"\n{waivers}");
    let workspace = Workspace::new(vec![("a.gtt", text.as_str())], House::default());
    let stanza = StanzaId {
        file: FileId(0),
        index: 0,
    };
    let options = Options::default();
    let library = gutta_protocol::model::Library::new(&workspace);
    let context = StanzaContext {
        workspace: &workspace,
        library: &library,
        stanza,
        options: &options,
        rules: crate::registry::names(),
    };
    let unusual = rule("limit.unusual").unwrap();
    let finding =
        Finding::new(unusual, &workspace, stanza, Span::new(0, 5), "Out.").extent(Excess {
            measure: LimitMeasure::Dose,
            low: low.map(quantity),
            high: high.map(quantity),
        });
    let mut findings = vec![finding];
    apply(&context, &mut findings);
    findings.iter().map(|finding| finding.rule.name).collect()
}

const UP: &str = "  waive limit.unusual of dose up to 24 mg/h because \"burns\"\n";
const DOWN: &str = "  waive limit.unusual of dose down to 2 mg/h because \"burns\"\n";

#[test]
fn up_to_its_bound_and_no_further() {
    let nothing: [&str; 0] = [];
    assert_eq!(left(UP, None, Some("20 mg/h")), nothing);
    assert_eq!(left(UP, None, Some("24 mg/h")), nothing);
    assert_eq!(left(UP, None, Some("0.4 mg/min")), nothing);
    assert_eq!(
        left(UP, None, Some("24.01 mg/h")),
        ["limit.unusual", "waive.unused"]
    );
    assert_eq!(
        left(UP, None, Some("240 mg/h")),
        ["limit.unusual", "waive.unused"]
    );
}

#[test]
fn another_kind_of_unit_is_not_compared() {
    assert_eq!(
        left(UP, None, Some("1 mg/kg/h")),
        ["limit.unusual", "waive.unused"]
    );
}

#[test]
fn another_measure_is_not_silenced() {
    let flow = "  waive limit.unusual of flow up to 24 mL/h because \"burns\"\n";
    assert_eq!(
        left(flow, None, Some("20 mg/h")),
        ["limit.unusual", "waive.unused"]
    );
}

#[test]
fn each_side_needs_its_own() {
    let nothing: [&str; 0] = [];
    let (low, high) = (Some("3 mg/h"), Some("20 mg/h"));
    assert_eq!(left(UP, low, None), ["limit.unusual", "waive.unused"]);
    assert_eq!(left(DOWN, low, None), nothing);
    assert_eq!(
        left(DOWN, Some("1 mg/h"), None),
        ["limit.unusual", "waive.unused"]
    );
    assert_eq!(left(UP, low, high), ["limit.unusual", "waive.unused"]);
    assert_eq!(left(&format!("{UP}{DOWN}"), low, high), nothing);
}

#[test]
fn without_a_bound_it_silences_nothing() {
    let bare = "  waive limit.unusual because \"burns\"\n";
    assert_eq!(
        left(bare, None, Some("20 mg/h")),
        ["limit.unusual", "waive.bare"]
    );
}

#[test]
fn one_waiver_is_enough_and_the_other_is_unused() {
    let wider = UP.replace("24", "30");
    assert_eq!(
        left(&format!("{UP}{wider}"), None, Some("28 mg/h")),
        ["waive.unused"]
    );
}
