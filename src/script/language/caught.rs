//! What `catch (problem)` gets: a map with `kind`, `message`, `hint` and `where`, whatever went wrong.
//!
//! The engine passes a map of its own to `catch`, with its own messages, and offers no way to change that. So the names that
//! follow `catch` are noted while scripts are read, and when such a variable is looked up for the first time its value is
//! replaced by ours. Of an error inside of functions the engine's map has only its text left: the error is read back from that.

use super::arguments::Written;
use super::context::Context;
use super::error::ScriptError;
use super::explain::Explainer;
use super::names::Names;
use super::problem::map_of;
use rhai::{AST, Dynamic, EvalAltResult, EvalContext, Map, Position, Token};
use std::collections::BTreeSet;
use std::sync::atomic::{AtomicBool, AtomicU8, Ordering};
use std::sync::{PoisonError, RwLock};

/// The names after `catch` in all scripts that an engine has read.
#[derive(Default)]
pub struct Catches {
    some: AtomicBool,
    names: RwLock<BTreeSet<String>>,
    /// How many tokens of `catch ( name` were just seen.
    seen: AtomicU8,
}

impl Catches {
    /// Looks at the next token of a script.
    pub fn look_at(&self, token: &Token) {
        let seen = self.seen.load(Ordering::Relaxed);
        let next = match (token, seen) {
            (Token::Catch, _) => 1,
            (Token::LeftParen, 1) => 2,
            (Token::Identifier(name), 2) => {
                self.names.write().unwrap_or_else(PoisonError::into_inner).insert(name.to_string());
                self.some.store(true, Ordering::Relaxed);
                0
            }
            _ => 0,
        };
        if next != seen {
            self.seen.store(next, Ordering::Relaxed);
        }
    }

    fn has(&self, name: &str) -> bool {
        self.some.load(Ordering::Relaxed) && self.names.read().unwrap_or_else(PoisonError::into_inner).contains(name)
    }
}

/// Replaces what `catch` got when it is looked up.
pub fn look(catches: &Catches, context: &Context, name: &str, call: &mut EvalContext) {
    if catches.has(name)
        && let Some(map) = call.scope().get(name).and_then(engines_map)
    {
        let ours = our_map(&map, call, context);
        if let Some(mut value) = call.scope_mut().get_mut(name).and_then(Dynamic::write_lock::<Map>) {
            *value = ours;
        }
    }
}

/// The map that the engine made for `catch`, and no other.
fn engines_map(value: &Dynamic) -> Option<Map> {
    let map = value.read_lock::<Map>()?;
    let is_text = |name: &str, start: &str| {
        map.get(name).and_then(|text| text.as_immutable_string_ref().ok().map(|text| text.starts_with(start))) == Some(true)
    };
    (is_text("error", "Error") && is_text("message", "")).then(|| map.clone())
}

fn our_map(engines: &Map, call: &EvalContext, context: &Context) -> Map {
    let text = engines.get("message").map(ToString::to_string).unwrap_or_default();
    let whole = engines.get("line").and_then(|line| line.as_int().ok()).and_then(|line| u16::try_from(line).ok());
    let column = engines.get("position").and_then(|column| column.as_int().ok()).and_then(|column| u16::try_from(column).ok());
    let outer = whole.map_or(Position::NONE, |line| Position::new(line, column.unwrap_or(0)));
    let Told { error, source, at } = Told::read(&text, outer);
    let names = if needs_names(&error) { names(call) } else { Names::default() };
    let units = context.units_of_hints();
    let explainer = Explainer { names: &names, names_in_text: &[], place: &|_, _| None, units };
    let diagnostic = explainer.message(&error, Written::at(None));
    let source = source.or_else(|| call.source().map(String::from));
    map_of(&diagnostic, &context.place_in_words(source.as_deref(), at))
}

fn needs_names(error: &EvalAltResult) -> bool {
    use EvalAltResult as E;
    matches!(
        error,
        E::ErrorFunctionNotFound(..) | E::ErrorVariableNotFound(..) | E::ErrorDotExpr(..) | E::ErrorPropertyNotFound(..)
    )
}

fn names(call: &EvalContext) -> Names {
    let mut names = Names::of_engine(call.engine()).and(call.scope(), &AST::empty());
    for module in call.namespaces() {
        let functions = AST::new_from_module(module.clone());
        names.functions.extend(functions.iter_functions().map(|function| function.name.to_string()));
    }
    names
}

/// The text of an error of the engine, read back.
struct Told {
    error: EvalAltResult,
    source: Option<String>,
    at: Position,
}

