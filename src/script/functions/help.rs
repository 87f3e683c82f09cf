//! The functions `help` and `search_help`.
//!
//! Their text is made in `script/help`.

use crate::script::help::{overview, search, topic_text};
use crate::script::language::calling::context_of;
use crate::script::language::error::Answer;
use rhai::{Engine, FuncRegistration, NativeCallContext};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
In the shell, `help` and `help sqrt` work without parentheses, the Tab key completes names, units after a dot and help topics, Ctrl-C
stops an evaluation and keeps the variables, and `quit` or Ctrl-D leaves. `exit()` ends a script early.

The list methods `push`, `pop`, `insert`, `remove`, `sort`, `sort_by`, `dedup`, `drain` and `retain` and the string methods `trim`, `replace` and `make_upper` change
their list or string in place. Functions of parts, gardens, tables, charts and schedules give a new value: write `plot = plot.with("feed.length", 200.ft)` to keep it.
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    FuncRegistration::new("help").with_params_info(["topic: &str"]).with_comments(HELP_DOC.lines()).register_into_engine(
        engine,
        |call: NativeCallContext, topic: &str| -> Answer<String> {
            let context = context_of(&call)?;
            Ok(topic_text(context.vocabulary(), topic, context.width())?)
        },
    );
    FuncRegistration::new("help").register_into_engine(engine, |call: NativeCallContext| -> Answer<String> {
        let context = context_of(&call)?;
        Ok(overview(context.vocabulary(), context.width()))
    });
    FuncRegistration::new("search_help").with_params_info(["text: &str"]).with_comments(SEARCH_DOC.lines()).register_into_engine(
        engine,
        |call: NativeCallContext, text: &str| -> Answer<String> {
            let context = context_of(&call)?;
            Ok(search(context.vocabulary(), text, context.width()))
        },
    );
}

const HELP_DOC: &str = r#"/// Help on a function, a unit or a topic; without an argument, the list of topics.
///
/// ```hw
/// help("psi")   // => psi is a unit of pressure: 1 psi = 0.06895 bar
/// ```"#;

const SEARCH_DOC: &str = r#"/// Searches the functions by a term of the trade, such as "friction loss" or "dead head", by name, and by the text of their help.
///
/// The best comes first. Capital letters, hyphens and underscores make no difference; short terms such as "ET" match whole words.
///
/// ```hw
/// search_help("cube root")   // => cbrt   The cube root of a number or quantity; the dimension must have one.
/// ```"#;
