//! How the process ends.

use std::future::Future;
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::task::{Context, Poll};
use std::time::Duration;

use tower::Service;
use tower_lsp::jsonrpc::{Error, Request, Response};

use super::greeting;

/// So long after `exit` what is under way may still be written.
const GRACE: Duration = Duration::from_millis(100);

/// So often the client's process is looked for.
const LOOK: Duration = Duration::from_secs(1);

/// The service, with an `exit` that ends the process even while standard
/// input stays open.
#[derive(Debug)]
pub(super) struct Ending<S> {
    inner: S,
    /// Whether `shutdown` was asked for, as it should be first.
    shut_down: Arc<AtomicBool>,
}

impl<S> Ending<S> {
    /// `shut_down` says, when the session ends, whether that was asked for.
    pub(super) const fn new(inner: S, shut_down: Arc<AtomicBool>) -> Self {
        Self { inner, shut_down }
    }
}

impl<S> Service<Request> for Ending<S>
where
    S: Service<Request, Response = Option<Response>>,
    S::Future: Send + 'static,
{
    type Response = S::Response;
    type Error = S::Error;
    type Future = Pin<Box<dyn Future<Output = Result<Self::Response, Self::Error>> + Send>>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), Self::Error>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: Request) -> Self::Future {
        match request.method() {
            "shutdown" => self.shut_down.store(true, Ordering::SeqCst),
            "exit" => {
                let code = i32::from(!self.shut_down.load(Ordering::SeqCst));
                std::thread::spawn(move || {
                    std::thread::sleep(GRACE);
                    std::process::exit(code);
                });
            }
            // The protocol's library passes over every `$/`, answer or no.
            method if method.starts_with("$/") => {
                if let Some(id) = request.id().cloned() {
                    let answer = Response::from_error(id, Error::method_not_found());
                    return Box::pin(async move { Ok(Some(answer)) });
                }
            }
            _ => {}
        }
        Box::pin(self.inner.call(plain(request)))
    }
}

/// The request as the protocol's library takes it. Some clients write `null`
/// where there is nothing to say.
fn plain(request: Request) -> Request {
    let (method, id, params) = request.into_parts();
    let params = if method == "initialize" {
        params.map(greeting::wrapped)
    } else {
        params
    };
    let mut built = Request::build(method);
    if let Some(id) = id {
        built = built.id(id);
    }
    if let Some(params) = params.filter(|params| !params.is_null()) {
        built = built.params(params);
    }
    built.finish()
}

/// Ends this process soon after the client's has ended.
pub(super) fn end_with(process: u32) {
    std::thread::spawn(move || {
        loop {
            std::thread::sleep(LOOK);
            if !is_alive(process) {
                std::process::exit(1);
            }
        }
    });
}

#[cfg(unix)]
fn is_alive(process: u32) -> bool {
    let Some(id) = i32::try_from(process)
        .ok()
        .and_then(rustix::process::Pid::from_raw)
    else {
        return true;
    };
    // One that may not be signalled is there all the same.
    !matches!(
        rustix::process::test_kill_process(id),
        Err(rustix::io::Errno::SRCH)
    )
}

/// Where it cannot be told, the end of the stream tells.
#[cfg(not(unix))]
fn is_alive(_process: u32) -> bool {
    true
}
