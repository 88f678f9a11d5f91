//! Slips in the patients' weights.

use gutta_quantity::Exact;

use super::kinds::Kind as K;
use super::line::{keyword, words};
use super::{Maker, ratio};

impl Maker<'_> {
    pub(super) fn of_patients(&mut self) {
        for (at, line) in self.lines() {
            if keyword(&line) != "patient" || !line.contains("weight") {
                continue;
            }
            self.delete(K::WeightsDeleted, at);
            // `patient weight 40 to 150 kg`, each in pounds.
            let pounds: Vec<_> = words(&line)
                .iter()
                .map(|word| match Exact::parse_decimal(word) {
                    Some(weight) => {
                        let pounds = &weight * &ratio(220, 100);
                        pounds.round_half_up().to_i64().expect("pounds").to_string()
                    }
                    None => word.clone(),
                })
                .collect();
            if line.trim_end().ends_with("kg") && !line.contains(" g ") {
                self.push(
                    K::PoundsInWeights,
                    at,
                    format!("  {}", pounds.join(" ")),
                    None,
                );
            }
        }
    }
}