impl Told {
    /// Reads the text of an error; `outer` is where the engine saw it first.
    fn read(text: &str, outer: Position) -> Told {
        if let Some((ours, rest)) = ScriptError::unpack(text) {
            let (_, source, at) = placed(rest);
            return Told { error: *Box::<EvalAltResult>::from(ours), source, at: at.unwrap_or(outer) };
        }
        // What follows are the calls that led there.
        let first = ["\nin call to function '", "\nin closure call", "\nin module"]
            .iter()
            .fold(text, |text, calls| text.split_once(calls).map_or(text, |(first, _)| first));
        let (first, source, at) = placed(first);
        Told { error: read_back(first), source, at: at.unwrap_or(outer) }
    }
}

/// A text without ` @ 'source'` and ` (line 1, position 2)` at its end, and those two.
fn placed(text: &str) -> (&str, Option<String>, Option<Position>) {
    let text = text.split("\nin ").next().unwrap_or(text);
    let place = text.strip_suffix(')').and_then(|text| text.rsplit_once(" (line ")).and_then(|(before, place)| {
        let (line, column) = place.split_once(", position ")?;
        Some((before, Position::new(line.parse().ok()?, column.parse().ok()?)))
    });
    let (before, at) = place.map_or((text, None), |(before, at)| (before, Some(at)));
    match before.strip_suffix('\'').and_then(|text| text.rsplit_once(" @ '")) {
        Some((before, source)) => (before, Some(source.to_string()), at),
        None => (before, None, at),
    }
}

/// The error of the engine with this text; what is not known is one of calculation, with its text.
fn read_back(text: &str) -> EvalAltResult {
    use EvalAltResult as E;
    const NONE: Position = Position::NONE;
    let after = |start: &str| text.strip_prefix(start).map(String::from);
    let types = |start: &str| {
        let both = text.strip_prefix(start)?;
        let (found, wanted) = both.split_once(" (expecting ").unwrap_or((both, ""));
        Some((wanted.trim_end_matches(')').to_string(), found.to_string()))
    };
    let bounds = |start: &str| {
        let (index, rest) = text.strip_prefix(start)?.split_once(" out of bounds: ")?;
        let length = rest.split(' ').find_map(|word| word.parse().ok()).unwrap_or(0);
        Some((length, index.parse().ok()?))
    };
    let known = [
        after("Variable not found: ").map(|name| E::ErrorVariableNotFound(name, NONE)),
        after("Property not found: ").map(|name| E::ErrorPropertyNotFound(name, NONE)),
        after("Function not found: ").map(|signature| E::ErrorFunctionNotFound(signature, NONE)),
        after("Module not found: ").map(|name| E::ErrorModuleNotFound(name, NONE)),
        after("Invalid index: ").map(|index| E::ErrorIndexNotFound(index.into(), NONE)),
        after("Indexer unavailable: ").map(|types| E::ErrorIndexingType(types, NONE)),
        after("Data race detected").map(|name| E::ErrorDataRace(name, NONE)),
        after("Cannot modify constant ").map(|name| E::ErrorAssignmentToConstant(name, NONE)),
        after("Unknown property ").map(|_| E::ErrorDotExpr(text.into(), NONE)),
        after("No writable property ").map(|_| E::ErrorDotExpr(text.into(), NONE)),
        after("For loop expects").map(|_| E::ErrorFor(NONE)),
        after("'this' not bound").map(|_| E::ErrorUnboundThis(NONE)),
        types("Data type incorrect: ").map(|(wanted, found)| E::ErrorMismatchDataType(wanted, found, NONE)),
        types("Output type incorrect: ").map(|(wanted, found)| E::ErrorMismatchOutputType(wanted, found, NONE)),
        bounds("Array index ").map(|(length, index)| E::ErrorArrayBounds(length, index, NONE)),
        bounds("String index ").map(|(length, index)| E::ErrorStringBounds(length, index, NONE)),
        quoted_of_constant(text).map(|name| E::ErrorNonPureMethodCallOnConstant(name, NONE)),
        after("Runtime error: ").map(|text| E::ErrorRuntime(text.into(), NONE)),
        after("Runtime error").map(|_| E::ErrorRuntime(Dynamic::UNIT, NONE)),
    ];
    known.into_iter().flatten().next().unwrap_or_else(|| E::ErrorArithmetic(text.into(), NONE))
}

/// The name in `Non-pure method 'push' cannot be called on constant`, and in the like.
fn quoted_of_constant(text: &str) -> Option<String> {
    let about = (text.starts_with("Non-pure ") || text.starts_with("Cannot modify property")) && text.contains("constant");
    about.then(|| text.split('\'').nth(1).unwrap_or("this").to_string())
}

