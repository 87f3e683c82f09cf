//! One HTTP request, as far as the live page needs it (RFC 9112): small, and soon, or refused.

use super::guard::Refusal;
use std::io::{ErrorKind, Read};
use std::net::TcpStream;
use std::time::{Duration, Instant};

/// Bytes of the request line and all headers.
const MOST_HEAD: usize = 8 * 1024;
/// Bytes of a body.
const MOST_BODY: usize = 4 * 1024;
/// From the first byte to the last.
const PATIENCE: Duration = Duration::from_secs(5);

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    Get,
    Post,
}

/// What somebody asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Request {
    pub method: Method,
    /// Without the query; percent signs are decoded.
    pub path: String,
    headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl Request {
    /// Reads a request. Refused: what is too large, too slow, or no request that we answer.
    pub fn read(stream: &mut TcpStream) -> Result<Request, Refusal> {
        let until = Instant::now() + PATIENCE;
        let mut bytes = Vec::with_capacity(1024);
        let end = loop {
            if let Some(at) = bytes.windows(4).position(|four| four == b"\r\n\r\n") {
                break at;
            }
            if bytes.len() > MOST_HEAD {
                return Err(Refusal::new(431, "the request is too large"));
            }
            read_more(stream, &mut bytes, until)?;
        };
        let mut request = Request::head(&bytes[..end])?;
        let length = request.length()?;
        let mut body = bytes.split_off(end + 4);
        while body.len() < length {
            read_more(stream, &mut body, until)?;
        }
        body.truncate(length);
        request.body = body;
        Ok(request)
    }

    /// The value of a header; nothing when it is absent. Refused: one that stands twice.
    pub fn header(&self, name: &str) -> Result<Option<&str>, Refusal> {
        let mut found = self.headers.iter().filter(|(key, _)| key == name).map(|(_, value)| value.as_str());
        let first = found.next();
        if found.next().is_some() {
            return Err(Refusal::new(400, "a header stands twice"));
        }
        Ok(first)
    }

    /// Request line and headers.
    pub(super) fn head(bytes: &[u8]) -> Result<Request, Refusal> {
        let bad = || Refusal::new(400, "this is no request");
        if bytes.len() > MOST_HEAD {
            return Err(Refusal::new(431, "the request is too large"));
        }
        let text = std::str::from_utf8(bytes).map_err(|_| bad())?;
        let mut lines = text.split("\r\n");
        let mut first = lines.next().unwrap_or("").split(' ');
        let (method, target, version) = (first.next(), first.next().ok_or_else(bad)?, first.next().ok_or_else(bad)?);
        if first.next().is_some() || !version.starts_with("HTTP/1.") {
            return Err(bad());
        }
        let method = match method {
            Some("GET") => Method::Get,
            Some("POST") => Method::Post,
            _ => return Err(Refusal::new(405, "only GET and POST are answered")),
        };
        let path = decoded(target.split('?').next().unwrap_or("")).ok_or_else(bad)?;
        if !path.starts_with('/') {
            return Err(bad());
        }
        let header = |line: &str| {
            let (name, value) = line.split_once(':')?;
            Some((name.to_ascii_lowercase(), value.trim().to_string()))
        };
        let headers = lines.map(|line| header(line).ok_or_else(bad)).collect::<Result<_, _>>()?;
        Ok(Request { method, path, headers, body: Vec::new() })
    }

    fn length(&self) -> Result<usize, Refusal> {
        if self.header("transfer-encoding")?.is_some() {
            return Err(Refusal::new(400, "a body must come in one piece"));
        }
        let length = match self.header("content-length")? {
            None => 0,
            Some(text) => text.parse().map_err(|_| Refusal::new(400, "the length of the body is no number"))?,
        };
        if length > MOST_BODY {
            return Err(Refusal::new(413, "the body is too large"));
        }
        Ok(length)
    }
}

fn read_more(stream: &mut TcpStream, bytes: &mut Vec<u8>, until: Instant) -> Result<(), Refusal> {
    let slow = || Refusal::new(408, "the request takes too long");
    let left = until.checked_duration_since(Instant::now()).filter(|left| !left.is_zero()).ok_or_else(slow)?;
    stream.set_read_timeout(Some(left)).map_err(|_| slow())?;
    let mut some = [0; 1024];
    match stream.read(&mut some) {
        Ok(0) => Err(Refusal::new(400, "the request is not whole")),
        Ok(count) => {
            bytes.extend_from_slice(&some[..count]);
            Ok(())
        }
        Err(error) if error.kind() == ErrorKind::Interrupted => Ok(()),
        Err(_) => Err(slow()),
    }
}

/// A path without percent signs; nothing when it is not made well.
fn decoded(path: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(path.len());
    let mut rest = path.bytes();
    while let Some(byte) = rest.next() {
        if byte != b'%' {
            bytes.push(byte);
            continue;
        }
        let digit = |byte: Option<u8>| (byte? as char).to_digit(16);
        bytes.push((digit(rest.next())? * 16 + digit(rest.next())?) as u8);
    }
    let path = String::from_utf8(bytes).ok()?;
    (!path.contains(['\0', '\\'])).then_some(path)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_request_is_read() {
        let request = Request::head(b"GET /a%20b.svg?x=1 HTTP/1.1\r\nHost: 127.0.0.1:1\r\nX: y").expect("a request");
        assert_eq!((request.method, request.path.as_str()), (Method::Get, "/a b.svg"));
        assert_eq!(request.header("host"), Ok(Some("127.0.0.1:1")));
    }

    #[test]
    fn what_is_no_request_is_refused() {
        for (text, status) in [
            ("", 400),
            ("PUT / HTTP/1.1", 405),
            ("GET /", 400),
            ("GET http://x/ HTTP/1.1", 400),
            ("GET /%zz HTTP/1.1", 400),
            ("GET /%00 HTTP/1.1", 400),
            ("GET / HTTP/1.1\r\nno header", 400),
        ] {
            assert_eq!(Request::head(text.as_bytes()).expect_err(text).status, status, "{text}");
        }
    }

    proptest! {
        #[test]
        fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
            let _ = Request::head(&bytes);
        }
    }
}
