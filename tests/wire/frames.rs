//! What comes in bad frames, or not at all: each is answered, told, or the end.

use std::io::{Read, Write};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::support::PATIENCE;
use crate::support::raw::{Raw, framed, spawn};

/// A request that no server knows.
fn asked(id: i64) -> Value {
    json!({ "jsonrpc": "2.0", "id": id, "method": "no/such" })
}

/// The same, in a frame whose `Content-Length` is off by so much.
fn off_by(id: i64, bytes: i64) -> String {
    let body = asked(id).to_string();
    let length = i64::try_from(body.len()).unwrap() + bytes;
    format!("Content-Length: {length}\r\n\r\n{body}")
}

/// The server hears, and answers.
fn lives(raw: &mut Raw, id: i64) {
    raw.send(framed(&asked(id)));
    let answer = raw.wait(|said| said["id"] == id);
    assert_eq!(answer["error"]["code"], -32601, "{answer}");
}

#[test]
fn what_is_badly_framed_is_answered_and_the_next_is_heard() {
    let body = asked(7).to_string();
    let length = body.len();
    let cases: &[(&str, Vec<u8>)] = &[
        ("too short", off_by(7, -5).into()),
        ("no length", format!("Content-Type: x\r\n\r\n{body}").into()),
        ("no number", format!("Content-Length: many\r\n\r\n{body}").into()),
        ("below zero", format!("Content-Length: -5\r\n\r\n{body}").into()),
        (
            "beyond any number",
            format!("Content-Length: 99999999999999999999999\r\n\r\n{body}").into(),
        ),
        (
            "huge",
            format!("Content-Length: 99999999999\r\n\r\n{body}").into(),
        ),
        (
            "doubled",
            format!("Content-Length: {length}\r\nContent-Length: 3\r\n\r\n{body}").into(),
        ),
        ("garbage", b"hello there\r\n".to_vec()),
        ("garbage without an end", vec![b'x'; 10_000]),
        ("a body alone", body.clone().into()),
        (
            "another encoding",
            format!("Content-Length: {length}\r\nContent-Type: application/vscode-jsonrpc; charset=utf-16\r\n\r\n{body}").into(),
        ),
        ("no UTF-8", b"Content-Length: 4\r\n\r\n\"\xff\xfe\"".to_vec()),
        ("no JSON", b"Content-Length: 4\r\n\r\n{\"a\"".to_vec()),
        ("nothing", b"Content-Length: 0\r\n\r\n".to_vec()),
        ("no object", b"Content-Length: 1\r\n\r\n7".to_vec()),
    ];
    for (what, bytes) in cases {
        let mut raw = Raw::start();
        raw.send(bytes);
        let (code, message) = raw.error();
        assert!([-32700, -32600].contains(&code), "{what}: {code}");
        assert!(message.ends_with('.'), "{what}: {message}");
        lives(&mut raw, 50);
    }
}

#[test]
fn a_message_with_a_length_too_long_is_heard_all_the_same() {
    let mut raw = Raw::start();
    // Nothing follows: what is there is taken after a while.
    raw.send(off_by(7, 20));
    assert_eq!(raw.wait(|said| said["id"] == 7)["error"]["code"], -32601);
    lives(&mut raw, 8);
    // Another follows at once: it is found.
    raw.send(off_by(9, 12) + &framed(&asked(10)));
    for id in [9, 10] {
        let answer = raw.wait(|said| said["id"] == id);
        assert_eq!(answer["error"]["code"], -32601);
    }
    lives(&mut raw, 11);
}

#[test]
fn what_is_equal_twice_or_known_to_none_is_no_fault() {
    let mut raw = Raw::start();
    let body = asked(7).to_string();
    let length = body.len();
    raw.send(format!(
        "content-length: {length}\r\nX-Other: 1\r\nContent-Length: {length}\r\n\
         Content-Type: application/vscode-jsonrpc; charset=utf8\r\n\r\n{body}"
    ));
    raw.wait(|said| {
        assert!(
            !said["id"].is_null() || said.get("error").is_none(),
            "{said}"
        );
        said["id"] == 7
    });
}

