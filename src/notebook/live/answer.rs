//! What a request is answered.

use super::change::{CellChange, Refused, StartChange, write_cell, write_starts};
use super::events::Events;
use super::guard::{Refusal, check};
use super::shared::Shared;
use super::wishes::{Values, Wish};
use crate::notebook::page::{TABLES, Use, rules};
use crate::script::controls::Control;
use http_body_util::{BodyExt, Either, Full, Limited};
use hyper::body::{Body, Bytes, Incoming};
use hyper::header::{self, HeaderName, HeaderValue};
use hyper::{Method, Request, Response, StatusCode};
use percent_encoding::percent_decode_str;
use std::path::Path;
use std::sync::{Arc, PoisonError};
use std::time::Duration;
use tokio::time::timeout;

/// A whole text, or a stream of events.
pub type Answer = Response<Either<Full<Bytes>, Events>>;

/// Bytes of a body with values, and of one with a text.
const MOST_BODY: usize = 4 * 1024;
const MOST_TEXT: usize = 256 * 1024;
/// Values that are set at a time.
const MOST_VALUES: usize = 200;
/// How long a body may take.
const PATIENCE: Duration = Duration::from_secs(5);

const TEXT: &str = "text/plain; charset=utf-8";

/// Files beside the study that a page may link to.
const SERVED: &[(&str, &str)] =
    &[("csv", "text/csv; charset=utf-8"), ("md", TEXT), ("png", "image/png"), ("svg", "image/svg+xml"), ("rhai", TEXT)];

/// What every answer says: nothing of it is kept, guessed at, framed or named elsewhere.
const ALWAYS: &[(&str, &str)] = &[
    ("cache-control", "no-store"),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    ("referrer-policy", "no-referrer"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
];

/// What a file may do that is opened by itself, a drawing with a script in it for one: be looked at.
const FILE_RULES: &str =
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'; sandbox allow-downloads";

/// Answers whoever has the address; all others learn nothing.
pub async fn answer(request: Request<Incoming>, shared: Arc<Shared>) -> Answer {
    let (head, body) = request.into_parts();
    let Some(inside) = shared.access.admits(&head) else {
        return refuse(&Refusal::new(StatusCode::FORBIDDEN, "open the address that hosewright printed"));
    };
    if let Err(refusal) = check(&head, inside, shared.address.port()) {
        return refuse(&refusal);
    }
    match (&head.method, inside) {
        (&Method::GET | &Method::HEAD, "") => page(&shared).await,
        (&Method::GET | &Method::HEAD, "events") => events(&shared),
        (&Method::GET | &Method::HEAD, name) if name.starts_with(TABLES) => table(&shared, &name[TABLES.len()..]).await,
        (&Method::GET | &Method::HEAD, name) => file(&shared, name).await,
        (&Method::POST, "set") => told(set(&shared, body).await),
        (&Method::POST, "edit") => told(edit(&shared, body).await),
        (&Method::POST, "keep") => told(keep(&shared, body).await),
        (&Method::POST, _) => missing(),
        _ => {
            let mut refusal = refuse(&Refusal::new(StatusCode::METHOD_NOT_ALLOWED, "only GET, HEAD and POST are answered"));
            refusal.headers_mut().insert(header::ALLOW, HeaderValue::from_static("GET, HEAD, POST"));
            refusal
        }
    }
}

/// What is said when there is no room for more.
pub fn full() -> Answer {
    let mut refusal = refuse(&Refusal::new(StatusCode::SERVICE_UNAVAILABLE, "too many pages are open; close some of them"));
    refusal.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from_static("2"));
    refusal
}

/// The page, with the cookie for everything that follows.
async fn page(shared: &Shared) -> Answer {
    let page = shared.board.page().await;
    let rules = format!("{}; frame-ancestors 'none'", rules(Use::Live));
    let mut answer = send(StatusCode::OK, "text/html; charset=utf-8", &rules, page);
    if let Ok(cookie) = HeaderValue::from_str(&shared.access.cookie()) {
        answer.headers_mut().insert(header::SET_COOKIE, cookie);
    }
    answer
}

/// The stream of events: first how things stand, then everything new.
fn events(shared: &Shared) -> Answer {
    let Ok(seat) = shared.seats.clone().try_acquire_owned() else { return full() };
    let mut answer = Response::new(Either::Right(Events::new(shared.board.listen(), seat)));
    dress(&mut answer, "text/event-stream", FILE_RULES);
    answer
}

/// Values for controls.
async fn set(shared: &Shared, body: Incoming) -> Result<&'static str, Refusal> {
    #[derive(serde::Deserialize)]
    struct Asked {
        values: Values,
        held: Option<bool>,
    }
    let Asked { values, held } = read(body, MOST_BODY, "expected the names of controls and their values").await?;
    if values.len() > MOST_VALUES {
        return Err(Refusal::new(StatusCode::BAD_REQUEST, "these are more values than a study has controls"));
    }
    shared.wishes.ask(Wish { values, held });
    Ok("taken\n")
}

/// Another text for a cell.
async fn edit(shared: &Arc<Shared>, body: Incoming) -> Result<&'static str, Refusal> {
    let change: CellChange = read(body, MOST_TEXT, "expected a cell, its text and its new text").await?;
    written(shared, move |file, _| write_cell(file, &change)).await
}

/// Other values with which controls begin.
async fn keep(shared: &Arc<Shared>, body: Incoming) -> Result<&'static str, Refusal> {
    let change: StartChange = read(body, MOST_BODY, "expected the names of controls and their values").await?;
    written(shared, move |file, controls| write_starts(file, &change, controls)).await
}

