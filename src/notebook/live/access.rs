//! Who has the address: a secret that is made up at the start stands in the printed address, and in a cookie from then on.
//!
//! A browser sends the cookies of a host to all its ports, so another user of the machine could gather them with a server of their
//! own. Ours is sent below a path only that nobody can guess either.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use hyper::header::COOKIE;
use hyper::http::request::Parts;
use std::io;
use subtle::{Choice, ConstantTimeEq};

/// The name of the cookie.
const COOKIE_NAME: &str = "hosewright";
/// Random bytes of the path: nobody hits one of 2^72 by trying.
const ROOM_BYTES: usize = 9;
/// Random bytes of the secret.
const KEY_BYTES: usize = 18;

/// The path below which the page is, and the secret that opens it.
pub struct Access {
    room: String,
    key: String,
}

impl Access {
    /// Makes both up. Errors: the machine gives no random bytes.
    pub fn new() -> io::Result<Access> {
        Ok(Access { room: random_text::<ROOM_BYTES>()?, key: random_text::<KEY_BYTES>()? })
    }

    /// The path and query of the first visit.
    pub fn first_address(&self) -> String {
        format!("/{}/?key={}", self.room, self.key)
    }

    /// The cookie of those who came by the first address.
    pub fn cookie(&self) -> String {
        format!("{COOKIE_NAME}={}; Path=/{}/; HttpOnly; SameSite=Strict", self.key, self.room)
    }

    /// What is asked for, without the path that nobody can guess; nothing for those who have neither address nor cookie.
    pub fn admits<'a>(&self, head: &'a Parts) -> Option<&'a str> {
        let path = head.uri.path();
        let (room, inside) = path.strip_prefix('/')?.split_once('/')?;
        let key = head.uri.query().and_then(|query| query.strip_prefix("key="));
        let by_address = if inside.is_empty() { same(key.unwrap_or_default(), &self.key) } else { Choice::from(0) };
        let by_cookie = cookies(head).fold(Choice::from(0), |found, given| found | same(given, &self.key));
        bool::from(same(room, &self.room) & (by_address | by_cookie)).then_some(inside)
    }
}

/// The values of our cookie: there is more than one where somebody set another.
fn cookies(head: &Parts) -> impl Iterator<Item = &str> {
    let headers = head.headers.get_all(COOKIE).into_iter().filter_map(|value| value.to_str().ok());
    let pairs = headers.flat_map(|header| header.split(';')).filter_map(|pair| pair.trim().split_once('='));
    pairs.filter(|(name, _)| *name == COOKIE_NAME).map(|(_, value)| value)
}

/// Compares in a time that does not depend on where the texts differ.
fn same(given: &str, secret: &str) -> Choice {
    given.as_bytes().ct_eq(secret.as_bytes())
}

fn random_text<const N: usize>() -> io::Result<String> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(io::Error::other)?;
    Ok(URL_SAFE_NO_PAD.encode(bytes))
}

#[cfg(test)]
mod tests {
    use super::*;
    use hyper::Request;

    fn head(path: &str, cookie: &str) -> Parts {
        let request = Request::get(path).header("cookie", cookie).body(()).expect("a request");
        request.into_parts().0
    }

    #[test]
    fn the_first_address_and_then_the_cookie_open_the_page_and_nothing_else_does() {
        let access = Access { room: "room".into(), key: "key1".into() };
        let admits = |path: &str, cookie: &str| access.admits(&head(path, cookie)).map(String::from);
        assert_eq!(admits("/room/?key=key1", ""), Some(String::new()));
        assert_eq!(admits("/room/events", "a=b; hosewright=key1"), Some("events".into()));
        assert_eq!(admits("/room/", "hosewright=old; hosewright=key1"), Some(String::new()));
        for (path, cookie) in [
            ("/", "hosewright=key1"),
            ("/room", "hosewright=key1"),
            ("/roam/", "hosewright=key1"),
            ("//", "hosewright=key1"),
            ("/room/", ""),
            ("/room/", "hosewright="),
            ("/room/", "hosewright=key"),
            ("/room/", "hosewright=key12"),
            ("/room/", "other=key1"),
            ("/room/?key=key2", ""),
            ("/room/?key=", ""),
            ("/room/events?key=key1", ""),
        ] {
            assert_eq!(admits(path, cookie), None, "{path} {cookie}");
        }
    }

    #[test]
    fn every_start_has_an_address_of_its_own() {
        let (one, other) = (Access::new().expect("random"), Access::new().expect("random"));
        assert_ne!(one.first_address(), other.first_address());
        assert_eq!(one.first_address().len(), "//?key=".len() + 12 + 24);
    }
}