#[test]
fn what_is_no_request_is_answered_to_its_id() {
    let mut raw = Raw::start();
    for (message, id) in [
        (json!({ "jsonrpc": "2.0", "id": 20 }), json!(20)),
        (
            json!({ "jsonrpc": "2.0", "id": "a", "method": 7 }),
            json!("a"),
        ),
        (
            json!({ "jsonrpc": "2.0", "id": 1.5, "method": "shutdown" }),
            json!(1.5),
        ),
        (
            json!({ "jsonrpc": "2.0", "id": [1], "method": "shutdown" }),
            Value::Null,
        ),
        (json!({ "id": 21, "method": "shutdown" }), json!(21)),
        (
            json!({ "jsonrpc": "1.0", "id": 22, "method": "shutdown" }),
            json!(22),
        ),
        (json!([asked(23)]), json!(23)),
        (json!([]), Value::Null),
    ] {
        raw.send(framed(&message));
        let answer = raw.wait(|said| said["id"] == id && said.get("error").is_some());
        assert_eq!(answer["error"]["code"], -32600, "{message}: {answer}");
    }
    // A text is an id like any other.
    raw.send(framed(
        &json!({ "jsonrpc": "2.0", "id": "x", "method": "shutdown" }),
    ));
    let answer = raw.wait(|said| said["id"] == "x");
    assert!(answer["error"].is_null(), "{answer}");
}

#[test]
fn the_streams_end_is_the_end_wherever_it_comes() {
    let request = framed(&asked(7));
    let shutdown = framed(&json!({ "jsonrpc": "2.0", "id": 9, "method": "shutdown" }));
    for (what, bytes, why) in [
        ("between two", "", "`shutdown`"),
        ("behind one", request.as_str(), "`shutdown`"),
        ("as it should", shutdown.as_str(), ""),
        ("in a header", "Content-Len", "ended within a message"),
        (
            "behind a header",
            "Content-Length: 9\r\n",
            "ended within a message",
        ),
        (
            "in a body",
            &request[..request.len() - 3],
            "ended within a message",
        ),
    ] {
        let mut raw = Raw::start();
        raw.send(bytes);
        raw.hang_up();
        let (found, told) = raw.end();
        assert_eq!(found, Some(i32::from(!why.is_empty())), "{what}: {told}");
        assert!(told.contains(why), "{what}: {told}");
        assert_eq!(told.is_empty(), why.is_empty(), "{what}: {told}");
        assert!(!told.contains("panic"), "{what}: {told}");
    }
}

/// The client goes while the server speaks: its end is no fault of the
/// server's.
#[test]
fn a_client_that_no_longer_reads_ends_the_session() {
    for (read, stays) in [(0, true), (10, true), (10, false)] {
        let mut child = spawn();
        let mut input = child.stdin.take();
        let mut send = |message: &Value| {
            let input = input.as_mut().unwrap();
            // Whether it still reads does not matter.
            let _ = input.write_all(framed(message).as_bytes());
        };
        send(&json!({ "jsonrpc": "2.0", "id": 1, "method": "initialize",
                     "params": { "capabilities": {} } }));
        let mut output = child.stdout.take().unwrap();
        output.read_exact(&mut vec![0; read]).unwrap();
        for id in 2..40 {
            send(&asked(id));
        }
        drop(output);
        if !stays {
            input = None;
        }
        let until = Instant::now() + PATIENCE;
        while child.try_wait().unwrap().is_none() {
            assert!(Instant::now() < until, "it lives on");
            if let Some(input) = &mut input {
                let _ = input.write_all(framed(&asked(2)).as_bytes());
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        let mut told = String::new();
        let mut errors = child.stderr.take().unwrap();
        errors.read_to_string(&mut told).unwrap();
        let code = child.wait().unwrap().code();
        assert!(!told.contains("panic"), "{told}");
        if stays {
            assert_eq!(code, Some(1), "{told}");
            assert!(told.contains("no longer reads"), "{told}");
        } else {
            assert!(matches!(code, Some(0 | 1)), "{code:?}: {told}");
        }
    }
}
