//! A closure called for every case of a study: first in the calling thread, then, when it takes a while, in all threads.
//!
//! Each thread has an engine of its own with the functions of the script compiled anew and the captured variables copied,
//! since engines that share anything wait for each other. A closure that changes what it captured, or captured what cannot
//! be copied, is called in one thread.

use super::Context;
use super::calls::{Caller, call_each_or_fail, reason};
use super::engine::{STACK_BYTES, context_of, engine};
use super::error::{Answer, ScriptError};
use super::freight::{Packed, pack, pack_function};
use super::progress::Progress;
use super::quantities::{as_quantity, value_of};
use super::tables::map_row;
use crate::study::crew::{Crew, cores, in_order};
use crate::study::{Axes, AxisValues, axis_columns, check_size};
use crate::table::{Cell, Column, Table, TableError};
use rhai::{Dynamic, Engine, EvalAltResult, FnPtr, GlobalRuntimeState, Map, NativeCallContext};
use std::ops::{ControlFlow, Range};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// The cases of a closure sweep that are done.
pub struct Done {
    /// The axes, then what the closure gave, then the reasons of failed cases where there are any.
    pub table: Table,
    /// Cases that were asked for; fewer are in the table when somebody stopped it.
    pub cases: usize,
}

/// Time after which further threads are worth their while.
const ALONE: Duration = Duration::from_millis(30);
/// Time after which it is told why only one thread works.
const WORTH_A_WORD: Duration = Duration::from_secs(1);
/// Cases between two looks at the clock while alone.
const AT_A_TIME: usize = 16;
/// Cases that a thread takes at a time.
const CHUNK: usize = 256;

/// The column of a closure that gives a number alone.
pub const VALUE: &str = "value";
/// The column of reasons.
const REASON: &str = "reason";

/// Calls the closure for a range of the cases.
///
/// Errors: every case failed (the first error, in the words of the closure), a column of two kinds, `exit`, or a stop before
/// anything was done.
pub fn sweep_cases(call: &NativeCallContext, axes: &Axes, closure: &FnPtr, range: Range<usize>) -> Answer<Done> {
    let context = context_of(call)?;
    check_size(range.len()).map_err(super::error::raise)?;
    let progress = Progress::new(&context, range.len());
    let mut gathered = Gathered::new(axes);
    let packed = pack_function(closure);
    let threads = context.threads().unwrap_or_else(cores);
    let mut caller = Caller::of_call(call, closure)?;
    let began = Instant::now();
    let mut next = range.start;
    let mut alone = threads == 1 || packed.is_err();
    while next < range.end && !context.stopped() {
        if !alone && began.elapsed() > ALONE {
            let packed = packed.as_ref().map_err(|what| ScriptError::new(what.clone()))?;
            alone = !packed.is_still_function(closure);
            if !alone {
                let hands = Hands { packed, model: call.global_runtime_state(), context: &context, axes, threads };
                match hands.work(next..range.end, &progress)? {
                    Some(pieces) => {
                        gathered.pieces.extend(pieces);
                        break;
                    }
                    None => alone = true,
                }
            }
            continue;
        }
        let end = (next + AT_A_TIME).min(range.end);
        match piece(&mut caller, axes, next..end) {
            Ok(piece) => gathered.pieces.push(piece),
            Err(Trouble::Ends(_)) if context.stopped() && next > range.start => break,
            Err(trouble) => return Err(trouble.into_error()),
        }
        next = end;
        progress.tell(next - range.start);
    }
    drop(progress);
    if let (Err(what), true) = (&packed, threads > 1 && began.elapsed() > WORTH_A_WORD) {
        context.note(format!("sweep: one case after another, since the closure uses {what}, which other threads cannot have"));
    }
    gathered.done(&context, range)
}

/// The answers of some cases.
struct Piece {
    cases: Range<usize>,
    /// Nothing when no case gave any column.
    columns: Option<Table>,
    failed: usize,
    /// The first case that failed, and why.
    first_error: Option<(usize, Box<EvalAltResult>)>,
    /// Lines that the closure printed.
    notes: Vec<String>,
}

/// Why there is no piece.
enum Trouble {
    /// A stop by the user or `exit`.
    Ends(Box<EvalAltResult>),
    /// The answers make no table.
    Table(Box<EvalAltResult>),
}

impl Trouble {
    fn into_error(self) -> Box<EvalAltResult> {
        match self {
            Trouble::Ends(error) | Trouble::Table(error) => error,
        }
    }
}

