//! A look at a sweep: some of its cases are solved, to see how long they take and what a part of them needs.

use super::cases::sweep_cases;
use crate::script::language::context::Context;
use crate::script::language::error::{Answer, raise_as};
use crate::script::language::share::Look;
use crate::study::{Axes, BLOCK, NativeStudy, SweepOptions};
use crate::table::Table;
use rhai::{FnPtr, NativeCallContext};
use std::time::Instant;

/// Cases of a native sweep that are solved.
const NATIVE_CASES: usize = 8 * BLOCK;
/// Cases of a closure that are solved.
const CLOSURE_CASES: usize = 64;
/// Memory of a cell while the answers of a closure are made into a table and its file, bytes.
const BYTES_OF_A_CELL: usize = 48;

/// The first cases of a native sweep.
pub fn look_at_native(context: &Context, study: &impl NativeStudy) -> Answer<Table> {
    let (cases, began) = (study.cases(), Instant::now());
    let options = SweepOptions { threads: Some(1), ..SweepOptions::default() };
    let table = study.run(0..cases.min(NATIVE_CASES), &options).map_err(raise_as("sweep"))?.table;
    note(context, cases, &table, began, 0);
    Ok(table)
}

/// The first cases of a sweep with a closure.
pub fn look_at_closure(context: &Context, call: &NativeCallContext, axes: &Axes, closure: &FnPtr) -> Answer<Table> {
    let (cases, began) = (axes.cases(), Instant::now());
    let table = sweep_cases(call, axes, closure, 0..cases.min(CLOSURE_CASES))?.table;
    note(context, cases, &table, began, BYTES_OF_A_CELL);
    Ok(table)
}

fn note(context: &Context, cases: usize, table: &Table, began: Instant, bytes_of_a_cell: usize) {
    let columns = table.names().len();
    let seconds_a_case = began.elapsed().as_secs_f64() / table.rows().max(1) as f64;
    context.note_look(Look { cases, columns, seconds_a_case, bytes_a_case: columns * bytes_of_a_cell });
}
