//! One repository in which everything that others write is hostile, and
//! everything asked at every place: nothing hidden is shown, and Markdown
//! holds no more than words.

use pulldown_cmark::{Event, Options, Parser, Tag};
use serde_json::{Value, json};

use crate::support::{Client, Setup};
use crate::typing::questions;

const HIDDEN: &str = "\u{202e}\u{2066}\u{1b}[31m\u{8}\u{b}\u{9b}\u{2028}\u{e0041}\u{200b}\u{feff}";
const LOUD: &str =
    "@everyone a@b.example http://t.example/ ![i](j) [l](m) <b>x</b> `a` ``` ~~~ | #12";
/// The file that the orders lean on.
const NAME: &str = "d\u{202e}r\u{e0041}`u`g[x](y)<b>@everyone.gtt";

fn reference() -> String {
    "\
drug noradrenaline \"HIDDEN LOUD\" # HIDDEN ```
  dosed in   mcg/kg/min # ``` HIDDEN
  supplied   4 mg in 4 mL
  contains   sodium 0.1 mmol/mL # ```` HIDDEN
  source     \"HIDDEN LOUD\"
  note       \"``` HIDDEN LOUD\"
  usual dose 0.01 to 0.5 mcg/kg/min
area ward \"HIDDEN LOUD\"
  patient    weight 40 to 120 kg
"
    .replace("HIDDEN", HIDDEN)
    .replace("LOUD", LOUD)
}

fn orders() -> String {
    "\
use \"NAME\"
# HIDDEN LOUD
order right \"LOUD ```\"
  drug       noradrenaline
  area       ward
  route      central vein
  mix        4mg made up to 50 mL with saline
  phase      first \"LOUD\"
    run      all at 0.05 mcg/kg/min
  then       stop
  goal       \"HIDDEN\"
  expect     flow 2 mL/h at 70 kg
  waive      volume.left-over because \"HIDDEN LOUD\"

order odd \"HIDDEN LOUD\"
  drug       noraHIDDEN
  drug       `x`
  area       ward
  rnHIDDEN LOUD
set thHIDDENings \"HIDDEN LOUD\"
  include    right, HIDDEN
set rounds \"HIDDEN LOUD\"
  include    right, odd
orderr HIDDEN LOUD
"
    .replace("NAME", NAME)
    .replace("HIDDEN", HIDDEN)
    .replace("LOUD", LOUD)
}

fn wild(c: char) -> bool {
    (c.is_control() && !matches!(c, '\n' | '\t'))
        || matches!(c, '\u{ad}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}')
        || matches!(c, '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{e0000}'..='\u{e007f}')
}

/// What goes into a document, or back to the server, and is never shown.
const EXACT: [&str; 8] = [
    "newText",
    "uri",
    "targetUri",
    "target",
    "href",
    "data",
    "arguments",
    "placeholder",
];

/// Looks through all that an answer shows; how many texts there were.
fn look(method: &str, key: &str, value: &Value) -> usize {
    match value {
        Value::String(text) => {
            let at = text.find(wild);
            assert_eq!(
                at,
                None,
                "{method}: {key}: {:?}",
                text.escape_debug().to_string()
            );
            1
        }
        Value::Array(all) => all.iter().map(|value| look(method, key, value)).sum(),
        Value::Object(fields) => {
            if fields.get("kind").is_some_and(|kind| kind == "markdown") {
                words_alone(method, fields["value"].as_str().unwrap());
            }
            let shown = fields
                .iter()
                .filter(|(key, _)| !EXACT.contains(&key.as_str()));
            // The edits of a whole workspace go by the names of files.
            let shown = shown.filter(|(key, _)| *key != "changes");
            shown.map(|(key, value)| look(method, key, value)).sum()
        }
        _ => 0,
    }
}

