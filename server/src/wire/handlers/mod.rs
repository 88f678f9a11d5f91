//! One file a request: decode, ask the feature, encode.

pub(super) mod calls;
mod capabilities;
pub(super) mod code_action;
pub(super) mod completion;
pub(super) mod diagnostic;
pub(super) mod files;
pub(super) mod hints;
pub(super) mod hover;
pub(super) mod layout;
pub(super) mod lenses;
pub(super) mod lifecycle;
pub(super) mod navigation;
pub(super) mod overview;
pub(super) mod rename;
pub(super) mod shape;
pub(super) mod signature;
pub(super) mod symbols;
pub(super) mod tokens;
