//! The live page: a study in the browser of this machine, run again when its file is saved or a slider is moved.
//!
//! - `request`: reads one HTTP request, small and soon, or refuses it
//! - `guard`: who may ask: this machine's own page and nobody else
//! - `worker`: the one thread that runs the study
//! - `board`: what the worker tells to all open pages
//! - `ticker`: tells open pages how far a run is
//! - here: the server, which listens on 127.0.0.1 only
//!
//! Knows nothing of how a study runs or what a page looks like.

mod board;
mod guard;
mod request;
mod ticker;
mod worker;

use crate::files::{Folder, read_text};
use crate::script::Context;
use board::Board;
use guard::{Refusal, check};
use request::{Method, Request};
use std::io::{self, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::time::Duration;
use worker::Wish;

/// Pages that may be open at a time, and requests under way.
const MOST_CONNECTIONS: usize = 32;
/// How long nothing may happen on a stream of events before a comment is sent to see whether anybody listens.
const HEARTBEAT: Duration = Duration::from_secs(10);
/// How long somebody may take to read an answer.
const PATIENCE: Duration = Duration::from_secs(10);
/// Files beside the study that a page may link to.
const SERVED: &[(&str, &str)] = &[
    ("csv", "text/csv; charset=utf-8"),
    ("md", "text/plain; charset=utf-8"),
    ("png", "image/png"),
    ("svg", "image/svg+xml"),
    ("rhai", "text/plain; charset=utf-8"),
];

/// A server that listens and has not begun to answer.
pub struct Live {
    listener: TcpListener,
    address: SocketAddr,
    file: PathBuf,
    context: Arc<Context>,
}

/// What all connections share.
struct Shared {
    board: Arc<Board>,
    wishes: Sender<Wish>,
    folder: Folder,
    address: SocketAddr,
    open: AtomicUsize,
}

impl Live {
    /// Listens for a study; port 0 takes any free one. Errors: the port is taken.
    pub fn open(file: &Path, context: Arc<Context>, port: u16) -> io::Result<Live> {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port))?;
        let address = listener.local_addr()?;
        Ok(Live { listener, address, file: file.to_path_buf(), context })
    }

    /// Where the page is.
    pub fn url(&self) -> String {
        format!("http://{}/", self.address)
    }

    /// Answers until the program ends. Errors: the first reading of the study.
    pub fn serve(self) -> io::Result<()> {
        read_text(&self.file).map_err(io::Error::other)?;
        let board = Arc::new(Board::default());
        let (wishes, asked) = channel();
        let folder = self.context.folder.clone();
        worker::start(self.file, self.context, board.clone(), asked)?;
        let shared = Arc::new(Shared { board, wishes, folder, address: self.address, open: AtomicUsize::new(0) });
        for stream in self.listener.incoming() {
            let Ok(stream) = stream else { continue };
            if shared.open.fetch_add(1, Ordering::SeqCst) >= MOST_CONNECTIONS {
                shared.open.fetch_sub(1, Ordering::SeqCst);
                let _ = refuse(stream, 503, "too many connections");
                continue;
            }
            let mine = shared.clone();
            let started = std::thread::Builder::new().spawn(move || {
                let _ = answer(stream, &mine); // Whoever asked has gone.
                mine.open.fetch_sub(1, Ordering::SeqCst);
            });
            if started.is_err() {
                shared.open.fetch_sub(1, Ordering::SeqCst);
            }
        }
        Ok(())
    }
}

/// Reads one request and answers it; every connection is for one.
fn answer(mut stream: TcpStream, shared: &Shared) -> io::Result<()> {
    let request = match Request::read(&mut stream) {
        Ok(request) => request,
        Err(Refusal { status, reason }) => return refuse(stream, status, reason),
    };
    if let Err(Refusal { status, reason }) = check(&request, shared.address.port()) {
        return refuse(stream, status, reason);
    }
    match (request.method, request.path.as_str()) {
        (Method::Get, "/") => {
            let page = shared.board.page();
            send(&mut stream, 200, "text/html; charset=utf-8", page.as_bytes())
        }
        (Method::Get, "/events") => tell(stream, shared),
        (Method::Post, "/slide") => slide(stream, shared, &request.body),
        (Method::Get, path) => file(stream, shared, path),
        (Method::Post, _) => refuse(stream, 404, "there is nothing here"),
    }
}

