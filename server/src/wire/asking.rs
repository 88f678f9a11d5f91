//! How the protocol's questions reach the worker.

use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types as lsp;

use super::backend::Backend;
use super::context::ServerContext;
use super::errors::failed;
use super::questions::Until;
use super::subject::Subject;

impl Backend {
    /// Asks of a document, or of all there is.
    pub(super) async fn ask<T: Send + 'static>(
        &self,
        document: Option<lsp::Url>,
        until: Until,
        question: impl Fn(&ServerContext) -> T + Send + 'static,
    ) -> Result<T> {
        let asked = self.worker.ask(document, until, question);
        asked.await.map_err(failed)
    }

    /// Asks of the document that the parameters name.
    pub(super) async fn about<P: Subject, T: Send + 'static>(
        &self,
        params: P,
        answer: impl Fn(&ServerContext, &P) -> T + Send + 'static,
    ) -> Result<T> {
        self.about_when(Until::Now, params, answer).await
    }

    /// The same, once something is done.
    pub(super) async fn about_when<P: Subject, T: Send + 'static>(
        &self,
        until: Until,
        params: P,
        answer: impl Fn(&ServerContext, &P) -> T + Send + 'static,
    ) -> Result<T> {
        let document = params.document();
        self.ask(document, until, move |server| answer(server, &params))
            .await
    }
}
