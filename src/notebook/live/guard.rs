//! Who may ask the live page: a browser of this machine that shows the page itself, under its own address.
//!
//! A page of somebody else's can make a browser ask this server. Its name then stands in `Origin`, or the name it was reached
//! by in `Host`; both must be ours, and what changes something must carry a header that foreign pages cannot set.

use super::request::{Method, Request};

/// Why a request is not answered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    pub status: u16,
    pub reason: &'static str,
}

impl Refusal {
    pub fn new(status: u16, reason: &'static str) -> Refusal {
        Refusal { status, reason }
    }
}

/// Refuses requests under other names, from other pages, and changes without our header.
pub fn check(request: &Request, port: u16) -> Result<(), Refusal> {
    let hosts = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    let host = request.header("host")?.unwrap_or("").to_ascii_lowercase();
    if !hosts.contains(&host) {
        return Err(Refusal::new(403, "this page is for this machine only"));
    }
    if let Some(origin) = request.header("origin")?
        && origin.to_ascii_lowercase() != format!("http://{host}")
    {
        return Err(Refusal::new(403, "other pages may not ask here"));
    }
    if let Some(site) = request.header("sec-fetch-site")?
        && !matches!(site, "same-origin" | "none")
    {
        // A link from elsewhere may open the page, but nothing may be read or changed.
        let opens = request.method == Method::Get && request.path == "/" && request.header("sec-fetch-mode")? == Some("navigate");
        if !opens {
            return Err(Refusal::new(403, "other pages may not ask here"));
        }
    }
    let ours = request.header("x-hosewright")?.is_some();
    let json = request.header("content-type")?.is_some_and(|kind| kind.starts_with("application/json"));
    if request.method == Method::Post && !(ours && json) {
        return Err(Refusal::new(403, "a change must come from the page itself"));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn status(head: &str) -> u16 {
        let request = Request::head(head.as_bytes()).expect("a request");
        check(&request, 80).err().map_or(200, |refusal| refusal.status)
    }

    #[test]
    fn only_our_own_page_may_ask() {
        let ours = "x-hosewright: slide\r\ncontent-type: application/json";
        for (head, expected) in [
            ("GET / HTTP/1.1\r\nHost: 127.0.0.1:80", 200),
            ("GET / HTTP/1.1\r\nHost: localhost:80", 200),
            ("GET / HTTP/1.1\r\nHost: garden.example:80", 403),
            ("GET / HTTP/1.1\r\nHost: 127.0.0.1:81", 403),
            ("GET / HTTP/1.1", 403),
            ("GET / HTTP/1.1\r\nHost: 127.0.0.1:80\r\nHost: a", 400),
            ("GET /events HTTP/1.1\r\nHost: 127.0.0.1:80\r\nOrigin: http://evil.example", 403),
            ("GET /events HTTP/1.1\r\nHost: 127.0.0.1:80\r\nOrigin: null", 403),
            ("GET /events HTTP/1.1\r\nHost: 127.0.0.1:80\r\nSec-Fetch-Site: cross-site", 403),
            ("GET / HTTP/1.1\r\nHost: 127.0.0.1:80\r\nSec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: navigate", 200),
            ("POST /slide HTTP/1.1\r\nHost: 127.0.0.1:80", 403),
        ] {
            assert_eq!(status(head), expected, "{head}");
        }
        assert_eq!(status(&format!("POST /slide HTTP/1.1\r\nHost: 127.0.0.1:80\r\nOrigin: http://127.0.0.1:80\r\n{ours}")), 200);
        assert_eq!(status(&format!("POST /slide HTTP/1.1\r\nHost: 127.0.0.1:80\r\nOrigin: http://a.example\r\n{ours}")), 403);
    }
}
