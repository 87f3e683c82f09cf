//! The closure form of a sweep: every case as a row, with what the closure gave for it or why it failed.
//!
//! The threads are in `parallel_calls`.

use crate::limits;
use crate::limits::Ended;
use crate::script::functions::tables::{no_map, value_cell};
use crate::script::language::calling::context_of;
use crate::script::language::calls::{Caller, call_each_or_fail, reason};
use crate::script::language::context::Context;
use crate::script::language::error::{Answer, ScriptError, raise, raise_as};
use crate::script::language::key_order::Written;
use crate::script::language::parallel_calls::{Job, Trouble};
use crate::script::language::values::{as_quantity, value_of};
use crate::study::{Axes, AxisValues, Swept, axis_table, check_size};
use crate::table::{Cell, Column, Growing, REASON, TableError};
use crate::thread_pool::cores;
use rhai::{Dynamic, EvalAltResult, FnPtr, Map, NativeCallContext};
use smallvec::SmallVec;
use std::ops::Range;

/// The column of a closure that gives a number alone.
pub const VALUE: &str = "value";

/// Calls the closure for a range of the cases. The table has the axes, then what the closure gave, then the reasons of failed
/// cases where there are any.
///
/// Errors: every case failed (the first error of the closure), a column of two kinds, `exit`, or a stop before
/// anything was done.
pub fn sweep_cases(call: &NativeCallContext, axes: &Axes, closure: &FnPtr, range: Range<usize>) -> Answer<Swept> {
    let context = context_of(call)?;
    context.note_samples(axes.samples());
    check_size(range.len()).map_err(raise_as("sweep"))?;
    let job = Job { call, closure, word: "sweep", range: range.clone() };
    let make = || {
        let axes = axes.detached();
        move |caller: &mut Caller, cases: Range<usize>| piece(caller, &axes, cases)
    };
    let pieces = job.work(make).map_err(|trouble| match trouble {
        Trouble::Ends(error) | Trouble::At(_, error) | Trouble::Answers(error) => error,
    })?;
    let written = Written::in_closure(closure, call.global_runtime_state());
    let gathered = Gathered { axes, written, pieces };
    if limits::ended() && context.keeps_partial_tables() {
        return limits::unasked(|| gathered.done(&context, range));
    }
    limits::go_on()?;
    gathered.done(&context, range)
}

/// The answers of some cases.
struct Piece {
    cases: Range<usize>,
    /// What the closure gave, and the reasons of failed cases; one row a case.
    answers: Growing,
    failed: usize,
    /// The first case that failed, and why.
    first_error: Option<(usize, Box<EvalAltResult>)>,
}

/// Calls the closure for some cases.
fn piece(caller: &mut Caller, axes: &Axes, cases: Range<usize>) -> Result<Piece, Trouble> {
    let mut indices = vec![0; axes.axes().len()];
    let value = |number: usize| {
        axes.indices(cases.start + number, &mut indices);
        Ok(Dynamic::from_map(case_map(axes, &indices)?))
    };
    let outcomes = call_each_or_fail(caller, cases.len(), value).map_err(Trouble::Ends)?;
    let mut piece = Piece { cases: cases.clone(), answers: Growing::default(), failed: 0, first_error: None };
    for (case, outcome) in cases.clone().zip(outcomes) {
        let added = match outcome.and_then(|answer| add_answer(&mut piece.answers, axes, &answer)) {
            Ok(added) => added,
            Err(error) => {
                piece.failed += 1;
                let added = piece.answers.add([(REASON, Cell::text(reason(&error)))]);
                piece.first_error.get_or_insert((case, error));
                added
            }
        };
        added.map_err(|error| Trouble::Answers(raise(counted_from(error, cases.start))))?;
    }
    Ok(piece)
}

/// The error with its row counted from the first case of the sweep.
fn counted_from(error: TableError, first: usize) -> TableError {
    match error {
        TableError::MixedColumn { column, row, expected, found } => {
            TableError::MixedColumn { column, row: row + first, expected, found }
        }
        other => other,
    }
}

