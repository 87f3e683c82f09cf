//! A session: entries evaluated one after another, statement by statement, with variables, functions and imports kept.
//!
//! Knows nothing of terminals and files; the shell, `run` and `eval` show what it returns.

use super::diagnostic::{Diagnostic, Place};
use super::explain::Explainer;
use super::names::Names;
use super::scan::{Kind, Scan, scan};
use super::{Context, engine::engine, imports, span, statements};
use crate::files::{Folder, read_text};
use rhai::{AST, ASTNode, Dynamic, Engine, EvalAltResult, Expr, GlobalRuntimeState, Module, Position, Scope, Stmt};
use rhai::{ASTFlags, Caches};
use std::ops::Range;
use std::sync::Arc;

/// Line number at which the numbering of the session starts again; the engine counts lines to 65535.
const LAST_LINE: usize = 60_000;

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
    pub error: Option<Diagnostic>,
}

/// What an entry gave: a result for each statement that showed something or failed.
#[derive(Clone, Debug, Default)]
pub struct Outcome {
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
    context: Arc<Context>,
    scope: Scope<'static>,
    functions: AST,
    /// Imports and constants of earlier entries.
    global: GlobalRuntimeState,
    entries: Vec<Entry>,
    next_line: usize,
    /// Entries so far.
    count: usize,
    /// Shows the variable `value`.
    printer: AST,
}

/// An entry, for places in messages.
struct Entry {
    name: String,
    text: String,
    /// Lines of the session before it.
    lines_before: usize,
}

impl Session {
    /// A session for scripts of that folder.
    pub fn new(folder: Folder) -> Session {
        Session::with_context(Arc::new(Context::new(folder)))
    }

    /// A session with a context made elsewhere.
    pub fn with_context(context: Arc<Context>) -> Session {
        let engine = engine(&context);
        let mut scope = Scope::new();
        scope.push("value", ());
        let printer = engine.compile_with_scope(&scope, "to_debug(value)").unwrap_or_default();
        let global = engine.new_global_runtime_state();
        Session {
            engine,
            context,
            scope: Scope::new(),
            functions: AST::empty(),
            global,
            entries: Vec::new(),
            next_line: 0,
            count: 0,
            printer,
        }
    }

    pub fn context(&self) -> &Arc<Context> {
        &self.context
    }

    /// The engine, for limits of tests and for reading what it has registered.
    pub fn engine_mut(&mut self) -> &mut Engine {
        &mut self.engine
    }

    /// The names known now, for completion.
    pub fn names(&self) -> Names {
        Names::collect(&self.engine, &self.scope, &self.functions)
    }

    /// The name of the next entry in messages, such as `entry 3`.
    pub fn next_name(&self) -> String {
        format!("entry {}", self.count + 1)
    }

    /// Evaluates an entry; a failing statement ends it and keeps all variables.
    pub fn evaluate(&mut self, text: &str) -> Outcome {
        let name = self.next_name();
        let mut outcome = Outcome::default();
        self.evaluate_each(&name, text, &mut |cell| outcome.cells.push(cell));
        outcome
    }

    /// Evaluates an entry and hands over each result as soon as it is there; `name` stands in messages.
    pub fn evaluate_each(&mut self, name: &str, text: &str, on_result: &mut dyn FnMut(CellResult)) {
        let lines_before = self.add_entry(name, text);
        let cut = scan(text);
        let imports: Vec<String> = self.global.scan_imports_raw().map(|(name, _)| name.to_string()).collect();
        let prefix: String = imports.iter().map(|name| format!("import \"\" as {name};")).collect();
        let compiled = self.engine.compile_with_scope(&self.scope, format!("{prefix}{}{text}", "\n".repeat(lines_before)));
        let ast = match compiled {
            Ok(ast) => ast,
            Err(error) => {
                let error = EvalAltResult::ErrorParsing(*error.0, error.1);
                return on_result(self.failed(&error, 0..0, text, &cut));
            }
        };
        self.functions = self.functions.merge(&ast.clone_functions_only());
        self.renew_global();
        let body: Vec<&Stmt> =
            ast.statements().iter().skip(imports.len()).filter(|stmt| !matches!(stmt, Stmt::Noop(_))).collect();
        let inside: Vec<usize> = body.iter().map(|stmt| offset_of(text, stmt.position(), lines_before)).collect();
        for (stmt, range) in body.into_iter().zip(statements::ranges(&cut, &inside)) {
            let result = self.evaluate_statement(stmt);
            match result {
                Ok(Step { value, go_on }) => {
                    let shown = self.shown(value.as_ref());
                    match shown {
                        Ok(shown) if !shown.is_empty() => {
                            on_result(CellResult { lines: lines_of(text, &range), range, shown, value, error: None })
                        }
                        Ok(_) => {}
                        Err(error) => return on_result(self.failed(&error, range, text, &cut)),
                    }
                    if go_on == GoOn::No {
                        return;
                    }
                }
                Err(error) => return on_result(self.failed(&error, range, text, &cut)),
            }
        }
    }

