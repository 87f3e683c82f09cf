//! The body of an answer that never ends: news of the board as server-sent events.

use super::board::Listener;
use hyper::body::{Body, Bytes, Frame};
use std::convert::Infallible;
use std::pin::Pin;
use std::task::{Context, Poll, ready};
use std::time::Duration;
use tokio::sync::OwnedSemaphorePermit;
use tokio::time::timeout;

/// How long nothing may happen before a comment is sent to see whether anybody listens.
const HEARTBEAT: Duration = Duration::from_secs(10);

type Next = Pin<Box<dyn Future<Output = Option<(Listener, Bytes)>> + Send>>;

/// First how things stand, then everything new; it holds a seat until nobody listens any more.
pub struct Events {
    next: Next,
    _seat: OwnedSemaphorePermit,
}

impl Events {
    pub fn new(listener: Listener, seat: OwnedSemaphorePermit) -> Events {
        Events { next: Box::pin(next(listener)), _seat: seat }
    }
}

async fn next(mut listener: Listener) -> Option<(Listener, Bytes)> {
    let event = match timeout(HEARTBEAT, listener.next()).await {
        Ok(event) => event?,
        Err(_) => Bytes::from_static(b": still here\n\n"),
    };
    Some((listener, event))
}

impl Body for Events {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Option<Result<Frame<Bytes>, Infallible>>> {
        let Some((listener, event)) = ready!(self.next.as_mut().poll(context)) else { return Poll::Ready(None) };
        self.next = Box::pin(next(listener));
        Poll::Ready(Some(Ok(Frame::data(event))))
    }
}
