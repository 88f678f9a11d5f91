//! What comes in, frame by frame. What is no message is told and passed over,
//! and the next one is found again, whatever lengths the client writes.

use std::collections::VecDeque;
use std::time::Duration;

use serde_json::Value;
use tokio::io::{AsyncRead, AsyncReadExt};

use super::halves;

/// A longer message is none: no text that is read is so long.
const MOST_BYTES: usize = 512 * 1024 * 1024;

/// A longer line is no header.
const MOST_HEADER: usize = 4096;

/// So much of what is no header is kept, since one may begin in it.
const TAIL: usize = 256;

/// So much is read at once.
const CHUNK: usize = 64 * 1024;

/// So long the rest of a message may take before it is looked whether all of
/// it is there.
const STALL: Duration = Duration::from_secs(2);

const LENGTH: &str = "content-length:";

/// Something that came.
#[derive(Debug)]
pub(super) enum Came {
    Message(Value),
    /// What was no message, or was none as it should be; reading goes on.
    Fault(Fault),
    /// The stream ended between two messages.
    End,
    /// The stream ended within a message, or could not be read: why.
    Cut(String),
}

/// Why something is no message.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Fault {
    /// Its text is no JSON.
    Unreadable(String),
    /// What frames it is not as it should be.
    Misframed(String),
    /// Something in it was replaced, and it was taken.
    Mended(String),
}

/// The frames of a stream.
#[derive(Debug)]
pub(super) struct Frames<R> {
    from: R,
    held: Vec<u8>,
    /// Up to where what is held has been taken.
    at: usize,
    /// The message whose body is waited for.
    awaited: Option<Awaited>,
    /// What came so far before a body.
    head: Head,
    /// Found and not yet handed on.
    due: VecDeque<Came>,
    /// Whether something was lost of which has been told: what follows it up
    /// to the next header is not told again.
    lost: bool,
    ended: bool,
}

#[derive(Clone, Copy, Debug)]
struct Awaited {
    length: usize,
    /// Whether it is read, and not only passed over.
    taken: bool,
    /// Whether it was told that it is waited for.
    told: bool,
}

/// The lines before a message's body, as far as they are read.
#[derive(Debug, Default)]
struct Head {
    any: bool,
    length: Option<usize>,
    /// A length that is none, or two that differ.
    wrong: bool,
    /// Another encoding than UTF-8.
    foreign: bool,
}

impl<R: AsyncRead + Unpin> Frames<R> {
    pub(super) const fn new(from: R) -> Self {
        Self {
            from,
            held: Vec::new(),
            at: 0,
            awaited: None,
            head: Head {
                any: false,
                length: None,
                wrong: false,
                foreign: false,
            },
            due: VecDeque::new(),
            lost: false,
            ended: false,
        }
    }

    /// What comes next.
    pub(super) async fn next(&mut self) -> Came {
        loop {
            if let Some(came) = self.due.pop_front() {
                return came;
            }
            let read = match self.awaited {
                Some(awaited) => self.body(awaited).await,
                None => self.head().await,
            };
            if let Err(came) = read {
                self.due.push_back(came);
            }
        }
    }

    /// Reads the lines before a body, up to where there is something to tell.
    async fn head(&mut self) -> Result<(), Came> {
        while self.due.is_empty() {
            let Some(line) = self.line().await? else {
                continue;
            };
            let line = String::from_utf8_lossy(&line);
            let line = line.trim();
            if !line.is_empty() {
                self.head.any = true;
                self.header(line);
                continue;
            }
            let head = std::mem::take(&mut self.head);
            if !head.any {
                continue;
            }
            match head.length.filter(|_| !head.wrong) {
                Some(length) => {
                    self.lost = false;
                    self.awaited = Some(Awaited {
                        length,
                        taken: !head.foreign,
                        told: false,
                    });
                }
                None => self.lose("A message came without a usable Content-Length."),
            }
            return Ok(());
        }
        Ok(())
    }

