//! How the protocol's questions reach the worker, and what is answered where it
//! has no answer.

use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types as lsp;

use super::backend::Backend;
use super::questions::{Failed, Until};
use super::subject::Subject;
use super::to_proto;
use super::worker::Desk;

impl Backend {
    /// Asks of a document, or of all there is.
    pub(super) async fn ask<T: Send + 'static>(
        &self,
        document: Option<lsp::Url>,
        until: Until,
        question: impl Fn(&Desk) -> T + Send + 'static,
    ) -> Result<T> {
        let asked = self.worker.ask(document, until, question);
        asked.await.map_err(failed)
    }

    /// Asks of the document that the parameters name.
    pub(super) async fn about<P: Subject, T: Send + 'static>(
        &self,
        params: P,
        answer: impl Fn(&Desk, &P) -> T + Send + 'static,
    ) -> Result<T> {
        self.about_when(Until::Now, params, answer).await
    }

    /// The same, once something is done.
    pub(super) async fn about_when<P: Subject, T: Send + 'static>(
        &self,
        until: Until,
        params: P,
        answer: impl Fn(&Desk, &P) -> T + Send + 'static,
    ) -> Result<T> {
        let document = params.document();
        self.ask(document, until, move |desk| answer(desk, &params))
            .await
    }
}

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