/// Adds what a closure gave as a row: a map of columns, or a number alone. Columns named like an axis are left out.
///
/// Errors: an answer that is no row, which is a failed case; inside, a row that does not fit those above it.
fn add_answer(answers: &mut Growing, axes: &Axes, answer: &Dynamic) -> Answer<Result<(), TableError>> {
    if let Some(quantity) = as_quantity(answer) {
        return Ok(answers.add([(VALUE, Cell::Quantity(quantity))]));
    }
    let map = answer.read_lock::<Map>().ok_or_else(|| no_map(answer, "sweep"))?;
    let mut row: SmallVec<[(&str, Cell); 8]> = SmallVec::new();
    for (name, value) in map.iter().filter(|(name, _)| axes.axes().iter().all(|axis| axis.name != name.as_str())) {
        row.push((name, value_cell(value, "sweep", name)?));
    }
    Ok(answers.add(row))
}

/// All pieces up to now.
struct Gathered<'a> {
    axes: &'a Axes,
    written: Written,
    pieces: Vec<Piece>,
}

impl Gathered<'_> {
    fn done(mut self, context: &Context, range: Range<usize>) -> Answer<Swept> {
        let failed: usize = self.pieces.iter().map(|piece| piece.failed).sum();
        let done: usize = self.pieces.iter().map(|piece| piece.cases.len()).sum();
        if done == 0 && !range.is_empty() {
            return Err(Ended.into());
        }
        if failed == done && failed > 0 {
            let first = self.pieces.iter_mut().find_map(|piece| piece.first_error.take());
            if let Some((case, error)) = first {
                return Err(self.named(context, case, error));
            }
        }
        let threads = context.threads().unwrap_or_else(cores);
        let axes = axis_table(self.axes, range.start..range.start + done, threads).map_err(raise)?;
        let table = axes.beside(self.columns().map_err(raise_of_cases)?, threads).map_err(raise)?;
        let keys = self.axes.axes().iter().map(|axis| axis.name.clone());
        Ok(Swept { table: table.with_keys(keys), cases: range.len() })
    }

    /// What the closure gave, in the order in which it is written there, reasons last.
    fn columns(&mut self) -> Result<Vec<Column>, TableError> {
        let mut answers = Growing::default();
        self.pieces.drain(..).try_for_each(|piece| answers.append(piece.answers))?;
        let mut columns = answers.into_columns()?;
        self.written.sort(&mut columns, |column| &column.name);
        if let Some(place) = columns.iter().position(|column| column.name == REASON) {
            let reasons = columns.remove(place);
            columns.push(reasons);
        }
        Ok(columns)
    }

    /// The error of a case, with the case named in front when there are several.
    fn named(&self, context: &Context, case: usize, error: Box<EvalAltResult>) -> Box<EvalAltResult> {
        if self.axes.cases() > 1 {
            context.note(format!("sweep: every case failed; the first is {}", case_in_words(self.axes, case)));
        }
        error
    }
}

fn raise_of_cases(error: TableError) -> Box<EvalAltResult> {
    if let TableError::DifferentKinds { column, left, right } = &error {
        let what = format!("sweep: column '{column}' holds {left} in some cases and {right} in others");
        return ScriptError::new(what).with_hint("let the closure give the same kind of value in every case").into();
    }
    raise(error)
}

/// A case for messages: `feed.length = 50 ft, feed.diameter = 0.5 in`.
pub fn case_in_words(axes: &Axes, case: usize) -> String {
    let mut indices = vec![0; axes.axes().len()];
    axes.indices(case, &mut indices);
    let value = |(axis, &index): (&crate::study::Axis, &usize)| format!("{} = {}", axis.name, axis.label(index));
    let values: Vec<String> = axes.axes().iter().zip(&indices).map(value).collect();
    values.join(", ")
}

/// A case as the map that a closure sees.
pub fn case_map(axes: &Axes, indices: &[usize]) -> Answer<Map> {
    let mut map = Map::new();
    for (axis, &index) in axes.axes().iter().zip(indices) {
        let value = match &axis.values {
            AxisValues::Parts(parts) => Dynamic::from(parts[index].clone()),
            AxisValues::Texts(texts) => texts[index].clone().into(),
            AxisValues::Dates(dates) => Dynamic::from(dates[index]),
            AxisValues::Zones(zones) => Dynamic::from_array(zones[index].iter().map(|zone| zone.as_str().into()).collect()),
            AxisValues::Quantities { .. } | AxisValues::Drawn { .. } => {
                axis.quantity(index).map_or(Ok(Dynamic::UNIT), value_of)?
            }
        };
        map.insert(axis.name.as_str().into(), value);
    }
    Ok(map)
}
