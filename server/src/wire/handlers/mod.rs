//! One file a request: decode, ask the feature, encode.

pub(super) mod diagnostic;
pub(super) mod lifecycle;
