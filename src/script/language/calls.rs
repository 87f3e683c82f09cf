//! Calling a closure of the script for many values, fast.
//!
//! A call from native code begins with an empty memory of which function a name means, and finds all of them again. Here
//! the loop over the values runs inside the engine instead, so that they are found once. In a run of one part of a divided study,
//! sweeps inside the closure are whole.

use super::calling::context_of;
use super::context::Context;
use super::error::{Answer, ScriptError};
use super::explain::Explainer;
use super::names::Names;
use crate::limits;
use crate::quantity::UnitSystem;
use rhai::{AST, Array, Caches, Dynamic, Engine, EvalAltResult, FnPtr, GlobalRuntimeState, NativeCallContext, Scope};
use std::sync::Arc;

/// Values handed over at a time; few, since the engine measures the whole list of answers against its limits each time one
/// is added, and counts the modules that functions import.
const AT_A_TIME: usize = 16;
const LOOP: &str = "for value in values { answers.push(closure.call(value)); }";

/// A closure of a script, ready to be called by an engine.
pub struct Caller<'e> {
    engine: &'e Engine,
    context: Arc<Context>,
    program: AST,
    global: GlobalRuntimeState,
    caches: Caches,
    closure: FnPtr,
}

/// How calling a closure for some values ended.
pub struct Called {
    /// The answers before the first failure, in order.
    pub answers: Vec<Dynamic>,
    /// Why the value after them has none.
    pub error: Option<Box<EvalAltResult>>,
}

impl<'e> Caller<'e> {
    /// Prepares the calls; functions, constants and imports are those of `global`, the context is that of the engine.
    pub fn new(engine: &'e Engine, context: Arc<Context>, global: GlobalRuntimeState, closure: FnPtr) -> Answer<Caller<'e>> {
        let mut scope = Scope::new();
        for name in ["values", "closure", "answers"] {
            scope.push_dynamic(name, Dynamic::UNIT);
        }
        let compiled = engine.compile_with_scope(&scope, LOOP);
        let program = compiled.map_err(|error| ScriptError::new(format!("the loop over a closure: {error}")))?;
        Ok(Caller { engine, context, program, global, caches: Caches::new(), closure })
    }

    /// Prepares calls from a function of the calling script.
    pub fn of_call(call: &'e NativeCallContext<'e>, closure: &FnPtr) -> Answer<Caller<'e>> {
        let (engine, theirs) = (call.engine(), call.global_runtime_state());
        let mut global = engine.new_global_runtime_state();
        // Calls inside calls go on being counted: each level takes its part of the one stack.
        global.level = theirs.level;
        // The closure lives among the functions of the script that calls.
        global.lib.extend(theirs.lib.iter().cloned());
        global.constants = theirs.constants.clone();
        for (name, module) in theirs.scan_imports_raw() {
            global.push_import(name.clone(), module.clone());
        }
        Caller::new(engine, context_of(call)?, global, closure.clone())
    }

    /// Calls the closure for a few values, until one fails.
    pub fn call(&mut self, values: Array) -> Called {
        let mut scope = Scope::new();
        let n = values.len();
        scope.push_dynamic("values", Dynamic::from_array(values));
        scope.push("closure", self.closure.clone());
        scope.push_dynamic("answers", Dynamic::from_array(Array::with_capacity(n)));
        self.global.num_modules_loaded = 0;
        let _within = self.context.within_closure();
        let statements = self.program.statements();
        #[allow(deprecated, reason = "the only way to call with constants and imports, and to keep what was found")]
        let result = self.engine.eval_statements_raw(&mut self.global, &mut self.caches, &mut scope, statements);
        let answers = scope.get_mut("answers").and_then(|value| std::mem::take(value).into_array().ok()).unwrap_or_default();
        let error = result.err().map(without_the_loop);
        if error.is_some() {
            // What was found may have been left half-way down.
            self.caches = Caches::new();
        }
        Called { answers, error }
    }
}

/// The answers of the closure for `n` values in order, until one fails; `value` makes the value of a number below `n`.
pub fn call_all(caller: &mut Caller, n: usize, mut value: impl FnMut(usize) -> Answer<Dynamic>) -> Called {
    let mut answers = Vec::with_capacity(n);
    while answers.len() < n {
        let first = answers.len();
        let some: Answer<Array> = (first..n.min(first + AT_A_TIME)).map(&mut value).collect();
        let called = match some {
            Ok(some) => caller.call(some),
            Err(error) => return Called { answers, error: Some(error) },
        };
        answers.extend(called.answers);
        if called.error.is_some() {
            return Called { answers, error: called.error };
        }
    }
    Called { answers, error: None }
}

/// The answers of the closure for all values, in order.
///
/// Errors: the first error of the closure, with its place in the script; a stop by the user.
pub fn call_each(
    call: &NativeCallContext,
    closure: &FnPtr,
    values: impl IntoIterator<Item = Answer<Dynamic>>,
) -> Answer<Vec<Dynamic>> {
    let values: Array = values.into_iter().collect::<Answer<_>>()?;
    let called = call_all(&mut Caller::of_call(call, closure)?, values.len(), |number| Ok(values[number].clone()));
    called.error.map_or(Ok(called.answers), Err)
}

/// The answer of the closure for one value, for a function that asks a few times. Errors: those of the closure.
pub fn call_once(call: &NativeCallContext, closure: &FnPtr, value: Dynamic) -> Answer<Dynamic> {
    let context = context_of(call)?;
    let _within = context.within_closure();
    closure.call_within_context(call, (value,))
}

/// An answer for each of `n` values, or why it has none; nothing at all when the script is to end here. `value` makes the
/// value of a number below `n`, and makes it again where a failure cut the calls short.
///
/// Errors: a stop by the user, or `exit`; what `value` gives.
pub fn call_each_or_fail(
    caller: &mut Caller,
    n: usize,
    mut value: impl FnMut(usize) -> Answer<Dynamic>,
) -> Answer<Vec<Answer<Dynamic>>> {
    let mut outcomes: Vec<Answer<Dynamic>> = Vec::with_capacity(n);
    while outcomes.len() < n {
        let first = outcomes.len();
        let some: Array = (first..n.min(first + AT_A_TIME)).map(&mut value).collect::<Answer<_>>()?;
        let called = caller.call(some);
        outcomes.extend(called.answers.into_iter().map(Ok));
        if let Some(error) = called.error {
            if ends_the_script(&error) {
                return Err(error);
            }
            outcomes.push(Err(error));
        }
    }
    Ok(outcomes)
}

/// True for a stop, for `exit`, and for a limit of the engine that no other case would keep. Whatever fails once the evaluation is stopped may fail for that reason only.
pub fn ends_the_script(error: &EvalAltResult) -> bool {
    if limits::ended() {
        return true;
    }
    match error {
        EvalAltResult::ErrorTerminated(..) | EvalAltResult::Exit(..) => true,
        EvalAltResult::ErrorStackOverflow(_) | EvalAltResult::ErrorTooManyOperations(_) => true,
        EvalAltResult::ErrorInFunctionCall(_, _, inner, _) | EvalAltResult::ErrorInModule(_, inner, _) => ends_the_script(inner),
        _ => false,
    }
}

/// What failed, in one line, without the calls around it.
pub fn reason(error: &EvalAltResult) -> String {
    match error {
        EvalAltResult::ErrorInFunctionCall(_, _, inner, _) | EvalAltResult::ErrorInModule(_, inner, _) => reason(inner),
        other => {
            let units = UnitSystem::default();
            Explainer { names: &Names::default(), names_in_text: &[], place: &|_, _| None, units }.explain(other).message
        }
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
