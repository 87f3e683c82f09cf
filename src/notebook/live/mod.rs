//! The live page: a study in the browser of this machine, run again when its file is saved or a slider is moved.
//!
//! - `access`: who has the address: a secret in it, then in a cookie
//! - `guard`: which browser may ask: one that shows the page itself
//! - `answer`: what a request is answered
//! - `stream`: a connection that gives up on whoever does not read
//! - `wishes`: what open pages ask for
//! - `change`: what somebody changes in the file of the study
//! - `worker`: the one thread that runs the study
//! - `events`: the stream of events of an open page
//! - `board`: what the worker sends to all open pages
//! - `ticker`: sends open pages the progress of a run
//! - here: the server, which listens on 127.0.0.1 only; one thread waits for all connections
//!
//! Knows nothing of how a study runs or what a page looks like. HTTP itself is read and written by the library.

mod access;
mod answer;
mod board;
mod change;
mod events;
mod guard;
mod shared;
mod stream;
mod ticker;
mod wishes;
mod worker;

use crate::files::read_text;
use crate::script::Context;
use access::Access;
use answer::{Answer, answer, full};
use board::Board;
use hyper::Request;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use shared::Shared;
use std::convert::Infallible;
use std::future::poll_fn;
use std::io;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::pin::Pin;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::task::Poll;
use std::time::Duration;
use stream::Patient;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;
use tokio::time::{sleep, timeout};

/// Pages that may be open at a time: each holds a connection for its events.
const MOST_PAGES: usize = 160;
/// Connections at a time, those of open pages included.
const MOST_CONNECTIONS: usize = 200;
/// Connections beyond that which are refused at a time; others wait in line.
const MOST_REFUSALS: usize = 32;
/// Bytes of the request line and all headers.
const MOST_HEAD: usize = 8 * 1024;
/// How long a request line with its headers may take.
const PATIENCE: Duration = Duration::from_secs(5);
/// How long nobody is let in where the machine has no room for a connection.
const BREATHER: Duration = Duration::from_millis(50);

/// A server that listens and has not begun to answer.
pub struct Live {
    listener: std::net::TcpListener,
    address: SocketAddr,
    access: Access,
    file: PathBuf,
    context: Arc<Context>,
}

impl Live {
    /// Listens for a study; port 0 takes any free one. Errors: the port is taken, the machine gives no random bytes.
    pub fn open(file: &Path, context: Arc<Context>, port: u16) -> io::Result<Live> {
        let listener = std::net::TcpListener::bind((Ipv4Addr::LOCALHOST, port))?;
        let address = listener.local_addr()?;
        Ok(Live { listener, address, access: Access::new()?, file: file.to_path_buf(), context })
    }

    /// Where the page is, for those who may see it: it holds the secret.
    pub fn url(&self) -> String {
        format!("http://{}{}", self.address, self.access.first_address())
    }

    /// Answers until the program ends. Errors: the first reading of the study, a machine without threads.
    pub fn serve(self) -> io::Result<()> {
        read_text(&self.file).map_err(io::Error::other)?;
        let board = Arc::new(Board::default());
        let folder = self.context.folder.clone();
        // A study that is a link is written where it is.
        let file = Mutex::new(self.file.canonicalize()?);
        let wishes = worker::start(self.file, self.context, board.clone())?;
        let seats = Arc::new(Semaphore::new(MOST_PAGES));
        let shared = Arc::new(Shared { board, wishes, folder, file, address: self.address, access: self.access, seats });
        self.listener.set_nonblocking(true)?;
        let runtime = tokio::runtime::Builder::new_current_thread().enable_io().enable_time().build()?;
        runtime.block_on(async move { let_in(TcpListener::from_std(self.listener)?, shared).await })
    }
}

/// Accepts connections while there is room, and refuses the others.
async fn let_in(listener: TcpListener, shared: Arc<Shared>) -> io::Result<()> {
    let (rooms, refusals) = (Arc::new(Semaphore::new(MOST_CONNECTIONS)), Arc::new(Semaphore::new(MOST_REFUSALS)));
    loop {
        let Ok((stream, _)) = listener.accept().await else {
            sleep(BREATHER).await;
            continue;
        };
        let shared = shared.clone();
        if let Ok(room) = rooms.clone().try_acquire_owned() {
            tokio::spawn(async move {
                attend(stream, |request| answer(request, shared.clone())).await;
                drop(room);
            });
        } else if let Ok(refusal) = refusals.clone().acquire_owned().await {
            tokio::spawn(async move {
                attend(stream, async |_| full()).await;
                drop(refusal);
            });
        }
    }
}

/// Reads one request and answers it; every connection is for one.
async fn attend<A: Future<Output = Answer>>(stream: TcpStream, answer: impl Fn(Request<Incoming>) -> A) {
    let asked = AtomicBool::new(false);
    let service = service_fn(|request| {
        asked.store(true, Ordering::Relaxed);
        let answer = answer(request);
        async move { Ok::<_, Infallible>(answer.await) }
    });
    let mut rules = http1::Builder::new();
    let mut connection = rules.keep_alive(false).max_buf_size(MOST_HEAD).serve_connection(Patient::new(stream), service);
    let request = poll_fn(|context| {
        let ended = Pin::new(&mut connection).poll(context).is_ready();
        if ended || asked.load(Ordering::Relaxed) { Poll::Ready(ended) } else { Poll::Pending }
    });
    match timeout(PATIENCE, request).await {
        Ok(true) => {}
        Ok(false) => drop(connection.await), // Whoever asked may have gone.
        Err(_) => connection.into_parts().io.end_with(TOO_SLOW).await,
    }
}

/// What is said to whoever does not ask in time.
const TOO_SLOW: &[u8] = b"HTTP/1.1 408 Request Timeout\r\nContent-Length: 0\r\nConnection: close\r\n\r\n";
