//! What prescribing information and published formulas state, as drugs and
//! orders in `outside/limits`: at the limit nothing is found, beyond it each
//! specimen's own finding.

use std::fs;
use std::path::Path;

use gutta_checks::{Options, Severity, check};
use gutta_notation::StanzaKind;
use gutta_protocol::{House, Workspace};

fn workspace() -> Workspace {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("outside/limits");
    let files = ["labels.gtt", "glucose-and-osmolarity.gtt"].map(|name| {
        let text = fs::read_to_string(folder.join(name)).expect("a text");
        (name.to_owned(), text)
    });
    Workspace::new(files.into(), House::default())
}

#[test]
fn at_the_limit_nothing_and_beyond_it_each_finding() {
    let workspace = workspace();
    let loud: Vec<_> = check(&workspace, None, &Options::default())
        .into_iter()
        .filter(|finding| finding.severity >= Severity::Warning)
        .map(|finding| {
            let stanza = finding.stanza.map(|id| workspace.stanza(id));
            let name = stanza.and_then(|stanza| stanza.name.as_ref());
            let name = name.map_or("", |name| name.value.as_str());
            format!("{name}: {} {}", finding.rule.name, finding.message)
        })
        .collect();
    assert!(loud.is_empty(), "{loud:#?}");
}

#[test]
fn every_limit_says_where_it_stands() {
    let workspace = workspace();
    let drugs = workspace.stanzas_of(StanzaKind::Drug);
    for id in drugs {
        let text = workspace.stanza_text(id);
        let origin = ["origin: seen", "origin: quoted"];
        assert!(origin.iter().any(|origin| text.contains(origin)), "{text}");
    }
}
