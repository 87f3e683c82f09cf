//! Which browser may ask the live page: one that shows the page itself, under its own address.
//!
//! A page of somebody else's can make a browser ask this server. Its name then stands in `Origin`, or the name it was reached
//! by in `Host`; both must be ours, and what changes something must carry a header that foreign pages cannot set.

use hyper::header::{AsHeaderName, CONTENT_TYPE, HOST, ORIGIN};
use hyper::http::request::Parts;
use hyper::{Method, StatusCode};
use std::borrow::Cow;
use std::fmt::Display;

/// The port that a browser leaves out of an address (RFC 9110, section 4.2.1).
const USUAL_PORT: u16 = 80;

/// What writes the file of the study. A browser names the page that asks in every such request (WHATWG Fetch, section 3.2, the header
/// `Origin`), so one without a name comes from no page.
const WRITING: &[&str] = &["edit", "keep"];

/// Why a request is not answered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    pub status: StatusCode,
    pub reason: Cow<'static, str>,
}

impl Refusal {
    pub fn new(status: StatusCode, reason: impl Into<Cow<'static, str>>) -> Refusal {
        Refusal { status, reason: reason.into() }
    }
}

/// Refuses requests under other names, from other pages, and changes without our header; `inside` is what is asked for.
pub fn check(head: &Parts, inside: &str, port: u16) -> Result<(), Refusal> {
    let host = header(head, HOST)?.unwrap_or("").to_ascii_lowercase();
    let ours = ["127.0.0.1", "localhost"];
    let is_ours = |name: &&str| host == format!("{name}:{port}") || (port == USUAL_PORT && host == **name);
    if !ours.iter().any(is_ours) {
        return Err(forbidden("this page is for this machine only"));
    }
    let origin = header(head, ORIGIN)?;
    if WRITING.contains(&inside) && origin.is_none() {
        return Err(forbidden("a change of the file must come from the page itself"));
    }
    if let Some(origin) = origin
        && origin.to_ascii_lowercase() != format!("http://{host}")
    {
        return Err(forbidden("other pages may not ask here"));
    }
    if let Some(site) = header(head, "sec-fetch-site")?
        && !matches!(site, "same-origin" | "none")
    {
        // A link from elsewhere may open the page, but nothing may be read or changed.
        let opens = head.method == Method::GET && inside.is_empty() && header(head, "sec-fetch-mode")? == Some("navigate");
        if !opens {
            return Err(forbidden("other pages may not ask here"));
        }
    }
    let by_script = header(head, "x-hosewright")?.is_some();
    let json = header(head, CONTENT_TYPE)?.is_some_and(|kind| kind.starts_with("application/json"));
    if head.method == Method::POST && !(by_script && json) {
        return Err(forbidden("a change must come from the page itself"));
    }
    Ok(())
}

fn forbidden(reason: &'static str) -> Refusal {
    Refusal::new(StatusCode::FORBIDDEN, reason)
}

/// The value of a header; nothing when it is absent. Refused: one that stands twice, or that is no plain text.
fn header(head: &Parts, name: impl AsHeaderName + Display) -> Result<Option<&str>, Refusal> {
    let mut found = head.headers.get_all(name).into_iter();
    let first = found.next();
    if found.next().is_some() {
        return Err(Refusal::new(StatusCode::BAD_REQUEST, "a header is repeated"));
    }
    first.map(|value| value.to_str().map_err(|_| Refusal::new(StatusCode::BAD_REQUEST, "a header is no text"))).transpose()
}

#[cfg(test)]
mod tests {
    use super::*;
    use hyper::Request;

    /// The status of a request with these headers, `name: value` line by line.
    fn status(method: &str, inside: &str, headers: &str, port: u16) -> u16 {
        let mut request = Request::builder().method(method).uri("/");
        for line in headers.lines() {
            let (name, value) = line.split_once(": ").expect("a header");
            request = request.header(name, value);
        }
        let head = request.body(()).expect("a request").into_parts().0;
        check(&head, inside, port).err().map_or(200, |refusal| refusal.status.as_u16())
    }

    #[test]
    fn only_our_own_page_may_ask() {
        for (method, inside, headers, expected) in [
            ("GET", "", "host: 127.0.0.1:8000", 200),
            ("GET", "", "host: localhost:8000", 200),
            ("GET", "", "host: LOCALHOST:8000", 200),
            ("GET", "", "host: garden.example:8000", 403),
            ("GET", "", "host: 127.0.0.1:81", 403),
            ("GET", "", "host: 127.0.0.1", 403),
            ("GET", "", "", 403),
            ("GET", "", "host: 127.0.0.1:8000\nhost: a", 400),
            ("GET", "events", "host: 127.0.0.1:8000\norigin: http://evil.example", 403),
            ("GET", "events", "host: 127.0.0.1:8000\norigin: null", 403),
            ("GET", "events", "host: 127.0.0.1:8000\nsec-fetch-site: cross-site", 403),
            ("GET", "events", "host: 127.0.0.1:8000\nsec-fetch-site: same-site", 403),
            ("GET", "", "host: 127.0.0.1:8000\nsec-fetch-site: cross-site\nsec-fetch-mode: navigate", 200),
            ("POST", "set", "host: 127.0.0.1:8000", 403),
            ("POST", "set", "host: 127.0.0.1:8000\nx-hosewright: page\ncontent-type: text/plain", 403),
            ("POST", "set", "host: 127.0.0.1:8000\nx-hosewright: page\ncontent-type: application/json", 200),
        ] {
            assert_eq!(status(method, inside, headers, 8000), expected, "{headers}");
        }
        for inside in ["edit", "keep"] {
            let ours = "x-hosewright: page\ncontent-type: application/json";
            let host = "host: 127.0.0.1:8000";
            assert_eq!(status("POST", inside, &format!("{host}\n{ours}"), 8000), 403, "from no page");
            assert_eq!(status("POST", inside, &format!("{host}\norigin: null\n{ours}"), 8000), 403);
            assert_eq!(status("POST", inside, &format!("{host}\norigin: http://127.0.0.1:8001\n{ours}"), 8000), 403);
            assert_eq!(status("POST", inside, &format!("{host}\norigin: http://127.0.0.1:8000\n{ours}"), 8000), 200);
        }
        let ours = "x-hosewright: page\ncontent-type: application/json";
        let from = |origin: &str| format!("host: 127.0.0.1:8000\norigin: {origin}\n{ours}");
        assert_eq!(status("POST", "set", &from("http://127.0.0.1:8000"), 8000), 200);
        assert_eq!(status("POST", "set", &from("http://a.example"), 8000), 403);
    }

    #[test]
    fn browsers_leave_the_usual_port_out() {
        for (headers, expected) in [
            ("host: 127.0.0.1", 200),
            ("host: localhost:80", 200),
            ("host: 127.0.0.1\norigin: http://127.0.0.1", 200),
            ("host: 127.0.0.1\norigin: http://127.0.0.1:8000", 403),
        ] {
            assert_eq!(status("GET", "", headers, 80), expected, "{headers}");
        }
    }
}