    fn add_entry(&mut self, name: &str, text: &str) -> usize {
        let lines = text.matches('\n').count() + 1;
        if self.next_line + lines > LAST_LINE {
            self.entries.clear();
            self.next_line = 1;
        }
        let lines_before = self.next_line;
        self.entries.push(Entry { name: name.to_string(), text: text.to_string(), lines_before });
        self.next_line += lines;
        self.count += 1;
        lines_before
    }

    /// A fresh run-time state that has the imports and constants of the old one.
    fn renew_global(&mut self) {
        let mut global = self.engine.new_global_runtime_state();
        for (name, module) in self.global.scan_imports_raw() {
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
            // The engine does not tell a value that was returned from the value of a statement: a mark behind it does.
            block.push(Stmt::Expr(Box::new(Expr::StringConstant(NOT_RETURNED.into(), Position::NONE))));
        }
        let mut caches = Caches::new();
        #[allow(deprecated)] // The only way to keep imports and constants from one statement to the next.
        let value = self.engine.eval_statements_raw(&mut self.global, &mut caches, &mut self.scope, &block)?;
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

    /// A value as people see it: texts as they are, everything else by its word `to_debug`.
    fn show(&self, value: &Dynamic) -> Result<String, Box<EvalAltResult>> {
        if let Ok(text) = value.as_immutable_string_ref() {
            return Ok(text.to_string());
        }
        let mut scope = Scope::new();
        scope.push_dynamic("value", value.clone());
        self.engine.eval_ast_with_scope::<String>(&mut scope, &self.printer)
    }

    fn failed(&mut self, error: &EvalAltResult, range: Range<usize>, text: &str, cut: &Scan) -> CellResult {
        let names = self.names();
        let names_in_text = defined_names(text, cut);
        let place = |source: Option<&str>, at: Position| self.place(source, at);
        let explainer = Explainer { names: &names, names_in_text: &names_in_text, place: &place };
        let mut diagnostic = explainer.explain(error);
        if diagnostic.place.is_none() && !range.is_empty() {
            diagnostic.place = self.entries.last().map(|entry| place_of(&entry.name, text, range.clone()));
        }
        let shown = self.context.take_notes();
        CellResult { lines: lines_of(text, &range), range, shown, value: None, error: Some(diagnostic) }
    }

    /// The place of a position in an entry or a module.
    fn place(&self, source: Option<&str>, at: Position) -> Option<Place> {
        let line = at.line()?;
        let column = at.position().unwrap_or(1);
        if let Some(module) = source {
            let path = self.context.folder.file(&imports::file_name(module)).ok()?;
            let text = read_text(&path).ok()?;
            return Some(place_at(&imports::file_name(module), &text, line, column));
        }
        let entry = self.entries.iter().rev().find(|entry| entry.lines_before < line)?;
        Some(place_at(&entry.name, &entry.text, line - entry.lines_before, column))
    }
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

/// Names behind `let`, `const` and `fn` in a text.
fn defined_names<'t>(text: &'t str, cut: &Scan) -> Vec<&'t str> {
    let words: Vec<&str> =
        cut.pieces.iter().filter(|piece| piece.kind == Kind::Word).map(|piece| &text[piece.range.clone()]).collect();
    words.windows(2).filter(|pair| matches!(pair[0], "let" | "const" | "fn")).map(|pair| pair[1]).collect()
}

fn offset_of(text: &str, at: Position, lines_before: usize) -> usize {
    let line = at.line().unwrap_or(lines_before + 1).saturating_sub(lines_before);
    span::offset(text, line, at.position().unwrap_or(1))
}

fn lines_of(text: &str, range: &Range<usize>) -> (usize, usize) {
    let first = span::line_and_column(text, range.start).0;
    (first, span::line_and_column(text, range.end.min(text.len())).0)
}

fn place_at(source: &str, text: &str, line: usize, column: usize) -> Place {
    let start = span::offset(text, line, column);
    place_of(source, text, span::word_at(text, &scan(text), start))
}

fn place_of(source: &str, text: &str, range: Range<usize>) -> Place {
    let (line, column) = span::line_and_column(text, range.start);
    let first_line = text[range.clone()].lines().next().unwrap_or("");
    let column_end = column + first_line.chars().count();
    Place { source: source.to_string(), line, column, column_end, text: text.to_string(), range }
}
