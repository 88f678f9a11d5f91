//! What holds for every order, whatever its numbers.

use crate::support::{last_order, workspace};
use gutta_protocol::derive::{Patient, Values, derive};
use gutta_protocol::limits::judge;
use gutta_protocol::model::{self, Library, order::Order};
use gutta_quantity::{Exact, Quantity, units};
use proptest::prelude::*;

/// A number as an author writes it: up to four digits, up to three decimals,
/// never zero.
fn number() -> impl Strategy<Value = String> {
    (1_u32..9999, 0_u32..4).prop_map(|(digits, decimals)| {
        let value = Exact::from(i64::from(digits));
        let value = &value * &Exact::ten_to(-i32::try_from(decimals).unwrap_or(0));
        gutta_quantity::Style::USUAL
            .decimal_exact(&value)
            .unwrap_or_else(|| digits.to_string())
    })
}

fn values(text: &str) -> (Order, Values) {
    let workspace = workspace(text);
    let library = Library::new(&workspace);
    let order = model::order(&workspace, &library, last_order(&workspace));
    let values = derive(&order, &Patient::default());
    match values {
        Ok(values) => (order, values),
        Err(incomplete) => panic!("{text}\n{:?}", incomplete.problems),
    }
}

fn by_dose(amount: &str, volume: &str, dose: &str) -> String {
    format!(
        r#"
order a "A"
  drug       testamine
  patient    weight 2.5 to 150 kg
  mix        {amount} mg made up to {volume} mL with saline
  run        all at {dose} mcg/kg/min
  then       renew
"#
    )
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Flow × time is the volume, at every weight.
    #[test]
    fn flow_times_time_is_volume(amount in number(), volume in number(), dose in number(), weight in 25_i64..1500) {
        let (_, values) = values(&by_dose(&amount, &volume, &dose));
        let run = &values.views[0].phases[0].runs[0];
        let weight = Exact::ratio(weight, 10).unwrap();
        let (flow, time) = (run.flow.at(&weight).unwrap(), run.time.at(&weight).unwrap());
        prop_assert_eq!(&flow * &time, run.volume.at(&weight).unwrap());
    }

    /// The dose of the flow of a dose is that dose.
    #[test]
    fn dose_of_the_flow_of_a_dose(amount in number(), volume in number(), dose in number(), weight in 25_i64..1500) {
        let (order, values) = values(&by_dose(&amount, &volume, &dose));
        let view = &values.views[0];
        let run = &view.phases[0].runs[0];
        let gutta_protocol::derive::Setting::Rate(setting) = &run.setting else { panic!("a dose") };
        let back = view.in_form(&order, 0, &run.flow, setting).unwrap();
        let weight = Exact::ratio(weight, 10).unwrap();
        prop_assert_eq!(back.at(&weight).unwrap(), setting.value.clone());
        let written = Exact::parse_decimal(&dose).unwrap();
        prop_assert_eq!(Quantity::from_base(back.at(&weight).unwrap(), setting.unit).value, written);
    }

    /// A heavier patient never gets less, and more drug in the bag never makes
    /// the flow greater.
    #[test]
    fn monotony(amount in number(), volume in number(), dose in number(), weight in 25_i64..1499) {
        let (_, values) = values(&by_dose(&amount, &volume, &dose));
        let flow = &values.views[0].phases[0].runs[0].flow;
        let (lighter, heavier) = (Exact::ratio(weight, 10).unwrap(), Exact::ratio(weight + 1, 10).unwrap());
        prop_assert!(flow.at(&lighter).unwrap() < flow.at(&heavier).unwrap());
        let twice = &Exact::parse_decimal(&amount).unwrap() * &Exact::int(2);
        let twice = gutta_quantity::machine::decimal(&twice, 12);
        let (_, stronger) = self::values(&by_dose(&twice, &volume, &dose));
        let slower = &stronger.views[0].phases[0].runs[0].flow;
        prop_assert_eq!(&slower.at(&lighter).unwrap() * &Exact::int(2), flow.at(&lighter).unwrap());
    }

    /// The weight at which a limit turns is the last good one: the limit holds
    /// there, and is broken just above.
    #[test]
    fn the_threshold_is_the_last_good_weight(dose in 1_i64..500, bound in 1_i64..40_000) {
        let text = format!(
            r#"
drug boundamine "A drug with a bound"
  supplied   40 mg in 4 mL
  never dose above {bound} mcg/min

order a "A"
  drug       boundamine
  patient    weight 2.5 to 150 kg
  mix        40 mg made up to 50 mL with saline
  run        all at {dose} mcg/kg/min
  then       renew
"#
        );
        let (order, values) = values(&text);
        let judgement = judge(&order, &values);
        let turn = Exact::ratio(bound, dose).unwrap();
        let (low, high) = (Exact::ratio(5, 2).unwrap(), Exact::int(150));
        match judgement.breaches.as_slice() {
            [] => prop_assert!(turn >= high),
            [breach] => {
                prop_assert!(turn < high);
                let edge = &breach.regions[0].from;
                if turn < low {
                    prop_assert_eq!(&edge.x, &low);
                    prop_assert!(edge.included);
                } else {
                    prop_assert!(edge.exact);
                    prop_assert!(!edge.included);
                    prop_assert_eq!(&edge.x, &turn);
                    let flow = &values.views[0].phases[0].runs[0].dose.clone().unwrap();
                    let allowed = Quantity::new(Exact::from(bound), gutta_quantity::Unit::parse("mcg/min").unwrap()).base();
                    prop_assert_eq!(flow.at(&edge.x).unwrap(), allowed.clone());
                    let beyond = &edge.x + &Exact::ten_to(-9);
                    if beyond <= high {
                        prop_assert!(flow.at(&beyond).unwrap() > allowed);
                    }
                }
            }
            more => prop_assert!(false, "{} breaches", more.len()),
        }
    }

    /// The pump's flow is within half a step of the exact one, and rounding
    /// what is settable changes nothing.
    #[test]
    fn the_pump_is_within_half_a_step(tenths in 5_i64..9000, thousandths in 0_i64..1000) {
        let workspace = workspace("order a \"A\"\n  pump volumetric\n  hang 1 L of saline\n  run all at 1 mL/h\n");
        let library = Library::new(&workspace);
        let order = model::order(&workspace, &library, last_order(&workspace));
        let pump = &order.phases[0].pump.as_ref().unwrap().value;
        let flow = &Exact::ratio(tenths, 10).unwrap() + &Exact::ratio(thousandths, 10_000).unwrap();
        let base = Quantity::new(flow.clone(), units::ML_PER_H).base();
        let Some(set) = gutta_protocol::pump::pump_flow(pump, &base, &Default::default()) else {
            prop_assert!(flow > Exact::int(900));
            return Ok(());
        };
        let set_per_h = Quantity::from_base(set.clone(), units::ML_PER_H).value;
        let step = if flow < Exact::int(100) { Exact::ratio(1, 10) } else { Some(Exact::ONE) }.unwrap();
        prop_assert!(&(&set_per_h - &flow).abs() * &Exact::int(2) <= step);
        prop_assert_eq!(gutta_protocol::pump::pump_flow(pump, &set, &Default::default()), Some(set));
    }
}
