//! Messages about types and functions of other topics, and the stack they run on.

use hosewright::files::Folder;
use hosewright::quantity::{Quantity, dim};
use hosewright::script::diagnostic::Color;
use hosewright::script::error::Answer;
use hosewright::script::sizes::STACK_BYTES;
use hosewright::script::{Session, expect_quantity};
use rhai::{Dynamic, FnPtr, NativeCallContext};

/// A part as another topic would register it.
#[derive(Clone)]
struct Part {
    length_m: f64,
}

fn session() -> Session {
    let mut session = Session::new(Folder::new("."));
    session
        .engine_mut()
        .register_type_with_name::<Part>("a part")
        .register_get("length", |part: &mut Part| Quantity::new(part.length_m, dim::LENGTH))
        .register_set("length", |part: &mut Part, length: Dynamic| -> Answer<()> {
            part.length_m = expect_quantity(&length, dim::LENGTH, "part: length")?;
            Ok(())
        })
        .register_fn("pipe_of", |length: Dynamic| -> Answer<Part> {
            Ok(Part { length_m: expect_quantity(&length, dim::LENGTH, "pipe_of: length")? })
        })
        .register_fn("for_each_zone", |call: NativeCallContext, work: FnPtr| -> Answer<()> {
            for zone in 0..3_i64 {
                drop(work.call_within_context::<Dynamic>(&call, (zone,))?);
            }
            Ok(())
        })
        .register_fn("to_debug", |part: &mut Part| format!("part of {}", Quantity::new(part.length_m, dim::LENGTH)));
    session
}

/// What is shown, or the message and its hint, or the place.
fn answer(text: &str) -> String {
    let outcome = session().evaluate(text);
    match outcome.error() {
        Some(error) => format!("{} | {}", error.message, error.hint.as_deref().unwrap_or("")),
        None => outcome.shown().join("\n"),
    }
}

#[test]
fn a_part_shows_itself_and_takes_new_numbers() {
    assert_eq!(answer("let p = pipe_of(100.ft); p.length = 50.ft; p.length += 1.ft; p"), "part of 51 ft");
    assert_eq!(answer("[pipe_of(100.ft)]"), "[part of 100 ft]");
}

#[test]
fn messages_name_the_part_and_the_argument() {
    assert_eq!(answer("let p = pipe_of(1.ft); p.lenght"), "a part has no property 'lenght' | did you mean length or len?");
    assert_eq!(
        answer("pipe_of(30.psi)"),
        "pipe_of: length must be a length, found 30 psi (a pressure) | give a length, as in 30.ft"
    );
    assert_eq!(
        answer("let p = pipe_of(1.ft); p.length = 3"),
        "part: length must be a length, found 3 (a plain number) | give it a unit, as in 3.ft"
    );
    assert_eq!(
        answer("pipe_of(5/8.inch)"),
        "pipe_of: length must be a length, found 7.62 m^-1... (one over a length) | ".replace("7.62 m^-1...", &shown_inverse())
            + "write (5/8).inch: in 5/8.inch the unit binds to the 8 alone"
    );
    assert_eq!(answer("pipe_of(1.ft) + 1"), "'+' cannot be used between a part and a whole number | ");
    assert_eq!(answer("sqrt(pipe_of(1.ft))"), "sqrt needs a number or quantity, found a part | ");
    assert_eq!(
        answer("let p = pipe_of(1.ft); p.wather(3)"),
        "there is no function 'wather' that takes (a part, a whole number) | did you mean water or weather or gather?"
    );
}

fn shown_inverse() -> String {
    Quantity::new(5.0 / (8.0 * 0.0254), dim::LENGTH.power(-1)).to_string()
}

#[test]
fn an_error_in_a_closure_called_by_a_word_is_placed_in_the_closure() {
    let outcome = session().evaluate("for_each_zone(|zone| {\n    zone.ft + 1.psi\n});");
    let error = outcome.error().expect("it adds a pressure to a length");
    let place = error.place.as_ref().expect("a place");
    assert_eq!((place.line, place.column), (2, 13), "{}", error.render(Color::No));
    assert_eq!(error.calls.iter().map(|call| call.what.as_str()).collect::<Vec<_>>(), ["in a closure called"]);
}

#[test]
fn the_deepest_recursion_fits_on_the_stack_of_a_worker_thread() {
    let nested = format!("{}deeper(n + 1){}", "abs(1 + ".repeat(26), ")".repeat(26));
    let text = format!("fn deeper(n) {{ if n > 0 {{ {nested} }} else {{ 0 }} }}\ndeeper(1)");
    let work = std::thread::Builder::new().stack_size(STACK_BYTES).spawn(move || answer(&text)).expect("a thread");
    let found = work.join().expect("the stack is large enough");
    assert_eq!(found, "functions call each other too deeply | check for a function that calls itself endlessly");
}
