//! Answers that take long: what else is asked comes through, and they end when
//! nobody needs them. What is done is counted, never timed.

use std::fmt::Write as _;

use serde_json::{Value, json};

use crate::support::{Client, Setup};

/// So much at most is done at once (see `server/src/wire/aside.rs`).
const SHORT: u64 = 100_000;

const DRUGS: &str = "\
drug noradrenaline \"Noradrenaline\"
  supplied   4 mg in 4 mL
  dosed in   mcg/kg/min
  never dose above 20 mcg/kg/min

solution glucose-5 \"Glucose 5 %\"
  contains   glucose 50 mg/mL
";

const SMALL: &str = "\
use \"drugs.gtt\"

order small \"Small\"
  drug       noradrenaline
  patient    weight 40 to 120 kg
  route      central vein
  mix        4 mg made up to 50 mL with glucose-5
  run        all at 0.05 mcg/kg/min
  then       stop
";

/// Phases whose amounts have a lid each, at other weights.
fn heavy(phases: usize) -> String {
    let mut text = "use \"drugs.gtt\"\n\norder heavy \"Heavy\"\n  drug noradrenaline\n  \
        patient weight 1 to 400 kg\n  route central vein\n"
        .to_owned();
    for phase in 0..phases {
        write!(
            text,
            "  phase p-{phase}\n    mix {}00 mcg/kg, at most {} mg, added to {} mL of glucose-5\n    \
             run all at 0.{} mcg/kg/min, at most {} mcg/min\n",
            phase + 1, 10 + 3 * phase, 50 + 7 * phase, 11 + phase, 10 + phase
        )
        .unwrap();
    }
    text + "  then stop\n"
}

fn ward(phases: usize) -> Client {
    let heavy = heavy(phases);
    let files = [
        ("drugs.gtt", DRUGS),
        ("small.gtt", SMALL),
        ("heavy.gtt", heavy.as_str()),
    ];
    let mut client = Setup::new(files).pulling().start();
    for path in ["drugs.gtt", "small.gtt", "heavy.gtt"] {
        client.open(path);
    }
    client
}

/// What was done so far: at once at most, and aside.
fn done(client: &mut Client) -> (u64, u64) {
    let done = client.request("gutta/work", Value::Null);
    let units = |key: &str| done[key].as_u64().unwrap();
    (units("longest"), units("aside"))
}

#[test]
fn zz_measure() {
    for phases in [8, 12, 16, 24] {
        let mut client = ward(phases);
        client.request(
            "textDocument/diagnostic",
            json!({ "textDocument": { "uri": client.url("heavy.gtt") } }),
        );
        for (method, marked) in [
            ("gutta/derived", "order he|avy"),
            ("textDocument/hover", "order he|avy"),
            ("textDocument/hover", "r|un all at 0.11"),
        ] {
            let before = done(&mut client);
            let start = std::time::Instant::now();
            let place = client.place("heavy.gtt", marked);
            let answer = client.try_request(method, place);
            let said = match &answer {
                Ok(v) => v.to_string().chars().take(300).collect::<String>(),
                Err(e) => e.to_string(),
            };
            let after = done(&mut client);
            eprintln!(
                "{phases} {method} {marked}: {:?} aside {} longest {} {said}",
                start.elapsed(),
                after.1 - before.1,
                after.0
            );
        }
    }
}
