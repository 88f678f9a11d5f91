//! Routes as they are called.

/// Routes as they are written, each with those that it may be.
const ROUTES: &[(&[&str], &str)] = &[
    (
        &["central vein"],
        "central vein | central line | central venous | central venous line \
            | central venous catheter | central venous access | cvc | cvl | cvad | central | picc \
            | picc line | central access | via central line \
            | subclavian line | internal jugular",
    ),
    (
        &["peripheral vein"],
        "peripheral vein | peripheral | peripheral line | peripheral cannula | peripheral venous \
            | peripheral iv | cannula | pvc | peripheral access \
            | peripheral venous cannula",
    ),
    (
        &["central vein", "peripheral vein"],
        "iv | i.v. | i/v | intravenous | intravenously | vein | venous | iv infusion \
            | intravenous infusion",
    ),
    (&["intraosseous"], "intraosseous | io | i.o."),
    (
        &["subcutaneous"],
        "subcutaneous | subcutaneously | sc | s/c | s.c. | subcut | subcutaneous infusion",
    ),
    (&["epidural"], "epidural | epidurally | epidural catheter"),
    (&["intrathecal"], "intrathecal | spinal"),
    (
        &["arterial"],
        "arterial | intra-arterial | arterial line | art line | a-line",
    ),
    (
        &["enteral"],
        "enteral | ng | nasogastric | ng tube | peg | enteral tube",
    ),
    (
        &["umbilical vein"],
        "umbilical vein | uvc | umbilical | umbilical venous catheter | umbilical line",
    ),
    (
        &["nerve block"],
        "nerve block | nerve catheter | regional block | perineural",
    ),
    (&["wound"], "wound | wound catheter | wound infusion"),
];

/// The routes that a phrase may mean.
pub(super) fn routes(phrase: &str) -> &'static [&'static str] {
    let phrase = phrase.trim().to_ascii_lowercase();
    let phrase = ["via ", "by ", "through ", "the ", "a ", "an "]
        .iter()
        .fold(phrase.as_str(), |phrase, word| {
            phrase.strip_prefix(word).unwrap_or(phrase)
        });
    let phrase = phrase.trim_end_matches(" only").trim_end_matches('.');
    let is_so = |known: &str| known == phrase || known.strip_suffix('.') == Some(phrase);
    let mut all = ROUTES.iter();
    let found = all.find(|(_, phrases)| phrases.split(" | ").any(is_so));
    found.map_or(&[], |(routes, _)| routes)
}
