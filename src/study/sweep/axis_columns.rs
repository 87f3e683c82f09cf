//! The columns of the axes: their values in each case.

use crate::study::{Axes, Axis, AxisValues};
use crate::table::{Cells, Column, ColumnPlan, Filled, Filling, Table, TableError, Values};
use crate::thread_pool::all_of;
use std::ops::Range;
use std::sync::{Mutex, PoisonError};

/// Cases whose values a thread writes at a time.
const AT_A_TIME: usize = 8192;

/// The columns of the axes, to be filled: numbers, or which value of the axis a case has.
pub(super) fn axis_plans(axes: &Axes) -> Result<Vec<ColumnPlan>, TableError> {
    let plan = |axis: &Axis| match axis.kind() {
        Some((dimension, preference)) => Ok(ColumnPlan::numbers(&axis.name, dimension, preference)),
        None => ColumnPlan::one_of(&axis_column(axis, &(0..axis.len()).collect::<Vec<_>>())),
    };
    axes.axes().iter().map(plan).collect()
}

/// The columns of the axes for a range of cases.
pub fn axis_columns(axes: &Axes, cases: impl Iterator<Item = usize>) -> Vec<Column> {
    let n = axes.axes().len();
    let mut indices = vec![0; n];
    let mut of_axis: Vec<Vec<usize>> = vec![Vec::with_capacity(cases.size_hint().0); n];
    for case in cases {
        axes.indices(case, &mut indices);
        of_axis.iter_mut().zip(&indices).for_each(|(list, index)| list.push(*index));
    }
    axes.axes().iter().zip(&of_axis).map(|(axis, list)| axis_column(axis, list)).collect()
}

/// A column of the values of an axis with these numbers.
fn axis_column(axis: &Axis, list: &[usize]) -> Column {
    match (&axis.values, axis.kind()) {
        (AxisValues::Quantities { si, dimension, preference }, _) => {
            Column::quantities(&axis.name, list.iter().map(|index| Some(si[*index])), *dimension, *preference)
        }
        (_, Some((dimension, preference))) => {
            Column::quantities(&axis.name, list.iter().map(|index| axis.si(*index)), dimension, preference)
        }
        (AxisValues::Dates(dates), None) => {
            let ms = list.iter().map(|index| Some(dates[*index].ms())).collect();
            Column { name: axis.name.clone(), values: Values::Dates { ms, clock: dates.iter().any(|date| date.has_clock()) } }
        }
        _ => Column::texts(&axis.name, list.iter().map(|index| axis.label(*index))),
    }
}

/// The table of the axes for a range of cases, made by that many threads. Errors: the evaluation is to end.
pub fn axis_table(axes: &Axes, cases: Range<usize>, threads: usize) -> Result<Table, TableError> {
    let mut filling = Filling::new(axis_plans(axes)?, cases.len())?;
    let pieces: Vec<_> = filling.pieces(AT_A_TIME).into_iter().map(|piece| Mutex::new(Some(piece))).collect();
    let fill = |number: usize| {
        let mut piece = pieces[number].lock().unwrap_or_else(PoisonError::into_inner).take()?;
        let mut indices = vec![0; axes.axes().len()];
        for row in 0..piece.rows() {
            axes.indices(cases.start + number * AT_A_TIME + row, &mut indices);
            for ((axis, cells), &index) in axes.axes().iter().zip(&mut piece.columns).zip(&indices) {
                match cells {
                    Cells::Numbers(numbers) => numbers[row] = axis.si(index).unwrap_or(f64::NAN),
                    Cells::OneOf { chosen, .. } => chosen[row] = index as u32,
                }
            }
        }
        Some(piece.filled())
    };
    let mut filled = Filled::default();
    all_of(Some(threads), pieces.len(), fill).into_iter().flatten().for_each(|piece| filled.add(piece));
    drop(pieces);
    filling.into_table(filled, false, threads)
}
