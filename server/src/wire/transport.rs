//! The streams: what comes in is handed to the service in its order, what
//! goes out is written as it comes.

use std::future::poll_fn;
use std::pin::Pin;
use std::sync::Arc;
use std::task::Poll;
use std::time::Duration;

use futures_util::{SinkExt, StreamExt};
use serde::Serialize;
use serde_json::Value;
use tokio::io::{AsyncRead, AsyncWrite, AsyncWriteExt};
use tokio::sync::{Semaphore, mpsc};
use tower::Service;
use tower_lsp::jsonrpc::{Request, Response};
use tower_lsp::{ClientSocket, ExitedError};

use super::changes::{self, Steps};
use super::frames::{Came, Fault, Frames};
use super::messages::{self, INVALID_REQUEST, Message, PARSE_ERROR};

/// So many requests may be under way at once: more than anyone asks who reads
/// the answers. One that waits must not keep a `$/cancelRequest` behind it from
/// being read.
const CONCURRENCY: u32 = 1 << 16;

/// So many messages may wait to be written.
const QUEUE: usize = 1024;

/// So long, once the stream has ended, what was asked may still be answered.
const LEAVE: Duration = Duration::from_secs(10);

/// How the session ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ended {
    /// As the client asked, or, before it did, between two messages.
    Closed,
    /// It ended otherwise: why, in words.
    Broken(String),
}

type Answer = Pin<Box<dyn Future<Output = Result<Option<Response>, ExitedError>> + Send>>;

/// Serves until either stream ends. `tell` is told what was passed over.
pub(super) async fn serve<S>(
    input: impl AsyncRead + Unpin,
    output: impl AsyncWrite + Unpin + Send + 'static,
    mut service: S,
    socket: ClientSocket,
    tell: impl Fn(String),
) -> Ended
where
    S: Service<Request, Response = Option<Response>, Error = ExitedError, Future = Answer>,
{
    let (mut requests, mut responses) = socket.split();
    let (out, outbox) = mpsc::channel(QUEUE);
    let mut writing = tokio::spawn(write(output, outbox));
    let asking = out.clone();
    let asking = tokio::spawn(async move {
        while let Some(request) = requests.next().await {
            send(&asking, &request).await;
        }
    });
    let free = Arc::new(Semaphore::new(CONCURRENCY as usize));
    let mut frames = Frames::new(input);
    let mut steps = Steps::default();
    let reading = async {
        loop {
            let value = match frames.next().await {
                Came::Message(value) => value,
                Came::Fault(fault) => {
                    if !matches!(fault, Fault::Mended(_)) {
                        steps.doubt();
                    }
                    refuse(&out, &tell, &fault).await;
                    continue;
                }
                Came::End => return Ended::Closed,
                Came::Cut(why) => return Ended::Broken(format!("the client's stream: {why}")),
            };
            for message in messages::messages(value) {
                match message {
                    Message::Request(request) => {
                        if poll_fn(|context| service.poll_ready(context))
                            .await
                            .is_err()
                        {
                            return Ended::Closed;
                        }
                        if let Some(id) = request.id().filter(|_| changes::is_step(&request)) {
                            let why = "A notification has no id; it is taken as one.";
                            let id = serde_json::to_value(id).unwrap_or_default();
                            send(&out, &messages::error(&id, INVALID_REQUEST, why)).await;
                        }
                        let (request, said) = steps.take(request);
                        if let Some(said) = said {
                            tell(said.clone());
                            send(&out, &changes::shown(said)).await;
                        }
                        let begins = request.method() == "initialize";
                        let due = service.call(request);
                        if begins {
                            // A client need not wait for the answer before it goes on.
                            reply(due.await, &out).await;
                        } else {
                            answer(due, &free, &out).await;
                        }
                    }
                    Message::Response(response) => {
                        if responses.send(response).await.is_err() {
                            return Ended::Closed;
                        }
                    }
                    Message::Refused { id, why } => {
                        steps.doubt();
                        tell(format!("gutta: {why}"));
                        send(&out, &messages::error(&id, INVALID_REQUEST, &why)).await;
                    }
                    Message::Passed(why) => tell(format!("gutta: {why}")),
                }
            }
        }
    };
    let ended = tokio::select! {
        ended = reading => ended,
        _ = &mut writing => {
            return Ended::Broken("the client no longer reads what it is sent".to_owned());
        }
    };
    let _ = tokio::time::timeout(LEAVE, async {
        let _ = free.acquire_many(CONCURRENCY).await;
        asking.abort();
        let _ = asking.await;
        drop(out);
        let _ = writing.await;
    })
    .await;
    ended
}

/// Begins with the answer at once, so that changes and questions are in line
/// in the order in which they came, and goes on with it beside the reading.
async fn answer(mut answer: Answer, free: &Arc<Semaphore>, out: &mpsc::Sender<Vec<u8>>) {
    let begun = poll_fn(|context| Poll::Ready(answer.as_mut().poll(context))).await;
    if let Poll::Ready(done) = begun {
        return reply(done, out).await;
    }
    let Ok(permit) = Arc::clone(free).acquire_owned().await else {
        return;
    };
    let out = out.clone();
    tokio::spawn(async move {
        reply(answer.await, &out).await;
        drop(permit);
    });
}

async fn reply(done: Result<Option<Response>, ExitedError>, out: &mpsc::Sender<Vec<u8>>) {
    if let Ok(Some(response)) = done {
        send(out, &response).await;
    }
}

async fn refuse(out: &mpsc::Sender<Vec<u8>>, tell: &impl Fn(String), fault: &Fault) {
    let (code, why) = match fault {
        Fault::Mended(why) => return tell(format!("gutta: {why}")),
        Fault::Unreadable(why) => (PARSE_ERROR, why),
        Fault::Misframed(why) => (INVALID_REQUEST, why),
    };
    tell(format!("gutta: {why}"));
    send(out, &messages::error(&Value::Null, code, why)).await;
}

async fn send(out: &mpsc::Sender<Vec<u8>>, message: &(impl Serialize + Sync)) {
    if let Ok(body) = serde_json::to_vec(message) {
        // Where nobody reads any more, the session ends.
        let _ = out.send(body).await;
    }
}

/// Writes what is to be said, until there is no more or nobody reads it.
async fn write(mut output: impl AsyncWrite + Unpin, mut outbox: mpsc::Receiver<Vec<u8>>) {
    while let Some(body) = outbox.recv().await {
        let head = format!("Content-Length: {}\r\n\r\n", body.len());
        let written = async {
            output.write_all(head.as_bytes()).await?;
            output.write_all(&body).await?;
            output.flush().await
        };
        if written.await.is_err() {
            return;
        }
    }
}