#[cfg(test)]
mod tests {
    use crate::files::Folder;
    use crate::script::Session;

    fn shown(script: &str) -> Vec<String> {
        let outcome = Session::new(Folder::new(".")).evaluate(script);
        assert_eq!(outcome.error(), None, "{script}");
        outcome.shown().into_iter().map(String::from).collect()
    }

    /// What `catch` gets when a statement fails: at top level, inside of a function, and inside of a closure.
    fn caught(fails: &str) -> Vec<Vec<String>> {
        let tell = "print(problem.kind); print(problem.message); print(problem.hint); print(problem.where);";
        let inside = format!("fn f(x) {{ {fails} }}\n");
        vec![
            shown(&format!("let x = 1; try {{ {fails} }} catch (problem) {{ {tell} }}")),
            shown(&format!("{inside}try {{ f(1) }} catch (problem) {{ {tell} }}")),
            shown(&format!("{inside}fn g(x) {{ f(x) }}\ntry {{ g(1) }} catch (problem) {{ {tell} }}")),
            shown(&format!("let f = |x| {{ {fails} }}; try {{ f.call(1) }} catch (problem) {{ {tell} }}")),
        ]
    }

    #[test]
    fn a_caught_error_is_in_our_words() {
        for (fails, kind, message, hint) in [
            ("1.psi + 2.ft", "value", "cannot add 1 psi (a pressure) and 2 ft (a length)", ""),
            ("hose(1.ft)", "value", "'hose' cannot be called with (a quantity): 'diameter' is missing", ""),
            ("x.no_such()", "name", "there is no function 'no_such' that takes (a whole number)", ""),
            ("30.psy", "name", "there is no unit or property 'psy' for a number", "did you mean psi?"),
            ("[1, 2][7]", "value", "there is no item 7 in a list of 2", "items count from 0"),
            ("\"ab\"[7]", "value", "there is no character 7 in a string of 2", "characters count from 0"),
            ("let m = #{ a: 1 }; m.b", "name", "the map has no 'b'", ""),
            ("for y in x { }", "value", "this cannot be used in a for loop", ""),
            ("if x { }", "value", "expected true or false, found a whole number", ""),
            ("1 / 0", "value", "", ""),
        ] {
            for told in caught(fails) {
                assert_eq!(told[0], kind, "{fails}: {told:?}");
                assert!(message.is_empty() || told[1] == message, "{fails}: {told:?}");
                assert!(hint.is_empty() || told[2] == hint, "{fails}: {told:?}");
                assert!(told[3].starts_with("entry 1:1:"), "{fails}: {told:?}");
                let all = told.join(" ");
                for engine in ["Error", "i64", "f64", "not found", "line ", "ImmutableString", "\0"] {
                    assert!(!all.contains(engine), "{fails}: {told:?}");
                }
            }
        }
    }

    #[test]
    fn what_a_script_throws_is_caught_as_it_is_and_a_caught_error_can_be_thrown_again() {
        assert_eq!(shown("try { throw \"dry\" } catch (problem) { print(problem) }"), ["dry"]);
        assert_eq!(shown("try { throw 7.ft } catch (problem) { print(problem + 1.ft) }"), ["8 ft"]);
        assert_eq!(shown("let m = #{ error: 1, message: 2 }; try { throw m } catch (problem) { print(problem.error) }"), ["1"]);
        assert_eq!(
            shown("try { try { 1.psi + 2.ft } catch (a) { throw a } } catch (b) { print(b.message) }"),
            ["cannot add 1 psi (a pressure) and 2 ft (a length)"]
        );
        for again in ["throw a", "throw"] {
            let outcome = Session::new(Folder::new(".")).evaluate(&format!("try {{ 30.psy }} catch (a) {{ {again}; }}"));
            let error = outcome.error().expect("it is thrown again");
            assert_eq!(error.message, "there is no unit or property 'psy' for a number", "{again}");
            assert_eq!(error.hint.as_deref(), Some("did you mean psi?"), "{again}");
        }
    }

    #[test]
    fn a_caught_error_may_be_kept_and_looked_at_later() {
        assert_eq!(
            shown("let all = []; for n in 0..3 { try { [][n] } catch (e) { all.push(e) } } all[2].message"),
            ["there is no item 2 in a list of 0"]
        );
        assert_eq!(shown("let f = (); try { [][0] } catch (e) { f = || e.kind; } f.call()"), ["value"]);
        assert_eq!(shown("let e = 5; try { [][0] } catch (e) { } e"), ["5"]);
    }
}
