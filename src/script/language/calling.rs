//! What a function gets from the engine that calls it: the context of the session, and how results show.

use super::context::Context;
use super::error::{Answer, ScriptError};
use crate::report::Look;
use rhai::NativeCallContext;
use std::sync::Arc;

/// The context of the engine that calls a function; for functions in an exported module, which capture nothing.
///
/// Errors: an engine that was not made here.
pub fn context_of(call: &NativeCallContext) -> Answer<Arc<Context>> {
    let context = call.tag().and_then(|tag| tag.read_lock::<Arc<Context>>().map(|context| context.clone()));
    context.ok_or_else(|| ScriptError::new("this engine has no context").into())
}

/// The units and the width in which the engine that calls a function shows results.
pub fn look_of(call: &NativeCallContext) -> Answer<Look> {
    let context = context_of(call)?;
    Ok(Look { system: context.units(), width: context.width(), tables: context.width_of_tables() })
}
