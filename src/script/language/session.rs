//! A session: entries evaluated one after another, statement by statement, with variables, functions and imports kept.
//!
//! Knows nothing of terminals and files; the shell, `run` and `eval` show what it returns.

use super::chains::grouped;
use super::context::Context;
use super::diagnostic::Diagnostic;
use super::engine::engine;
use super::entries::{Entries, offset_of};
use super::explain::Explainer;
use super::names::Names;
use super::span::Lines;
use super::statements::{holding, statements};
use super::stopped::report_stop;
use super::tokens::{TokenKind, Tokens, crowded, depth_change, tokenize};
use super::types::type_in_words;
use super::units_written::{thousands_written, units_written};
use super::values::{as_quantity, describe};
use crate::limits;
use rhai::{
    AST, ASTFlags, ASTNode, Caches, Dynamic, Engine, EvalAltResult, Expr, GlobalRuntimeState, Module, Position, Scope, Stmt,
};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::{Arc, OnceLock};

/// What a statement gave.
#[derive(Clone, Debug)]
pub struct CellResult {
    /// The statement in bytes of the entry.
    pub range: Range<usize>,
    /// First and last line of the statement, counted from one.
    pub lines: (usize, usize),
    /// Texts to show: what was printed, then the value; each may have several lines.
    pub shown: Vec<String>,
    /// The value, where one is shown.
    pub value: Option<Dynamic>,
    /// Why it failed or was stopped, if so.
    pub error: Option<Diagnostic>,
}

/// What an entry gave: a result for each statement that showed something or failed.
#[derive(Clone, Debug, Default)]
pub struct Outcome {
    /// The results, in the order of the statements.
    pub cells: Vec<CellResult>,
}

impl Outcome {
    /// The error that ended the entry.
    pub fn error(&self) -> Option<&Diagnostic> {
        self.cells.iter().find_map(|cell| cell.error.as_ref())
    }

    /// All shown texts.
    pub fn shown(&self) -> Vec<&str> {
        self.cells.iter().flat_map(|cell| cell.shown.iter().map(String::as_str)).collect()
    }
}

/// Entries evaluated one after another.
pub struct Session {
    engine: Engine,
    /// What the engine knows, once asked for.
    known: OnceLock<Names>,
    context: Arc<Context>,
    scope: Scope<'static>,
    functions: AST,
    /// Imports and constants of earlier entries.
    global: GlobalRuntimeState,
    entries: Entries,
    /// Shows the variable `value`.
    printer: AST,
    /// True when the last entry ended by `return` or `exit`.
    ended: bool,
}

impl Session {
    /// A session with a context made elsewhere.
    pub fn with_context(context: Arc<Context>) -> Session {
        let engine = engine(&context);
        let mut scope = Scope::new();
        scope.push("value", ());
        let printer = engine.compile_with_scope(&scope, "to_debug(value)").unwrap_or_default();
        let global = engine.new_global_runtime_state();
        Session {
            engine,
            known: OnceLock::new(),
            context,
            scope: Scope::new(),
            functions: AST::empty(),
            global,
            entries: Entries::default(),
            printer,
            ended: false,
        }
    }

    /// What all evaluations of the session share: its folder, units, threads.
    pub fn context(&self) -> &Arc<Context> {
        &self.context
    }

    /// The engine, for limits of tests and for reading what it has registered.
    pub fn engine_mut(&mut self) -> &mut Engine {
        &mut self.engine
    }

    /// True when the last entry ended by `return` or `exit`.
    pub(in crate::script) fn ended(&self) -> bool {
        self.ended
    }

