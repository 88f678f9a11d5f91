//! How the protocol's questions reach the worker, and what is answered where it
//! has no answer.

use std::sync::Arc;

use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types as lsp;

use super::backend::Backend;
use super::handlers::diagnostic;
use super::questions::Failed;
use super::subject::Subject;
use super::to_proto;
use super::worker::Desk;

impl Backend {
    /// Asks of a document, or of all there is.
    pub(super) async fn ask<T: Send + 'static>(
        &self,
        document: impl Into<Option<lsp::Url>>,
        question: impl Fn(&Desk) -> T + Send + 'static,
    ) -> Result<T> {
        let asked = self.worker.ask(document.into(), question);
        asked.await.map_err(failed)
    }

    /// Asks of the document that the parameters name.
    pub(super) async fn about<P: Subject, T: Send + 'static>(
        &self,
        params: P,
        answer: impl Fn(&Desk, &P) -> T + Send + 'static,
    ) -> Result<T> {
        self.ask(params.document(), move |desk| answer(desk, &params))
            .await
    }

    /// Asks of a document once it is checked: in slices, so that other questions
    /// come through. Where it is edited meanwhile, the later text is told of, or
    /// none if what is asked holds `of_one_text`.
    pub(super) async fn when_checked<P: Subject + Sync, T: Send + 'static>(
        &self,
        params: P,
        of_one_text: bool,
        answer: impl Fn(&Desk, &P) -> T + Clone + Send + 'static,
    ) -> Result<T> {
        let params = Arc::new(params);
        let mut asked_of = None;
        loop {
            let mut slices = self.worker.slices();
            let (own, of) = (answer.clone(), Arc::clone(&params));
            let document = params.document();
            let answered = self.ask(document.clone(), move |desk| {
                let (version, checked) = diagnostic::standing(desk, of.document().as_ref());
                (version, checked.then(|| own(desk, &of)))
            });
            let (version, answer) = answered.await?;
            if of_one_text && *asked_of.get_or_insert(version) != version {
                return Err(failed(Failed::Changed));
            }
            if let Some(answer) = answer {
                return Ok(answer);
            }
            self.worker
                .tell(move |desk| diagnostic::hasten(desk, document.as_ref()));
            // The worker ends with the process alone.
            let _ = slices.changed().await;
        }
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
            message: "gutta failed to answer this; its own fault, and no answer is given".into(),
            data: None,
        },
        Failed::Changed => Error {
            code: ErrorCode::ServerError(CONTENT_MODIFIED),
            message: "The text is another by now: ask again.".into(),
            data: None,
        },
        Failed::TooLong => refused(
            "This would take too long to answer: divide what is asked about, an order of very many phases or runs, say.".to_owned(),
        ),
    }
}
