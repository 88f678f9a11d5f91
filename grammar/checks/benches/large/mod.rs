//! A large repository: one order, repeated under other names over many files.

const REFERENCE: &str = include_str!("../../src/tarnwick.gtt");

const ORDER: &str = r#"
order noradrenaline-NUMBER "Noradrenaline, single strength"
  drug       noradrenaline
  area       adult-icu
  patient    weight 40 to 150 kg
  route      central vein
  pump       syringe
  mix        4 mg made up to 50 mL with glucose-5
  run        all at 0.06 mcg/kg/min
  adjust     0.02 to 0.5 mcg/kg/min by 0.02 mcg/kg/min every 5 min
  ceiling    60 mL/h
  then       renew
  expect     flow 3.2 mL/h at 70 kg
"#;

/// Names and texts: the reference, and `files` of `orders` each.
pub(crate) fn files(files: usize, orders: usize) -> impl Iterator<Item = (String, String)> {
    let reference = ("tarnwick.gtt".to_owned(), REFERENCE.to_owned());
    let of_orders = (0..files).map(move |file| {
        let orders = (0..orders).map(|order| ORDER.replace("NUMBER", &format!("{file}-{order}")));
        let text: String = std::iter::once("use \"tarnwick.gtt\"\n".to_owned())
            .chain(orders)
            .collect();
        (format!("orders-{file}.gtt"), text)
    });
    std::iter::once(reference).chain(of_orders)
}
