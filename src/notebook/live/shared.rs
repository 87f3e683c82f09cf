//! What all connections to a live page share.

use super::access::Access;
use super::board::Board;
use super::wishes::Wishes;
use crate::files::Folder;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use tokio::sync::Semaphore;

/// What all connections share.
pub struct Shared {
    pub board: Arc<Board>,
    pub wishes: Arc<Wishes>,
    pub folder: Folder,
    /// The study, which alone is written: whoever writes holds the lock.
    pub file: Mutex<PathBuf>,
    pub address: SocketAddr,
    pub access: Access,
    /// Those of open pages.
    pub seats: Arc<Semaphore>,
}
