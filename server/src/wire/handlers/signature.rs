//! `textDocument/signatureHelp`.

use gutta_notation::lines::Shape;
use gutta_notation::{Style, in_style};
use tower_lsp::lsp_types::{
    Documentation, ParameterInformation, ParameterLabel, SignatureHelp, SignatureHelpParams,
    SignatureInformation,
};

use crate::features::signature;
use crate::text::Encoding;
use crate::wire::abilities::Abilities;
use crate::wire::context::ServerContext;
use crate::wire::from_proto;
use crate::wire::to_proto;

pub(in crate::wire) fn answer(
    server: &ServerContext,
    params: &SignatureHelpParams,
) -> Option<SignatureHelp> {
    let state = &server.state;
    let (file, offset) = from_proto::place(state, &params.text_document_position_params)?;
    let site = state.site(file)?;
    let style = site.workspace.house.style;
    let found = signature::signature(site, offset)?;
    let abilities = &server.publisher.abilities;
    let count = |index: usize| u32::try_from(index).ok();
    let part = count(found.part);
    let signatures = found.shapes.iter().enumerate().map(|(index, shape)| {
        let part = part.filter(|_| index == found.active);
        information(found.keyword, shape, part, abilities, style)
    });
    Some(SignatureHelp {
        signatures: signatures.collect(),
        active_signature: count(found.active),
        active_parameter: part,
    })
}

/// A shape, with where in its label each part stands (its text, where the
/// client finds it by that). Labels are counted in UTF-16 whatever the documents
/// are counted in.
fn information(
    keyword: &str,
    shape: &Shape,
    active: Option<u32>,
    client: &Abilities,
    style: Style,
) -> SignatureInformation {
    let about = |text: &str| {
        let text = in_style(text, style).into_owned();
        let text = to_proto::markup(text, client.signatures);
        Some(Documentation::MarkupContent(text))
    };
    let mut label = keyword.to_owned();
    let mut parameters = Vec::new();
    for part in shape.parts {
        // A comma stands right behind what precedes it.
        if !part.text.starts_with(',') {
            label.push(' ');
        }
        let start = Encoding::Utf16.width(&label);
        label.push_str(part.text);
        parameters.push(ParameterInformation {
            label: if client.label_offsets {
                ParameterLabel::LabelOffsets([start, Encoding::Utf16.width(&label)])
            } else {
                ParameterLabel::Simple(part.text.to_owned())
            },
            documentation: about(part.about),
        });
    }
    SignatureInformation {
        label,
        documentation: about(shape.about),
        parameters: Some(parameters),
        active_parameter: active,
    }
}