fn words_alone(method: &str, markdown: &str) {
    let mut in_code = false;
    for event in Parser::new_ext(markdown, Options::ENABLE_TABLES | Options::ENABLE_GFM) {
        let more = match &event {
            Event::Html(_) | Event::InlineHtml(_) => true,
            Event::Start(Tag::Link { .. } | Tag::Image { .. }) => true,
            Event::Start(Tag::CodeBlock(_)) => {
                in_code = true;
                false
            }
            Event::End(pulldown_cmark::TagEnd::CodeBlock) => {
                in_code = false;
                false
            }
            Event::Text(text) => !in_code && (text.contains('@') || text.contains("://")),
            _ => false,
        };
        assert!(!more, "{method}: {event:?} in {markdown}");
    }
}

fn ask(client: &mut Client, method: &str, params: Value) -> Option<Value> {
    match client.try_request(method, params) {
        Ok(answer) => {
            look(method, "", &answer);
            Some(answer)
        }
        Err(error) => {
            look(method, "", &error);
            assert_ne!(error["code"], -32603, "{method}: {error}");
            None
        }
    }
}

fn entries(answer: Option<Value>) -> Vec<Value> {
    answer
        .and_then(|answer| answer.as_array().cloned())
        .unwrap_or_default()
}

/// Everything at some places of an open file, and whatever more an answer
/// promises.
fn ask_everything(client: &mut Client, path: &str) {
    let text = client.text(path).to_owned();
    let places: Vec<_> = text.char_indices().map(|(at, _)| at).collect();
    for at in places.into_iter().step_by(9) {
        let position = client.open[path].0.position(at);
        for (method, params) in questions(client, path, &position) {
            let answer = ask(client, method, params);
            let more = match method {
                "textDocument/completion" => "completionItem/resolve",
                "textDocument/codeLens" if at < 9 => "codeLens/resolve",
                "textDocument/inlayHint" => "inlayHint/resolve",
                "textDocument/prepareCallHierarchy" => "callHierarchy/incomingCalls",
                _ => continue,
            };
            for entry in entries(answer).into_iter().take(12) {
                if method == "textDocument/prepareCallHierarchy" {
                    let item = json!({ "item": entry });
                    ask(client, "callHierarchy/outgoingCalls", item.clone());
                    ask(client, more, item);
                } else {
                    ask(client, more, entry);
                }
            }
        }
        let place = json!({ "textDocument": { "uri": client.url(path) }, "position": position });
        ask(client, "gutta/derived", place);
    }
}

#[cfg(unix)]
#[test]
fn nothing_harmful_is_shown_in_any_answer() {
    let (orders, reference) = (orders(), reference());
    let files = [
        (
            "gutta.toml",
            "# \u{202e}\nareas = \"\u{202e}`x`\"\n[\"\u{202e}\"]\n",
        ),
        (NAME, reference.as_str()),
        ("odd.gtt", orders.as_str()),
    ];
    for lacks in [false, true] {
        let setup = Setup::new(files);
        let setup = match lacks {
            false => setup,
            true => setup.lacking("/textDocument/hover", "contentFormat"),
        };
        let mut client = setup.start();
        client.open("odd.gtt");
        let found = client.findings("odd.gtt");
        assert!(found.len() > 8, "{found:?}");
        let odd = found
            .iter()
            .filter(|found| found["code"] == "text.odd-character");
        assert!(odd.count() > 5, "{found:?}");
        if lacks {
            let place = client.place("odd.gtt", "drug       nora|drenaline");
            ask(&mut client, "textDocument/hover", place);
        } else {
            let place = client.place("odd.gtt", "drug       nora|drenaline");
            let hover = ask(&mut client, "textDocument/hover", place).unwrap();
            let text = hover["contents"]["value"].as_str().unwrap();
            assert!(
                text.contains("<U+202E>") && text.contains("````gtt"),
                "{text}"
            );
            ask_everything(&mut client, "odd.gtt");
        }
        ask(&mut client, "workspace/symbol", json!({ "query": "" }));
        for (url, pushed) in client.pushed.clone() {
            assert!(look(&url, "", &pushed) > 0);
        }
        for heard in client.heard.clone() {
            look("heard", "", &heard["params"]);
        }
        client.finish();
    }
}
