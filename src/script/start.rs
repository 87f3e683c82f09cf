//! Contexts and sessions that know all words.

use super::areas::VOCABULARY;
use super::context::Context;
use super::session::Session;
use crate::files::Folder;
use std::sync::Arc;

impl Context {
    /// A context for scripts of that folder.
    pub fn new(folder: Folder) -> Context {
        Context::with_words(folder, &VOCABULARY)
    }
}

impl Session {
    /// A session for scripts of that folder.
    pub fn new(folder: Folder) -> Session {
        Session::with_context(Arc::new(Context::new(folder)))
    }
}
