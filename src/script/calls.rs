//! Calling a closure of the script for many values, fast.
//!
//! A call from native code begins with an empty memory of which function a name means, and finds all of them again. Here
//! the loop over the values runs inside the engine instead, so that they are found once.

use super::error::{Answer, ScriptError};
use rhai::{AST, Array, Dynamic, EvalAltResult, FnPtr, NativeCallContext, Scope};

/// Values handed over at a time: enough to forget the cost of beginning, and few, since the engine measures the whole list of
/// answers against its limits each time one is added.
const AT_A_TIME: usize = 64;
const LOOP: &str = "let answers = []; for value in values { answers.push(closure.call(value)); } answers";

/// The answers of the closure for all values, in order.
///
/// Errors: the first error of the closure, with its place in the script; a stop by the user.
pub fn call_each(
    call: &NativeCallContext,
    closure: &FnPtr,
    values: impl IntoIterator<Item = Answer<Dynamic>>,
) -> Answer<Vec<Dynamic>> {
    let engine = call.engine();
    let mut scope = Scope::new();
    scope.push_dynamic("values", Dynamic::UNIT);
    scope.push_dynamic("closure", Dynamic::UNIT);
    let program =
        engine.compile_with_scope(&scope, LOOP).map_err(|error| ScriptError::new(format!("the loop over a closure: {error}")))?;
    // The closure lives among the functions of the script that calls.
    let functions = call.global_runtime_state().lib.first().cloned();
    let program = match functions {
        Some(functions) => AST::new(program.statements().iter().cloned(), functions),
        None => program,
    };
    let mut answers = Vec::new();
    let mut values = values.into_iter();
    loop {
        let some: Array = values.by_ref().take(AT_A_TIME).collect::<Result<_, _>>()?;
        if some.is_empty() {
            return Ok(answers);
        }
        let mut scope = Scope::new();
        scope.push_dynamic("values", Dynamic::from_array(some));
        scope.push("closure", closure.clone());
        let found: Array = engine.eval_ast_with_scope(&mut scope, &program).map_err(without_the_loop)?;
        answers.extend(found);
    }
}

/// The error as the closure raised it: the loop is no place of the user's script.
#[expect(clippy::boxed_local, reason = "the engine hands its errors over in boxes")]
fn without_the_loop(error: Box<EvalAltResult>) -> Box<EvalAltResult> {
    match *error {
        EvalAltResult::ErrorInFunctionCall(_, _, inner, _) => inner,
        other => Box::new(other),
    }
}