/// Calls the closure for some cases.
fn piece(caller: &mut Caller, axes: &Axes, cases: Range<usize>) -> Result<Piece, Trouble> {
    let mut indices = vec![0; axes.axes().len()];
    let mut values = Vec::with_capacity(cases.len());
    for case in cases.clone() {
        axes.indices(case, &mut indices);
        values.push(Dynamic::from_map(case_map(axes, &indices).map_err(Trouble::Table)?));
    }
    let outcomes = call_each_or_fail(caller, values).map_err(Trouble::Ends)?;
    let mut piece = Piece { cases: cases.clone(), columns: None, failed: 0, first_error: None, notes: Vec::new() };
    let mut rows = Vec::with_capacity(cases.len());
    for (case, outcome) in cases.clone().zip(outcomes) {
        let row = outcome.and_then(|answer| answer_row(&answer));
        rows.push(match row {
            Ok(row) => row.into_iter().filter(|(name, _)| axes.axes().iter().all(|axis| axis.name != *name)).collect(),
            Err(error) => {
                piece.failed += 1;
                let row = vec![(REASON.to_string(), Cell::text(reason(&error)))];
                piece.first_error.get_or_insert((case, error));
                row
            }
        });
    }
    if rows.iter().any(|row: &Vec<(String, Cell)>| !row.is_empty()) {
        let table = Table::from_rows(rows).map_err(|error| match error {
            TableError::MixedColumn { column, row, expected, found } => {
                TableError::MixedColumn { column, row: row + cases.start, expected, found }
            }
            other => other,
        });
        piece.columns = Some(table.map_err(|error| Trouble::Table(super::error::raise(error)))?);
    }
    Ok(piece)
}

/// What a closure gave as a row: a map of columns, or a number alone.
fn answer_row(answer: &Dynamic) -> Answer<Vec<(String, Cell)>> {
    match as_quantity(answer) {
        Some(quantity) => Ok(vec![(VALUE.to_string(), Cell::Quantity(quantity))]),
        None => map_row(answer, "sweep"),
    }
}

/// What is needed to work in several threads.
struct Hands<'a> {
    packed: &'a Packed,
    model: &'a GlobalRuntimeState,
    context: &'a Arc<Context>,
    axes: &'a Axes,
    threads: usize,
}

impl Hands<'_> {
    /// Calls the closure for a range of cases in all threads; nothing when it cannot be done so.
    fn work(&self, range: Range<usize>, progress: &Progress) -> Answer<Option<Vec<Piece>>> {
        let before = progress.cases() - range.len();
        // Small chunks at first sight of few cases, so that every thread has some.
        let chunk = (range.len() / (8 * self.threads)).clamp(1, CHUNK);
        let crew = Crew { threads: self.threads, stack_bytes: Some(STACK_BYTES), stop: Some(&self.context.stop) };
        let unfit = AtomicBool::new(false);
        let mut pieces = Vec::new();
        let mut trouble = None;
        let make = || {
            let mut hand = Hand::new(self, &unfit);
            let range = range.clone();
            move |number: usize| {
                let first = range.start + number * chunk;
                hand.as_mut()?.piece(first..(first + chunk).min(range.end))
            }
        };
        in_order(0..range.len().div_ceil(chunk), &crew, make, |piece: Result<Piece, Trouble>| match piece {
            Ok(piece) => {
                progress.tell(before + piece.cases.end - range.start);
                pieces.push(piece);
                ControlFlow::Continue(())
            }
            Err(found) => {
                trouble = Some(found.into_error());
                ControlFlow::Break(())
            }
        });
        if unfit.load(Ordering::Relaxed) {
            return Ok(None);
        }
        match trouble {
            Some(error) => Err(error),
            None => Ok(Some(pieces)),
        }
    }
}

/// One thread with its engine.
struct Hand<'a> {
    engine: Box<Engine>,
    closure: FnPtr,
    axes: Axes,
    hands: &'a Hands<'a>,
    context: Arc<Context>,
    /// Told when the closure cannot be called here as it would be in the calling thread.
    unfit: &'a AtomicBool,
    state: GlobalRuntimeState,
}

impl<'a> Hand<'a> {
    fn new(hands: &'a Hands<'a>, unfit: &'a AtomicBool) -> Option<Hand<'a>> {
        let found = Hand::try_new(hands, unfit);
        unfit.fetch_or(found.is_none(), Ordering::Relaxed);
        found
    }

    fn try_new(hands: &'a Hands<'a>, unfit: &'a AtomicBool) -> Option<Hand<'a>> {
        let context = Arc::new(hands.context.apart());
        let mut engine = Box::new(engine(&context));
        // Names of variables were checked when the script was compiled; here they are not known.
        engine.set_strict_variables(false);
        let mut functions = rhai::AST::empty();
        for source in hands.context.sources() {
            functions = functions.merge(&engine.compile(&*source).ok()?.clone_functions_only());
        }
        engine.set_strict_variables(true);
        let functions: Arc<rhai::Module> = functions.shared_lib().clone();
        let closure = hands.packed.unpack_function(&functions)?;
        let mut state = engine.new_global_runtime_state();
        state.lib.push(functions.clone());
        for (name, module) in hands.model.scan_imports_raw() {
            state.push_import(name.as_str(), module.clone());
        }
        if let Some(constants) = &hands.model.constants {
            let constants = constants.read().ok()?;
            let packed = constants.iter().map(|(name, value)| Some((name.to_string(), pack(value).ok()?)));
            let packed: Vec<(String, Packed)> = packed.collect::<Option<_>>()?;
            let copied = packed.iter().map(|(name, value)| Some((name.as_str().into(), value.unpack(&functions)?)));
            state.constants = Some(Arc::new(copied.collect::<Option<std::collections::BTreeMap<_, _>>>()?.into()));
        }
        Some(Hand { engine, closure, axes: hands.axes.detached(), hands, context, unfit, state })
    }

    fn piece(&mut self, cases: Range<usize>) -> Option<Result<Piece, Trouble>> {
        if self.unfit.load(Ordering::Relaxed) {
            return None;
        }
        let mut caller = match Caller::new(&self.engine, self.state.clone(), self.closure.clone()) {
            Ok(caller) => caller,
            Err(error) => return Some(Err(Trouble::Table(error))),
        };
        let made = piece(&mut caller, &self.axes, cases);
        match made {
            Ok(piece) => Some(Ok(Piece { notes: self.context.take_notes(), ..piece })),
            Err(Trouble::Ends(_)) if self.context.stopped() => None,
            Err(trouble) => Some(Err(trouble)),
        }
    }
}

impl Drop for Hand<'_> {
    fn drop(&mut self) {
        if !self.hands.packed.is_still_function(&self.closure) {
            self.unfit.store(true, Ordering::Relaxed);
        }
    }
}

/// All pieces so far.
struct Gathered<'a> {
    axes: &'a Axes,
    pieces: Vec<Piece>,
}

