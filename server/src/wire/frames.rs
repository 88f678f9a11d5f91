//! What comes in, frame by frame: what is no message is told and passed over,
//! for the protocol's library would take it for the end of the stream.

use super::halves;
use serde::Deserialize;
use tokio::io::{AsyncBufRead, AsyncBufReadExt, AsyncReadExt, AsyncWrite, AsyncWriteExt};
use tower_lsp::jsonrpc::{Request, Response};

/// A longer message is none: no text that is read is so long.
const MOST_BYTES: usize = 512 * 1024 * 1024;

/// A longer line is no header.
const MOST_HEADER: u64 = 4096;

#[derive(Deserialize)]
#[serde(untagged)]
#[allow(dead_code, reason = "it is only seen whether they can be read")]
enum Message {
    Response(Response),
    Request(Request),
}

/// Hands on every message until the stream ends; `tell` is told what was
/// passed over.
pub(super) async fn pass_on(
    mut from: impl AsyncBufRead + Unpin,
    mut to: impl AsyncWrite + Unpin,
    tell: impl Fn(String),
) {
    while let Ok(Some(body)) = next(&mut from, &tell).await {
        let body = match halves::mended(&body) {
            Some(mended) => {
                tell("gutta: half a character came, and is read as U+FFFD".to_owned());
                mended
            }
            None => body,
        };
        if let Err(error) = serde_json::from_slice::<Message>(&body) {
            tell(format!("gutta: a message that cannot be read: {error}"));
            continue;
        }
        let head = format!("Content-Length: {}\r\n\r\n", body.len());
        let sent = async {
            to.write_all(head.as_bytes()).await?;
            to.write_all(&body).await?;
            to.flush().await
        };
        if sent.await.is_err() {
            return;
        }
    }
}

/// The next frame's body; nothing at the stream's end.
async fn next(
    from: &mut (impl AsyncBufRead + Unpin),
    tell: &impl Fn(String),
) -> std::io::Result<Option<Vec<u8>>> {
    let mut length = None;
    loop {
        let mut line = Vec::new();
        let read = from.take(MOST_HEADER).read_until(b'\n', &mut line).await?;
        if read == 0 {
            return Ok(None);
        }
        let line = String::from_utf8_lossy(&line);
        let line = line.trim();
        if line.is_empty() {
            match length {
                Some(length) if length <= MOST_BYTES => {
                    let mut body = vec![0; length];
                    from.read_exact(&mut body).await?;
                    return Ok(Some(body));
                }
                Some(length) => {
                    tell(format!("gutta: a message of {length} bytes is not taken"));
                    return Ok(None);
                }
                // What has no length may be the rest of something else.
                None => continue,
            }
        }
        if let Some((name, value)) = line.split_once(':')
            && name.eq_ignore_ascii_case("content-length")
        {
            length = value.trim().parse().ok();
        }
    }
}
