//! The flow of a run, drawn with what it must keep to.

use gutta_protocol::Analysis;
use gutta_protocol::curve::Curve;
use gutta_protocol::model::Library;
use gutta_protocol::model::limit::Side;
use gutta_protocol::plot::{Axis, Plot};

use crate::support::{last_order, workspace};

const LIMITED: &str = r#"
drug limitamine "A drug with limits"
  supplied   40 mg in 4 mL
  with       saline
  usual dose       2 to 5 mcg/kg/min
  never dose       above 10 mcg/kg/min
  never dose       above 3 mcg/kg/min for 100 to 150 kg
  never strength   above 5 mg/mL
"#;

/// Every drawing of the order: the flow, what it may be adjusted to and each
/// bound as `x=flow`, then the marks of both axes.
fn drawn(order: &str) -> String {
    let workspace = workspace(&format!("{LIMITED}\n{order}"));
    let library = Library::new(&workspace);
    let analysis = Analysis::of(&workspace, &library, last_order(&workspace));
    let values = analysis.values.as_ref().expect("a complete order");
    let mut told = Vec::new();
    for plot in Plot::all(&analysis.order, values) {
        told.push(format!("flow {}", line([&plot.flow])));
        if let Some((low, high)) = &plot.adjusted {
            told.push(format!("lowest {}", line([low])));
            told.push(format!("highest {}", line([high])));
        }
        let axes = plot.axes();
        for bound in &plot.bounds {
            let side = match bound.side {
                Side::Low => "not below",
                Side::High => "not above",
            };
            let name = bound.of.told(&workspace, &analysis.order);
            let whose = bound.of.whose(&workspace).unwrap_or("order");
            let hidden = if axes.show(bound) {
                ""
            } else {
                ", off the drawing"
            };
            let lies = line(&bound.over);
            told.push(format!("{side} {lies}: {name}, {whose}{hidden}"));
        }
        for of in &plot.undrawn {
            told.push(format!("undrawn: {}", of.told(&workspace, &analysis.order)));
        }
        told.push(format!("across {}", marks(&axes.across)));
        told.push(format!("up {}", marks(&axes.up)));
    }
    told.join("\n")
}

fn line<'c>(curves: impl IntoIterator<Item = &'c Curve>) -> String {
    let strokes = curves.into_iter().flat_map(|curve| curve.strokes(0));
    let told = strokes.map(|stroke| {
        let dots = stroke.iter().map(|(x, flow)| format!("{x:?}={flow:?}"));
        dots.collect::<Vec<_>>().join(" ")
    });
    told.collect::<Vec<_>>().join(" | ")
}

fn marks(axis: &Axis) -> String {
    let marks = axis.marks.iter().map(gutta_quantity::machine::fraction);
    marks.collect::<Vec<_>>().join(" ")
}

/// 5 mcg/kg/min × 40 kg = 200 mcg/min = 12 mg/h; ÷ 2 mg/mL = 6 mL/h.
#[test]
fn flows_bounds_and_axes() {
    let order = r#"
order a "A"
  drug       limitamine
  area       any
  patient    weight 40 to 150 kg
  route      central vein
  pump       volumetric
  mix        100 mg made up to 50 mL with saline
  run        all at 5 mcg/kg/min, at most 500 mcg/min
  adjust     4 to 6 mcg/kg/min by 1 mcg/kg/min every 5 min
  ceiling    20 mL/h
  then       renew
"#;
    let drawing = "\
flow 40=6 100=15 150=15
lowest 40=24/5 125=15 150=15
highest 40=36/5 250/3=15 150=15
not above 40=15 150=15: at most 500 mcg/min, order
not above 40=20 150=20: ceiling 20 mL/h, order
not below 40=12/5 150=9: usual dose 2 to 5 mcg/kg/min, limitamine
not above 40=6 150=45/2: usual dose 2 to 5 mcg/kg/min, limitamine
not above 40=12 150=45: never dose above 10 mcg/kg/min, limitamine
not above 100=9 150=27/2: never dose above 3 mcg/kg/min for 100 to 150 kg, limitamine
not below 40=1/2 150=1/2: pump volumetric, order
not above 40=900 150=900: pump volumetric, order, off the drawing
across 40 60 80 100 120 140 150
up 0 5 10 15 20 25";
    assert_eq!(drawn(order), drawing);
}

/// Where nothing tells patients apart, there is nothing to draw over.
#[test]
fn one_flow_for_all_is_not_drawn() {
    let order = r#"
order a "A"
  drug       limitamine
  area       any
  mix        100 mg made up to 50 mL with saline
  run        all at 5 mL/h
  then       renew
"#;
    assert_eq!(drawn(order), "");
}

/// An order over weight and surface has a drawing for each end of the one that
/// matters less, and one alone where that makes no difference.
#[test]
fn a_drawing_for_each_view() {
    let order = r#"
order a "A"
  drug       testamine
  area       any
  patient    weight 40 to 80 kg
  patient    surface 1 to 2 m2
  mix        100 mg made up to 50 mL with saline
  run        20 mL at 0.1 mg/kg/h
  run        20 mL at 10 mg/m2/h
  then       stop
"#;
    let flows = drawn(order);
    let flows = flows.lines().filter(|line| line.starts_with("flow"));
    assert_eq!(
        flows.collect::<Vec<_>>(),
        ["flow 40=2 80=4", "flow 40=5 80=5", "flow 40=10 80=10"]
    );
}
