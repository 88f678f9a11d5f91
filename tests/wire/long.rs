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

/// Phases whose amounts have a cap each, at other weights.
fn heavy(name: &str, phases: usize) -> String {
    let mut text = format!(
        "use \"drugs.gtt\"\n\norder {name} \"{name}\"\n  drug noradrenaline\n  \
         patient weight 1 to 400 kg\n  route central vein\n"
    );
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
    let (heavy, medium) = (heavy("heavy", phases), heavy("medium", 20));
    let files = [
        ("drugs.gtt", DRUGS),
        ("small.gtt", SMALL),
        ("heavy.gtt", heavy.as_str()),
        ("medium.gtt", medium.as_str()),
    ];
    let mut client = Setup::new(files).pulling().start();
    for path in ["drugs.gtt", "small.gtt", "heavy.gtt", "medium.gtt"] {
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

fn derived(client: &mut Client, path: &str, marked: &str) -> i64 {
    let place = client.place(path, marked);
    client.send("gutta/derived", place)
}

/// So many phases take more than is ever done for one answer.
const TOO_MANY: usize = 160;

/// Of that, half.
const HALF: u64 = 5_000_000;

#[test]
fn what_else_is_asked_meanwhile_is_answered() {
    let mut client = ward(TOO_MANY);
    let long = derived(&mut client, "heavy.gtt", "order he|avy");
    let url = client.url("small.gtt");
    let document = json!({ "uri": url });
    let whole = json!({
        "start": { "line": 0, "character": 0 }, "end": { "line": 99, "character": 0 } });
    let own = json!({ "textDocument": document, "range": whole });
    for edited in [false, true, true] {
        if edited {
            client.replace("small.gtt", "0.05", "0.055");
            client.replace("small.gtt", "0.055", "0.05");
        }
        let place = client.place("small.gtt", "r|un");
        let hover = client.request("textDocument/hover", place.clone());
        assert!(hover.to_string().contains("0.05 mcg/kg/min"), "{hover}");
        let hints = client.request("textDocument/inlayHint", own.clone());
        assert!(hints.to_string().contains("mL/h"), "{hints}");
        let found = client.request(
            "textDocument/diagnostic",
            json!({ "textDocument": document }),
        );
        assert!(found["items"].is_array(), "{found}");
        let items = client.request("textDocument/completion", place);
        assert!(items.to_string().contains("run"), "{items}");
        let again = derived(&mut client, "small.gtt", "order sm|all");
        assert_eq!(client.answer(again).unwrap()["title"], "Small");
        let (longest, aside) = done(&mut client);
        assert!(longest <= SHORT, "{longest}");
        assert!(aside < HALF, "{aside}");
        assert!(!client.has_answered(long));
    }
    client.notify("$/cancelRequest", json!({ "id": long }));
    assert_eq!(client.answer(long).unwrap_err()["code"], -32800);
    // What was cancelled is stopped: the next that takes long has its turn.
    let next = derived(&mut client, "medium.gtt", "order me|dium");
    client.answer(next).unwrap();
    let (longest, aside) = done(&mut client);
    assert!(longest <= SHORT, "{longest}");
    assert!((SHORT..HALF).contains(&aside), "{aside}");
}

#[test]
fn an_edit_stops_what_leans_on_it() {
    let mut client = ward(TOO_MANY);
    for (method, path, old, new, stops) in [
        ("gutta/derived", "heavy.gtt", "0.11 mcg", "0.12 mcg", true),
        (
            "textDocument/hover",
            "drugs.gtt",
            "above 20",
            "above 21",
            true,
        ),
        ("gutta/derived", "small.gtt", "0.05", "0.06", false),
    ] {
        // All is checked, so that only the edit can make it otherwise.
        client.request("workspace/diagnostic", json!({ "previousResultIds": [] }));
        let place = client.place("heavy.gtt", "order he|avy");
        let long = client.send(method, place);
        done(&mut client);
        client.replace(path, old, new);
        if !stops {
            done(&mut client);
            assert!(!client.has_answered(long), "{method} {path}");
            client.notify("$/cancelRequest", json!({ "id": long }));
        }
        let code = if stops { -32801 } else { -32800 };
        let answer = client.answer(long);
        assert_eq!(answer.unwrap_err()["code"], code, "{method} {path}");
    }
    let (longest, aside) = done(&mut client);
    assert!(longest <= SHORT && aside < HALF, "{longest} {aside}");
}

#[test]
fn what_takes_long_is_answered_and_says_of_which_text() {
    let mut client = ward(20);
    client.replace("medium.gtt", "0.11 mcg", "0.12 mcg");
    let long = derived(&mut client, "medium.gtt", "order me|dium");
    let answer = client.answer(long).unwrap();
    assert_eq!(answer["title"], "medium");
    assert_eq!(answer["version"], 2);
    let (longest, aside) = done(&mut client);
    assert!(aside > SHORT, "it was done aside: {aside}");
    assert!(longest <= SHORT, "{longest}");
}