/// Writes the file of the study, one change at a time. Errors: nothing was written, and why.
async fn written<W>(shared: &Arc<Shared>, write: W) -> Result<&'static str, Refusal>
where
    W: FnOnce(&Path, &[Control]) -> Result<(), Refused> + Send + 'static,
{
    let kept = shared.clone();
    let work = move || {
        let file = kept.file.lock().unwrap_or_else(PoisonError::into_inner);
        write(&file, &kept.board.controls())
    };
    let done = tokio::task::spawn_blocking(work).await.unwrap_or_else(|_| Err("the file could not be written".into()));
    done.map_err(|reason| Refusal::new(StatusCode::CONFLICT, reason))?;
    shared.wishes.look();
    Ok("written\n")
}

/// What the body of a request says. Errors: one that is too large, too slow, not whole, or none of its kind.
async fn read<T: serde::de::DeserializeOwned>(body: Incoming, most: usize, expected: &'static str) -> Result<T, Refusal> {
    let too_large = || Refusal::new(StatusCode::PAYLOAD_TOO_LARGE, "the body is too large");
    if body.size_hint().lower() > most as u64 {
        return Err(too_large());
    }
    let bytes = match timeout(PATIENCE, Limited::new(body, most).collect()).await {
        Ok(Ok(whole)) => whole.to_bytes(),
        Ok(Err(error)) if error.is::<http_body_util::LengthLimitError>() => return Err(too_large()),
        Ok(Err(_)) => return Err(Refusal::new(StatusCode::BAD_REQUEST, "the request is not whole")),
        Err(_) => return Err(Refusal::new(StatusCode::REQUEST_TIMEOUT, "the request takes too long")),
    };
    serde_json::from_slice(&bytes).map_err(|_| Refusal::new(StatusCode::BAD_REQUEST, expected))
}

/// The answer to a change.
fn told(done: Result<&'static str, Refusal>) -> Answer {
    match done {
        Ok(words) => send(StatusCode::ACCEPTED, TEXT, FILE_RULES, words),
        Err(refusal) => refuse(&refusal),
    }
}

/// A table of the page as CSV.
async fn table(shared: &Arc<Shared>, path: &str) -> Answer {
    let (Some(file), from) = (decoded(path), shared.clone()) else { return missing() };
    match tokio::task::spawn_blocking(move || from.board.csv(&file)).await {
        Ok(Some(csv)) => send(StatusCode::OK, "text/csv; charset=utf-8", FILE_RULES, csv),
        _ => missing(),
    }
}

/// A file beside the study, if it is of a kind that a page may link to.
async fn file(shared: &Arc<Shared>, path: &str) -> Answer {
    let Some(name) = decoded(path) else {
        return refuse(&Refusal::new(StatusCode::BAD_REQUEST, "this is no name of a file"));
    };
    let kind = SERVED.iter().find(|(ending, _)| name.rsplit_once('.').is_some_and(|(_, end)| end == *ending));
    let hidden = name.split('/').any(|part| part.starts_with('.'));
    let (Some((_, kind)), false) = (kind, hidden) else { return missing() };
    let from = shared.clone();
    match tokio::task::spawn_blocking(move || from.folder.read(&name)).await {
        Ok(Ok(bytes)) => send(StatusCode::OK, kind, FILE_RULES, bytes),
        _ => missing(),
    }
}

fn missing() -> Answer {
    refuse(&Refusal::new(StatusCode::NOT_FOUND, "there is nothing here"))
}

fn refuse(refusal: &Refusal) -> Answer {
    send(refusal.status, TEXT, FILE_RULES, format!("{}\n", refusal.reason))
}

fn send(status: StatusCode, kind: &'static str, rules: &str, body: impl Into<Bytes>) -> Answer {
    let mut answer = Response::new(Either::Left(Full::new(body.into())));
    *answer.status_mut() = status;
    dress(&mut answer, kind, rules);
    answer
}

/// The headers of an answer; `rules` is its content security policy.
fn dress(answer: &mut Answer, kind: &'static str, rules: &str) {
    let headers = answer.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    // Rules are made of our own words and hashes; what is no header would be a fault there, and then nothing may run.
    let rules = HeaderValue::from_str(rules).unwrap_or(HeaderValue::from_static("default-src 'none'; sandbox"));
    headers.insert(header::CONTENT_SECURITY_POLICY, rules);
    headers.extend(ALWAYS.iter().map(|(name, value)| (HeaderName::from_static(name), HeaderValue::from_static(value))));
}

/// A path with its percent escapes decoded; `None` when it is malformed.
fn decoded(path: &str) -> Option<String> {
    let two_digits = |after: &str| after.bytes().take(2).filter(u8::is_ascii_hexdigit).count() == 2;
    if !path.split('%').skip(1).all(two_digits) {
        return None;
    }
    let path = percent_decode_str(path).decode_utf8().ok()?.into_owned();
    (!path.contains(['\0', '\\'])).then_some(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn percent_signs_are_decoded_once() {
        assert_eq!(decoded("a%20b.svg").as_deref(), Some("a b.svg"));
        assert_eq!(decoded("%2e%2e%2fa").as_deref(), Some("../a"));
        assert_eq!(decoded("%252e").as_deref(), Some("%2e"));
        for bad in ["%zz", "%2", "%00", "%5c", "%ff"] {
            assert_eq!(decoded(bad), None, "{bad}");
        }
    }
}