    pub(in crate::script) fn scope(&self) -> &Scope<'static> {
        &self.scope
    }

    pub(in crate::script) fn scope_mut(&mut self) -> &mut Scope<'static> {
        &mut self.scope
    }

    pub(in crate::script) fn functions(&self) -> &AST {
        &self.functions
    }

    pub(in crate::script) fn global(&self) -> &GlobalRuntimeState {
        &self.global
    }

    pub(in crate::script) fn set_global(&mut self, global: GlobalRuntimeState) {
        self.global = global;
    }

    pub(in crate::script) fn set_functions(&mut self, functions: AST) {
        self.functions = functions;
    }

    /// The variables by name, each with what it holds in words.
    pub fn variables(&self) -> Vec<(String, String)> {
        let words = |value: &Dynamic| {
            let shows = value.is_string() || as_quantity(value).is_some();
            let kind = || type_in_words(self.engine.map_type_name(value.type_name())).to_string();
            if shows { describe(value) } else { kind() }
        };
        let mut all: BTreeMap<String, String> = BTreeMap::new();
        for (name, _, value) in self.scope.iter_raw() {
            all.insert(name.to_string(), words(&value.flatten_clone()));
        }
        all.into_iter().collect()
    }

    /// The names known now, for completion.
    pub fn names(&self) -> Names {
        self.known.get_or_init(|| Names::of_engine(&self.engine)).clone().and(&self.scope, &self.functions)
    }

    /// The name of the next entry in messages, such as `entry 3`.
    pub fn next_name(&self) -> String {
        format!("entry {}", self.entries.count() + 1)
    }

    /// Evaluates an entry; a failing statement ends it and keeps all variables.
    pub fn evaluate(&mut self, text: &str) -> Outcome {
        let name = self.next_name();
        let mut outcome = Outcome::default();
        self.evaluate_each(&name, text, &mut |cell| outcome.cells.push(cell));
        outcome
    }

    /// Evaluates an entry and parallel_calls over each result as soon as it is there; `name` stands in messages.
    pub fn evaluate_each(&mut self, name: &str, text: &str, on_result: &mut dyn FnMut(CellResult)) {
        self.evaluate_part(name, text, 0, on_result);
    }

    /// Evaluates a part of a text; `lines_in_front` is the number of lines before it, and lines of places are those of the whole text.
    pub(in crate::script) fn evaluate_part(
        &mut self,
        name: &str,
        text: &str,
        lines_in_front: usize,
        on_result: &mut dyn FnMut(CellResult),
    ) {
        self.ended = false;
        let context = self.context.clone();
        let watched = context.watch.begin();
        let mut on_result = |mut cell: CellResult| {
            if let Some(error) = &mut cell.error {
                report_stop(error, &context.watch);
            }
            on_result(cell);
        };
        self.evaluate_watched(name, text, lines_in_front, &mut on_result);
        drop(watched);
    }

    fn evaluate_watched(&mut self, name: &str, text: &str, lines_in_front: usize, on_result: &mut dyn FnMut(CellResult)) {
        let lines_before = self.entries.add(name, text, lines_in_front);
        self.context.add_entry(name, lines_before);
        let (cut, lines) = (tokenize(text), Lines::of(text));
        if let Some(units) = units_written(text, &cut.tokens) {
            self.context.note_units_written(units);
        }
        if let Some(remark) = thousands_written(text, &cut.tokens) {
            self.context.note(remark);
        }
        // The engine looks through all variables for each that a text defines, and listens to nobody meanwhile.
        if let Some(range) = crowded(text, &cut) {
            let error = EvalAltResult::ErrorTooManyVariables(Position::NONE);
            return on_result(self.failed(&error, range, text, &cut));
        }
        // Of two imports of one name, the parser would take the earlier one.
        let anew = imported_in(text, &cut);
        let names = self.global.scan_imports_raw().map(|(name, _)| name.to_string());
        let imports: Vec<String> = names.filter(|name| !anew.contains(name.as_str())).collect();
        let prefix: String = imports.iter().map(|name| format!("import \"\" as {name};")).collect();
        let placed = format!("{prefix}{}{}", "\n".repeat(lines_before), grouped(text));
        let compiled = self.engine.compile_with_scope(&self.scope, &placed);
        let ast = match compiled {
            Ok(ast) => ast,
            Err(error) => {
                let error = EvalAltResult::ErrorParsing(*error.0, error.1);
                return on_result(self.failed(&error, 0..0, text, &cut));
            }
        };
        self.context.begin_text(text);
        if ast.has_functions() {
            self.entries.keep_last();
            self.context.add_source(placed);
            // Nobody else holds the functions then, so they are added to where they stand and need not be copied.
            self.global.lib.clear();
            self.functions.combine(ast.clone_functions_only());
        }
        self.renew_global(&anew);
        let body: Vec<&Stmt> =
            ast.statements().iter().skip(imports.len()).filter(|stmt| !matches!(stmt, Stmt::Noop(_))).collect();
        let places = body.iter().map_while(|stmt| (!limits::ended()).then(|| offset_of(&lines, stmt.position(), lines_before)));
        let inside: Vec<usize> = places.collect();
        if let Err(ended) = limits::go_on() {
            let stopped: Box<EvalAltResult> = ended.into();
            return on_result(self.failed(&stopped, 0..0, text, &cut));
        }
        let cuts = statements(text, &cut);
        for (stmt, range) in body.into_iter().zip(inside.into_iter().map(|at| holding(&cuts, at))) {
            let result = self.evaluate_statement(stmt);
            let result = result.and_then(|step| {
                if step.go_on == GoOn::Yes { limits::go_on().map(|()| step).map_err(Into::into) } else { Ok(step) }
            });
            match result {
                Ok(Step { value, go_on }) => {
                    let shown = self.shown(value.as_ref());
                    match shown {
                        Ok(shown) if !shown.is_empty() => on_result(CellResult {
                            lines: (lines.line(range.start), lines.line(range.end)),
                            range,
                            shown,
                            value,
                            error: None,
                        }),
                        Ok(_) => {}
                        Err(error) => return on_result(self.failed(&error, range, text, &cut)),
                    }
                    if go_on == GoOn::No {
                        self.ended = true;
                        return;
                    }
                }
                Err(error) => return on_result(self.failed(&error, range, text, &cut)),
            }
        }
    }

    /// A fresh run-time state that has the constants of the old one, and its imports but for those of these names.
    fn renew_global(&mut self, anew: &BTreeSet<&str>) {
        let mut global = self.engine.new_global_runtime_state();
        for (name, module) in self.global.scan_imports_raw().filter(|(name, _)| !anew.contains(name.as_str())) {
            global.push_import(name.clone(), module.clone());
        }
        global.constants = self.global.constants.take();
        global.lib.push(self.functions.shared_lib().clone());
        self.global = global;
    }

    fn evaluate_statement(&mut self, stmt: &Stmt) -> Result<Step, Box<EvalAltResult>> {
        let returns = has_return(stmt);
        let mut block = vec![stmt.clone()];
        if returns {
            // The engine does not distinguish a value that was returned from the value of a statement: a mark after it does.
            block.push(Stmt::Expr(Box::new(Expr::StringConstant(NOT_RETURNED.into(), Position::NONE))));
        }
        let mut caches = Caches::new();
        #[allow(deprecated)] // The only way to keep imports and constants from one statement to the next.
        let value = self.engine.eval_statements_raw(&mut self.global, &mut caches, &mut self.scope, &block);
        self.context.judge_made();
        let value = value?;
        let fell_through = returns && value.as_immutable_string_ref().is_ok_and(|text| text.as_str() == NOT_RETURNED);
        let ended = self.context.left() || (returns && !fell_through);
        let silent = matches!(stmt, Stmt::Var(..) | Stmt::Assignment(_) | Stmt::Import(..) | Stmt::Export(..) | Stmt::Share(_));
        let value = (!silent && !fell_through && !value.is_unit()).then(|| value.flatten());
        Ok(Step { value, go_on: if ended { GoOn::No } else { GoOn::Yes } })
    }

    /// What was printed, and the value as people see it.
    fn shown(&mut self, value: Option<&Dynamic>) -> Result<Vec<String>, Box<EvalAltResult>> {
        let mut shown = self.context.take_notes();
        if let Some(value) = value {
            let text = self.show(value)?;
            shown.extend(self.context.take_notes());
            shown.push(text);
        }
        Ok(shown)
    }

    /// A value as people see it: texts as they are, everything else by its `to_debug`.
    fn show(&self, value: &Dynamic) -> Result<String, Box<EvalAltResult>> {
        if let Ok(text) = value.as_immutable_string_ref() {
            return Ok(text.to_string());
        }
        let mut scope = Scope::new();
        scope.push_dynamic("value", value.clone());
        self.engine.eval_ast_with_scope::<String>(&mut scope, &self.printer)
    }

    fn failed(&mut self, error: &EvalAltResult, range: Range<usize>, text: &str, cut: &Tokens) -> CellResult {
        let lines = Lines::of(text);
        let names = self.names();
        let names_in_text = defined_names(text, cut);
        let place = |source: Option<&str>, at: Position| self.entries.place(&self.context.folder, source, at);
        let explainer =
            Explainer { names: &names, names_in_text: &names_in_text, place: &place, units: self.context.units_of_hints() };
        let mut diagnostic = explainer.explain(error).readable();
        if diagnostic.place.is_none() && !range.is_empty() {
            diagnostic.place = self.entries.place_in_last(range.clone());
        }
        let shown = self.context.take_notes();
        CellResult { lines: (lines.line(range.start), lines.line(range.end)), range, shown, value: None, error: Some(diagnostic) }
    }
}