/// The stream of events: first how things stand, then everything new.
fn tell(mut stream: TcpStream, shared: &Shared) -> io::Result<()> {
    let news = shared.board.listen();
    stream.set_write_timeout(Some(PATIENCE))?; // Whoever does not read loses the connection.
    stream.write_all(
        b"HTTP/1.1 200 OK\r\nContent-Type: text/event-stream\r\nCache-Control: no-store\r\nX-Content-Type-Options: nosniff\r\nConnection: close\r\n\r\n",
    )?;
    loop {
        match news.recv_timeout(HEARTBEAT) {
            Ok(event) => stream.write_all(event.as_bytes())?,
            Err(RecvTimeoutError::Timeout) => stream.write_all(b": still here\n\n")?,
            Err(RecvTimeoutError::Disconnected) => return Ok(()),
        }
        stream.flush()?;
    }
}

fn slide(mut stream: TcpStream, shared: &Shared, body: &[u8]) -> io::Result<()> {
    #[derive(serde::Deserialize)]
    struct Move {
        name: String,
        value: f64,
    }
    let Ok(Move { name, value }) = serde_json::from_slice(body) else {
        return refuse(stream, 400, "expected the name of a slider and its value");
    };
    if !value.is_finite() || shared.wishes.send(Wish::Slide { name, value }).is_err() {
        return refuse(stream, 400, "the value is no number");
    }
    send(&mut stream, 202, "text/plain; charset=utf-8", b"taken\n")
}

/// A file beside the study, if it is of a kind that a page may link to.
fn file(mut stream: TcpStream, shared: &Shared, path: &str) -> io::Result<()> {
    let name = path.trim_start_matches('/');
    let kind = SERVED.iter().find(|(ending, _)| name.rsplit_once('.').is_some_and(|(_, end)| end == *ending));
    let hidden = name.split('/').any(|part| part.starts_with('.'));
    let (Some((_, kind)), false, Ok(path)) = (kind, hidden, shared.folder.file(name)) else {
        return refuse(stream, 404, "there is nothing here");
    };
    match std::fs::read(path) {
        Ok(bytes) => send(&mut stream, 200, kind, &bytes),
        Err(_) => refuse(stream, 404, "there is nothing here"),
    }
}

fn refuse(mut stream: TcpStream, status: u16, reason: &str) -> io::Result<()> {
    send(&mut stream, status, "text/plain; charset=utf-8", format!("{reason}\n").as_bytes())
}

fn send(stream: &mut TcpStream, status: u16, kind: &str, body: &[u8]) -> io::Result<()> {
    stream.set_write_timeout(Some(PATIENCE))?;
    let phrase = match status {
        200 => "OK",
        202 => "Accepted",
        403 => "Forbidden",
        404 => "Not Found",
        405 => "Method Not Allowed",
        408 => "Request Timeout",
        413 => "Content Too Large",
        431 => "Request Header Fields Too Large",
        503 => "Service Unavailable",
        _ => "Bad Request",
    };
    let head = format!(
        "HTTP/1.1 {status} {phrase}\r\nContent-Type: {kind}\r\nContent-Length: {}\r\nCache-Control: no-store\r\n\
         X-Content-Type-Options: nosniff\r\nX-Frame-Options: DENY\r\nReferrer-Policy: no-referrer\r\n\
         Content-Security-Policy: frame-ancestors 'none'\r\nConnection: close\r\n\r\n",
        body.len()
    );
    stream.write_all(head.as_bytes())?;
    stream.write_all(body)?;
    stream.flush()
}