    /// Takes in one line before a body.
    fn header(&mut self, line: &str) {
        let lower = line.to_ascii_lowercase();
        // Where a length was too short, the next header stands right behind.
        let found = lower.rfind(LENGTH).map(|at| (at, at + LENGTH.len()));
        if let Some((at, behind)) = found {
            let number = line.get(behind..).unwrap_or_default().trim();
            let is_number = !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit());
            if at > 0 && is_number {
                self.lose("Something came before a Content-Length that is no message.");
            }
            if at == 0 || is_number {
                return self.length(number);
            }
        }
        match lower.split_once(':') {
            Some(("content-type", value)) => {
                let mut parts = value.split(';').map(str::trim);
                let charset = parts.find_map(|part| part.strip_prefix("charset="));
                let charset = charset.map(|name| name.trim_matches('"'));
                if !matches!(charset, None | Some("utf-8" | "utf8")) {
                    self.head.foreign = true;
                    self.lost = false;
                    self.lose("A message came in another encoding than UTF-8, and is not read.");
                }
            }
            Some((name, _)) if is_name(name) => {}
            _ => self.lose("Something came where a header belongs that is none."),
        }
    }

    fn length(&mut self, number: &str) {
        let refused = match number.parse() {
            Ok(length) if length > MOST_BYTES => {
                Some(format!("A message of {length} bytes is too long."))
            }
            Ok(length) if self.head.length.is_some_and(|held| held != length) => {
                Some("A message has two Content-Lengths that differ.".to_owned())
            }
            Ok(length) => {
                self.head.length = Some(length);
                None
            }
            Err(_) => {
                let shown: String = number.chars().take(40).collect();
                Some(format!("The Content-Length {shown:?} cannot be used."))
            }
        };
        if let Some(why) = refused {
            self.head.wrong = true;
            self.lost = false;
            self.lose(&why);
        }
    }

    /// Tells that something is lost, once until the next whole header.
    fn lose(&mut self, why: &str) {
        if !std::mem::replace(&mut self.lost, true) {
            let why = format!("{why} It is passed over.");
            self.due.push_back(Came::Fault(Fault::Misframed(why)));
        }
    }

    /// Reads a body. One that is whole before its length is reached is taken;
    /// what stands behind one is read again, as the next message's.
    async fn body(&mut self, mut awaited: Awaited) -> Result<(), Came> {
        while self.held.len() - self.at < awaited.length {
            if awaited.told {
                self.fill(true).await?;
                continue;
            }
            let filled = tokio::time::timeout(STALL, self.fill(true)).await;
            if let Ok(filled) = filled {
                filled?;
                continue;
            }
            let there = self.held.len() - self.at;
            let short = awaited.length - there;
            if serde_json::from_slice::<serde::de::IgnoredAny>(&self.held[self.at..]).is_ok() {
                let why = format!("A message is {short} bytes shorter than its Content-Length.");
                self.due.push_back(Came::Fault(Fault::Mended(why)));
                awaited.length = there;
                break;
            }
            awaited.told = true;
            self.awaited = Some(awaited);
            let why = format!("The rest of a message is waited for: {short} bytes.");
            return Err(Came::Fault(Fault::Mended(why)));
        }
        self.awaited = None;
        let body = &self.held[self.at..self.at + awaited.length];
        let mended = halves::mended(body);
        let mut values = serde_json::Deserializer::from_slice(mended.as_deref().unwrap_or(body))
            .into_iter::<Value>();
        let value = values.next();
        let behind = values.byte_offset();
        let rest = body.get(behind..).unwrap_or_default();
        let more = matches!(value, Some(Ok(_))) && !rest.iter().all(u8::is_ascii_whitespace);
        let was_mended = mended.is_some();
        self.at += if more { behind } else { awaited.length };
        if !awaited.taken {
            return Ok(());
        }
        if more {
            self.lose("Something stands behind a message, within its Content-Length.");
        }
        if was_mended {
            let why = "A message holds half a character, which is read as U+FFFD.".to_owned();
            self.due.push_back(Came::Fault(Fault::Mended(why)));
        }
        match value {
            Some(Ok(value)) => self.due.push_back(Came::Message(value)),
            Some(Err(error)) => {
                self.lost = true;
                let why = format!("A message cannot be read as JSON ({error}).");
                self.due.push_back(Came::Fault(Fault::Unreadable(why)));
            }
            None => {
                let why = "A message is empty.".to_owned();
                self.due.push_back(Came::Fault(Fault::Unreadable(why)));
            }
        }
        Ok(())
    }

    /// The next line, with its end; of one that is too long for a header, the
    /// last part. Nothing where there is something to tell first.
    async fn line(&mut self) -> Result<Option<Vec<u8>>, Came> {
        let mut searched = self.at;
        while self.due.is_empty() {
            let found = self.held[searched..].iter().position(|byte| *byte == b'\n');
            if let Some(length) = found {
                let end = searched + length + 1;
                let line = self.held[self.at..end].to_vec();
                self.at = end;
                return Ok(Some(line));
            }
            if self.held.len() - self.at > MOST_HEADER {
                self.at = self.held.len() - TAIL;
                searched = self.at;
                self.lose("Something came where a header belongs that is none.");
                continue;
            }
            let behind = self.held.len() - self.at;
            let begun = self.head.any || behind > 0;
            if begun && !self.lost {
                let filled = tokio::time::timeout(STALL, self.fill(false)).await;
                match filled {
                    Ok(filled) => filled?,
                    Err(_) => self.lose("A header was begun and does not end."),
                }
            } else {
                self.fill(false).await?;
            }
            searched = self.at + behind;
        }
        Ok(None)
    }

    /// Reads on.
    async fn fill(&mut self, within: bool) -> Result<(), Came> {
        if self.at > CHUNK && self.at * 2 > self.held.len() {
            self.held.drain(..self.at);
            self.at = 0;
        }
        if !self.ended {
            self.held.reserve(CHUNK);
            match self.from.read_buf(&mut self.held).await {
                Ok(0) => self.ended = true,
                Ok(_) => return Ok(()),
                Err(error) => return Err(Came::Cut(format!("it cannot be read: {error}"))),
            }
        }
        let left = &self.held[self.at..];
        Err(
            if within || self.head.any || !left.iter().all(u8::is_ascii_whitespace) {
                Came::Cut("it ended within a message".to_owned())
            } else {
                Came::End
            },
        )
    }
}

/// Whether a header may be called so.
fn is_name(name: &str) -> bool {
    !name.is_empty() && name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-')
}