impl<'a> Gathered<'a> {
    fn new(axes: &'a Axes) -> Gathered<'a> {
        Gathered { axes, pieces: Vec::new() }
    }

    fn done(mut self, context: &Context, range: Range<usize>) -> Answer<Done> {
        let failed: usize = self.pieces.iter().map(|piece| piece.failed).sum();
        let done: usize = self.pieces.iter().map(|piece| piece.cases.len()).sum();
        self.pieces.iter_mut().flat_map(|piece| std::mem::take(&mut piece.notes)).for_each(|line| context.note(line));
        if done == 0 && !range.is_empty() {
            super::engine::check_stop(context)?;
        }
        if failed == done && failed > 0 {
            let first = self.pieces.iter_mut().find_map(|piece| piece.first_error.take());
            if let Some((case, error)) = first {
                return Err(self.named(context, case, error));
            }
        }
        let mut columns = axis_columns(self.axes, range.start..range.start + done);
        columns.extend(self.columns().map_err(raise_of_cases)?);
        let table = Table::new(columns).map_err(super::error::raise)?;
        Ok(Done { table, cases: range.len() })
    }

    /// What the closure gave, reasons last.
    fn columns(&self) -> Result<Vec<Column>, TableError> {
        let mut tables = Vec::with_capacity(self.pieces.len());
        for piece in &self.pieces {
            // A piece without columns still has its rows: a column without values stands for them.
            let blank = || {
                Table::new(vec![Column {
                    name: REASON.into(),
                    values: crate::table::Values::Texts(vec![None; piece.cases.len()]),
                }])
            };
            tables.push(piece.columns.clone().map_or_else(blank, Ok)?);
        }
        if tables.is_empty() {
            return Ok(Vec::new());
        }
        let mut columns = Table::stacked(&tables)?.columns()?;
        if let Some(place) = columns.iter().position(|column| column.name == REASON) {
            let reasons = columns.remove(place);
            if reasons.cells().any(|cell| !cell.is_missing()) {
                columns.push(reasons);
            }
        }
        Ok(columns)
    }

    /// The error of a case, with the case named in front when there are several.
    fn named(&self, context: &Context, case: usize, error: Box<EvalAltResult>) -> Box<EvalAltResult> {
        if self.axes.cases() > 1 {
            let mut indices = vec![0; self.axes.axes().len()];
            self.axes.indices(case, &mut indices);
            let value = |(axis, &index): (&crate::study::Axis, &usize)| format!("{} = {}", axis.name, axis.label(index));
            let values: Vec<String> = self.axes.axes().iter().zip(&indices).map(value).collect();
            context.note(format!("sweep: every case failed; the first is {}", values.join(", ")));
        }
        error
    }
}

fn raise_of_cases(error: TableError) -> Box<EvalAltResult> {
    if let TableError::DifferentKinds { column, left, right } = &error {
        let what = format!("sweep: column '{column}' holds {left} in some cases and {right} in others");
        return ScriptError::new(what).with_hint("let the closure give the same kind of value in every case").into();
    }
    super::error::raise(error)
}

/// A case as the map that a closure sees.
pub fn case_map(axes: &Axes, indices: &[usize]) -> Answer<Map> {
    let mut map = Map::new();
    for (axis, &index) in axes.axes().iter().zip(indices) {
        let value = match &axis.values {
            AxisValues::Parts(parts) => Dynamic::from(parts[index].clone()),
            AxisValues::Texts(texts) => texts[index].clone().into(),
            AxisValues::Zones(zones) => Dynamic::from_array(zones[index].iter().map(|zone| zone.as_str().into()).collect()),
            AxisValues::Quantities { .. } | AxisValues::Drawn { .. } => {
                axis.quantity(index).map_or(Ok(Dynamic::UNIT), value_of)?
            }
        };
        map.insert(axis.name.as_str().into(), value);
    }
    Ok(map)
}
