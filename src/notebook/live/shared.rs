//! What all connections to a live page share.

use super::access::Access;
use super::board::Board;
use super::worker::Wish;
use crate::files::Folder;
use std::net::SocketAddr;
use std::sync::Arc;
use std::sync::mpsc::Sender;
use tokio::sync::Semaphore;

/// What all connections share.
pub struct Shared {
    pub board: Arc<Board>,
    pub wishes: Sender<Wish>,
    pub folder: Folder,
    pub address: SocketAddr,
    pub access: Access,
    /// Those of open pages.
    pub seats: Arc<Semaphore>,
}