/// The names under which a text imports scripts, outside of its blocks.
fn imported_in<'t>(text: &'t str, cut: &Tokens) -> BTreeSet<&'t str> {
    let (mut depth, mut names, mut imports, mut before) = (0, BTreeSet::new(), false, "");
    for token in cut
        .tokens
        .iter()
        .filter(|token| !matches!(token.kind, TokenKind::Space | TokenKind::LineComment | TokenKind::BlockComment))
    {
        depth += depth_change(token.kind);
        let word = &text[token.range.clone()];
        match token.kind {
            TokenKind::Word if word == "import" && depth == 0 => imports = true,
            TokenKind::Word if imports && before == "as" => {
                names.insert(word);
                imports = false;
            }
            TokenKind::Symbol(';') => imports = false,
            _ => {}
        }
        before = word;
    }
    names
}

/// A text that no script can return, to see that a statement fell through.
const NOT_RETURNED: &str = "\u{0}not returned\u{0}";

#[derive(PartialEq, Eq)]
enum GoOn {
    Yes,
    No,
}

struct Step {
    value: Option<Dynamic>,
    go_on: GoOn,
}

/// True when a `return` may end this statement.
fn has_return(stmt: &Stmt) -> bool {
    let mut found = false;
    AST::new([stmt.clone()], Module::new()).walk(&mut |path: &[ASTNode]| {
        if let Some(ASTNode::Stmt(Stmt::Return(_, flags, _))) = path.last() {
            found |= !flags.contains(ASTFlags::BREAK);
        }
        !found
    });
    found
}

