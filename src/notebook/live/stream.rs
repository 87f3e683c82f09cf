//! A connection that gives up on whoever does not read, and that ends without cutting off what was said last.

use hyper::rt::{Read, ReadBufCursor, Write};
use std::io;
use std::pin::Pin;
use std::task::{Context, Poll, ready};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::TcpStream;
use tokio::time::{Sleep, sleep};

/// How long somebody may read nothing of an answer.
const READING: Duration = Duration::from_secs(10);
/// How long, and for how many bytes, whoever still sends is listened to after the answer: closed before, the connection would be
/// reset, and the answer lost (RFC 9112, section 9.6).
const FAREWELL: Duration = Duration::from_secs(1);
const FAREWELL_BYTES: usize = 256 * 1024;

type Timer = Option<Pin<Box<Sleep>>>;

/// The connection.
pub struct Patient {
    stream: TcpStream,
    /// Runs while a write waits.
    stalled: Timer,
    /// Runs since the answer ended.
    farewell: Timer,
    ignored_bytes: usize,
}

impl Patient {
    pub fn new(stream: TcpStream) -> Patient {
        Patient { stream, stalled: None, farewell: None, ignored_bytes: 0 }
    }

    /// Says a last word outside the protocol's course.
    pub async fn end_with(mut self, last: &[u8]) {
        use std::future::poll_fn;
        let mut left = last;
        while !left.is_empty() {
            match poll_fn(|context| Write::poll_write(Pin::new(&mut self), context, left)).await {
                Ok(count) if count > 0 => left = &left[count..],
                _ => return,
            }
        }
        let _ = poll_fn(|context| Write::poll_shutdown(Pin::new(&mut self), context)).await; // Whoever asked may have gone.
    }

    fn read_some(&mut self, context: &mut Context<'_>, some: &mut [u8]) -> Poll<io::Result<usize>> {
        let mut buffer = ReadBuf::new(some);
        ready!(Pin::new(&mut self.stream).poll_read(context, &mut buffer))?;
        Poll::Ready(Ok(buffer.filled().len()))
    }
}

impl Read for Patient {
    fn poll_read(mut self: Pin<&mut Self>, context: &mut Context<'_>, mut into: ReadBufCursor<'_>) -> Poll<io::Result<()>> {
        let mut some = [0; 4096];
        let most = into.remaining().min(some.len());
        let count = ready!(self.read_some(context, &mut some[..most]))?;
        into.put_slice(&some[..count]);
        Poll::Ready(Ok(()))
    }
}

impl Write for Patient {
    fn poll_write(mut self: Pin<&mut Self>, context: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        let written = Pin::new(&mut self.stream).poll_write(context, bytes);
        if written.is_ready() {
            self.stalled = None;
            return written;
        }
        ready!(self.stalled.get_or_insert_with(|| Box::pin(sleep(READING))).as_mut().poll(context));
        Poll::Ready(Err(io::ErrorKind::TimedOut.into()))
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        if self.farewell.is_none() {
            ready!(Pin::new(&mut self.stream).poll_shutdown(context))?;
            self.farewell = Some(Box::pin(sleep(FAREWELL)));
        }
        let mut some = [0; 4096];
        while self.ignored_bytes < FAREWELL_BYTES {
            match self.read_some(context, &mut some) {
                Poll::Ready(Ok(count)) if count > 0 => self.ignored_bytes += count,
                Poll::Ready(_) => return Poll::Ready(Ok(())),
                Poll::Pending => {
                    if let Some(timer) = &mut self.farewell {
                        ready!(timer.as_mut().poll(context));
                    }
                    return Poll::Ready(Ok(()));
                }
            }
        }
        Poll::Ready(Ok(()))
    }
}
