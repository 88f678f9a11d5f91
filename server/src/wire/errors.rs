//! What is answered where there is no answer.

use tower_lsp::jsonrpc::{Error, ErrorCode};

use super::questions::Failed;
use super::to_proto;

/// What cannot be done, for a reason that the author can do something about.
pub(super) fn refused(reason: String) -> Error {
    /// The protocol's `RequestFailed`.
    const REQUEST_FAILED: i64 = -32803;
    Error {
        code: ErrorCode::ServerError(REQUEST_FAILED),
        message: to_proto::seen(&reason).into(),
        data: None,
    }
}

/// The protocol's `ContentModified`.
const CONTENT_MODIFIED: i64 = -32801;

pub(super) fn failed(why: Failed) -> Error {
    match why {
        Failed::Fault => Error {
            code: ErrorCode::InternalError,
            message: "a fault in gutta itself: no answer can be given".into(),
            data: None,
        },
        Failed::Changed => Error {
            code: ErrorCode::ServerError(CONTENT_MODIFIED),
            message: "The text has changed since: ask again.".into(),
            data: None,
        },
        Failed::TooLong => refused(
            "This would take too long to answer: divide it, for example an order of very many phases or runs.".to_owned(),
        ),
    }
}