/// Names after `let`, `const` and `fn` in a text.
fn defined_names<'t>(text: &'t str, cut: &Tokens) -> Vec<&'t str> {
    let words: Vec<&str> =
        cut.tokens.iter().filter(|token| token.kind == TokenKind::Word).map(|token| &text[token.range.clone()]).collect();
    words.windows(2).filter(|pair| matches!(pair[0], "let" | "const" | "fn")).map(|pair| pair[1]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Folder;

    fn session() -> Session {
        Session::new(Folder::new("."))
    }

    fn shown(session: &mut Session, text: &str) -> Vec<String> {
        let outcome = session.evaluate(text);
        assert_eq!(outcome.error(), None, "{text}");
        outcome.shown().into_iter().map(String::from).collect()
    }

    #[test]
    fn a_script_that_is_imported_again_is_read_again() {
        let home = tempfile::tempdir().expect("a folder");
        let write = |length: u32| {
            std::fs::write(home.path().join("parts.rhai"), format!("export let feed = {length}.ft;")).expect("written");
        };
        let mut session = Session::new(crate::files::Folder::new(home.path()));
        let mut shows = |text: &str| session.evaluate(text).shown().join(" ");
        write(30);
        assert_eq!(shows("import \"parts\" as parts; import \"parts\" as first; parts::feed"), "30 ft");
        write(45);
        assert_eq!(shows("parts::feed"), "30 ft");
        assert_eq!(shows("import \"parts\" as parts; parts::feed"), "45 ft");
        assert_eq!(shows("parts::feed; first::feed"), "45 ft 30 ft");
    }

    #[test]
    fn a_failing_entry_keeps_the_variables_before_it() {
        let mut session = session();
        assert!(session.evaluate("let a = 1.ft; let b = a + 1.psi; let c = 3;").error().is_some());
        assert_eq!(shown(&mut session, "a"), ["1 ft"]);
        assert!(session.evaluate("c").error().is_some());
    }

    #[test]
    fn a_closure_sees_later_changes_of_what_it_captured() {
        let mut session = session();
        shown(&mut session, "let base = 10; let add = |x| x + base;");
        shown(&mut session, "base = 20;");
        assert_eq!(shown(&mut session, "add.call(1); base"), ["21", "20"]);
    }

    #[test]
    fn functions_and_constants_of_earlier_entries_are_known() {
        let mut session = session();
        shown(&mut session, "const STEP = 5.ft; fn grow(x) { x + global::STEP }");
        assert_eq!(shown(&mut session, "grow(1.ft)"), ["6 ft"]);
        shown(&mut session, "fn grow(x) { x * 2 }");
        assert_eq!(shown(&mut session, "grow(1.ft)"), ["2 ft"]);
    }

    #[test]
    fn imports_of_earlier_entries_are_known() {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("a.rhai"), "export const N = 1; fn f() { 10 }").expect("written");
        std::fs::write(folder.path().join("b.rhai"), "export const N = 2; fn f() { 20 }").expect("written");
        let mut session = Session::new(Folder::new(folder.path()));
        shown(&mut session, "1;\nimport \"a\" as a;");
        shown(&mut session, "import \"b\" as b;");
        assert_eq!(shown(&mut session, "a::N; b::N; a::f() + b::f()"), ["1", "2", "30"]);
    }

    #[test]
    fn an_error_in_a_function_is_placed_in_the_entry_that_defined_it() {
        let mut session = session();
        shown(&mut session, "// one\nfn half(x) {\n    x / 0\n}");
        let outcome = session.evaluate("\nhalf(3)");
        let error = outcome.error().expect("it divides by zero");
        let place = error.place.as_ref().expect("a place");
        assert_eq!((place.source.as_str(), place.line, place.column), ("entry 1", 3, 7));
        let call = error.calls[0].place.as_ref().expect("a place");
        assert_eq!((call.source.as_str(), call.line), ("entry 2", 2));
    }

    #[test]
    fn what_is_printed_and_what_is_worth_showing_is_shown_once() {
        let mut session = session();
        assert_eq!(
            shown(&mut session, "let a = 1; print(a); a = 2; a; if a > 5 { 1 } else { 2 }; for i in 0..2 { i }"),
            ["1", "2", "2"]
        );
    }

    #[test]
    fn a_session_outlives_the_line_numbers_of_the_engine() {
        let mut session = session();
        shown(&mut session, "let a = 1;");
        for _ in 0..4 {
            shown(&mut session, &"\n".repeat(25_000));
        }
        assert_eq!(shown(&mut session, "a"), ["1"]);
        let outcome = session.evaluate("\nnone");
        assert_eq!(outcome.error().and_then(|error| error.place.as_ref()).map(|place| place.line), Some(2));
    }

    #[test]
    fn a_set_stop_flag_ends_an_endless_loop() {
        let mut session = session();
        let stop = session.context().stop.clone();
        let waiter = std::thread::spawn(move || {
            std::thread::sleep(std::time::Duration::from_millis(50));
            stop.store(true, std::sync::atomic::Ordering::Relaxed);
        });
        let outcome = session.evaluate("let n = 0; loop { n += 1; }");
        waiter.join().expect("it only waits");
        assert_eq!(outcome.error().map(|error| error.kind), Some(super::super::diagnostic::Trouble::Stopped));
        session.context().stop.store(false, std::sync::atomic::Ordering::Relaxed);
        assert_eq!(shown(&mut session, "n > 0"), ["true"]);
    }
}
