//! The script engine with our rules: strict names, true quotients, limits that keep the machine usable, and a stop flag.
//!
//! Names no functions of scripts; those are in the topics.

use super::caught::Catches;
use super::context::Context;
use super::error::Answer;
use super::imports::OwnFolder;
use super::{as_lists, caught, engine_functions, nesting, sizes, tokens};
use crate::limits;
use rhai::{Dynamic, Engine, EvalAltResult, LexError, OptimizationLevel, Position, Token};
use std::sync::Arc;

/// A new engine with all functions, sharing the context.
///
/// Engines are not shared between threads: make one in each worker from the same context.
pub fn engine(context: &Arc<Context>) -> Engine {
    let mut engine = Engine::new();
    let catches = Arc::new(Catches::default());
    set_rules(&mut engine, &catches);
    look_at_variables(&mut engine, &catches, context);
    set_limits(&mut engine);
    listen(&mut engine, context);
    engine.set_module_resolver(OwnFolder::new(context.clone()));
    engine.set_default_tag(Dynamic::from(context.clone()));
    context.vocabulary().register(&mut engine);
    as_lists::register(&mut engine);
    engine
}

/// Words that the engine keeps for a future of its own and that studies need as names.
const FREED_WORDS: &[&str] = &["case", "with", "static", "match", "use", "new", "default"];

/// Words of the engine that wait, or copy a function into itself, without end.
const REFUSED_WORDS: &[&str] = &["curry", "sleep"];

/// Lets scripts use some reserved words as names, and refuses others and numbers that no calculation holds; and notes the names
/// after `catch`.
#[allow(deprecated, reason = "the engine marks this call as one that may change; its version is pinned")]
fn free_words(engine: &mut Engine, catches: &Arc<Catches>) {
    let catches = catches.clone();
    engine.on_parse_token(move |token, _, _| {
        if limits::ended() {
            // Solution a long script takes a while, too; the message is that of the stop.
            return Token::LexError(Box::new(LexError::ImproperSymbol(String::new(), String::new())));
        }
        let token = match token {
            Token::Reserved(word) | Token::Identifier(word) if REFUSED_WORDS.contains(&word.as_str()) => {
                Token::LexError(Box::new(LexError::ImproperSymbol(word.to_string(), String::new())))
            }
            Token::FloatConstant(number) if !number.0.is_finite() => {
                Token::LexError(Box::new(LexError::MalformedNumber(number.1.to_string())))
            }
            Token::Reserved(word) if FREED_WORDS.contains(&word.as_str()) => Token::Identifier(word),
            other => other,
        };
        catches.look_at(&token);
        token
    });
}

fn set_rules(engine: &mut Engine, catches: &Arc<Catches>) {
    free_words(engine, catches);
    engine
        .set_fast_operators(false)
        .set_strict_variables(true)
        .set_fail_on_invalid_map_property(true)
        .set_optimization_level(OptimizationLevel::None)
        .disable_symbol("eval");
    engine_functions::register(engine);
}

/// Looks at variables as they are read; the engine lets one look at them only.
#[allow(deprecated, reason = "the engine marks this call as one that may change; its version is pinned")]
fn look_at_variables(engine: &mut Engine, catches: &Arc<Catches>, context: &Arc<Context>) {
    let (catches, context, looks) = (catches.clone(), context.clone(), nesting::Looks::default());
    engine.on_var(move |name, _, mut call| {
        caught::look(&catches, &context, name, &mut call);
        looks.look(name, &call).map(|()| None)
    });
}

fn set_limits(engine: &mut Engine) {
    engine
        .set_max_operations(sizes::MAX_STEPS)
        .set_max_call_levels(sizes::MAX_CALL_LEVELS)
        .set_max_expr_depths(sizes::MAX_EXPRESSION_DEPTH, sizes::MAX_EXPRESSION_DEPTH)
        .set_max_string_size(sizes::MAX_TEXT_BYTES)
        .set_max_array_size(sizes::MAX_LIST_ITEMS)
        .set_max_map_size(sizes::MAX_MAP_ITEMS)
        .set_max_variables(tokens::MOST_VARIABLES)
        .set_max_modules(sizes::MAX_MODULES);
}

fn listen(engine: &mut Engine, context: &Arc<Context>) {
    let stop = context.stop.clone();
    engine.on_progress(move |_| stop.load(std::sync::atomic::Ordering::Relaxed).then_some(Dynamic::UNIT));
    let shared = context.clone();
    engine.on_print(move |text| shared.note(text));
    let shared = context.clone();
    engine.on_debug(move |text, _, _| shared.note(text));
    for_exit(engine, context);
}

/// `exit` ends the script and, in the shell, the session.
fn for_exit(engine: &mut Engine, context: &Arc<Context>) {
    let exit = |value: Dynamic| -> Answer<Dynamic> { Err(Box::new(EvalAltResult::Exit(value, Position::NONE))) };
    let shared = context.clone();
    engine.register_fn("exit", move || {
        shared.leave();
        exit(Dynamic::UNIT)
    });
    let shared = context.clone();
    engine.register_fn("exit", move |value: Dynamic| {
        shared.leave();
        exit(value)
    });
}
