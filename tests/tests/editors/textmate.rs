//! The grammar that VS Code colours by: regular expressions of Oniguruma.

use serde_json::{Value, json};

use super::words::Words;

/// No letter, digit or hyphen before: the place may begin a word.
const BEGINS: &str = r"(?<![\p{L}\p{M}\p{N}-])";
/// None after.
const ENDS: &str = r"(?![\p{L}\p{M}\p{N}-])";
const NUMBER: &str = r"[0-9]+(?:[.,][0-9]+)*";

/// `gutta.tmLanguage.json`.
pub(crate) fn drawn(words: &Words) -> String {
    let mut text = format!("{:#}", grammar(words));
    text.push('\n');
    text
}

fn grammar(words: &Words) -> Value {
    let unit = format!("(?:{})", any(&words.units));
    let name = r##"[^\s"#,:]+"##;
    json!({
        "information_for_contributors": [
            "Drawn from the notation's own tables by the test `editors`: not to be edited by hand."
        ],
        "name": "gutta",
        "scopeName": "source.gutta",
        "fileTypes": ["gtt"],
        "patterns": [
            { "include": "#comment" },
            { "include": "#text" },
            { "include": "#stanza" },
            { "include": "#part" },
            { "include": "#line" },
            { "include": "#date" },
            { "include": "#rule" },
            { "include": "#quantity" },
            { "include": "#route" },
            { "include": "#measure" },
            { "include": "#phrase" }
        ],
        "repository": {
            "comment": { "name": "comment.line.number-sign.gutta", "match": "#.*$" },
            "text": { "name": "string.quoted.double.gutta", "match": "\"[^\"]*(?:\"|$)" },
            "stanza": {
                "match": format!(r"^({})(?=\s|$)(?:[ \t]+({name}))?", any(&words.stanzas)),
                "captures": {
                    "1": { "name": "keyword.control.stanza.gutta" },
                    "2": { "name": "entity.name.section.gutta" }
                }
            },
            "part": {
                "match": format!(r"^[ \t]+({})(?=\s|$)(?:[ \t]+({name}))?", any(&words.parts)),
                "captures": {
                    "1": { "name": "keyword.control.part.gutta" },
                    "2": { "name": "entity.name.section.gutta" }
                }
            },
            "line": {
                "match": format!(r"^[ \t]+({})(?=\s|$)", any(&words.lines)),
                "captures": { "1": { "name": "keyword.other.line.gutta" } }
            },
            "date": {
                "name": "constant.other.date.gutta",
                "match": format!("{BEGINS}[0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}}{ENDS}")
            },
            "rule": {
                "name": "variable.other.rule.gutta",
                "match": format!(r"{BEGINS}[a-z]+(?:-[a-z]+)*\.[a-z]+(?:-[a-z]+)*{ENDS}")
            },
            "quantity": {
                "match": format!(
                    r"{BEGINS}({NUMBER}){ENDS}(?:[ \t]*(?:per[ \t]+)?({unit}(?:/{unit}){{0,2}}){ENDS})?"
                ),
                "captures": {
                    "1": { "name": "constant.numeric.gutta" },
                    "2": { "name": "keyword.other.unit.gutta" }
                }
            },
            "route": word("constant.language.route.gutta", &words.routes),
            "measure": word("support.type.measure.gutta", &words.measures),
            "phrase": word("keyword.operator.word.gutta", &words.phrases)
        }
    })
}

fn word(scope: &str, words: &[String]) -> Value {
    json!({ "name": scope, "match": format!("{BEGINS}(?:{}){ENDS}", any(words)) })
}

/// Any of the words, with any blanks between those of a phrase.
fn any(words: &[String]) -> String {
    let all: Vec<_> = words
        .iter()
        .map(|word| word.replace(' ', r"[ \t]+"))
        .collect();
    all.join("|")
}
