//! Contexts and sessions that know all functions.

use crate::files::Folder;
use crate::script::functions::VOCABULARY;
use crate::script::language::context::Context;
use crate::script::language::session::Session;
use std::sync::Arc;

impl Context {
    /// A context for scripts of that folder.
    pub fn new(folder: Folder) -> Context {
        Context::with_functions(folder, &VOCABULARY)
    }
}

impl Session {
    /// A session for scripts of that folder.
    pub fn new(folder: Folder) -> Session {
        Session::with_context(Arc::new(Context::new(folder)))
    }
}
