//! A table whose columns are there before their values, and are filled in pieces of rows, by several threads at once.
//!
//! A column of numbers is one plain vector for all rows, written once and taken over by the table as it is. It knows nothing of what fills it.

use super::build::{check_heads, frame_column};
use super::{Column, ColumnKind, Table, TableError};
use crate::limits::{self, Ended};
use crate::quantity::{Dimension, Preference};
use crate::thread_pool::all_of;
use polars::prelude as pl;
use polars::prelude::IntoColumn;
use std::sync::{Mutex, PoisonError};

/// A column to be filled.
#[derive(Clone, Debug)]
pub struct ColumnPlan {
    name: String,
    kind: ColumnKind,
    /// The values of which each row takes one, and a missing one after them; none where rows have numbers of their own.
    choices: Option<pl::Series>,
}

impl ColumnPlan {
    /// A column of SI numbers of one dimension.
    pub fn numbers(name: impl Into<String>, dimension: Dimension, preference: Preference) -> ColumnPlan {
        ColumnPlan { name: name.into(), kind: ColumnKind::Quantity { dimension, preference }, choices: None }
    }

    /// A column in which each row has one of the values of this one, or none. Errors: the evaluation is to end.
    pub fn one_of(values: &Column) -> Result<ColumnPlan, TableError> {
        let mut choices = frame_column(&values.name, &values.values)?.take_materialized_series();
        choices.append(&pl::Series::full_null(choices.name().clone(), 1, choices.dtype()))?;
        let choices = choices.rechunk();
        Ok(ColumnPlan { name: values.name.clone(), kind: values.kind(), choices: Some(choices) })
    }

    fn missing(&self) -> u32 {
        self.choices.as_ref().map_or(0, |choices| choices.len().saturating_sub(1) as u32)
    }
}

/// The cells of a column in some rows.
#[derive(Debug)]
pub enum Cells<'f> {
    /// SI numbers, one a row; those that are not finite are missing.
    Numbers(&'f mut [f64]),
    /// Which of its values a row has, counted from 0.
    OneOf {
        /// One a row.
        chosen: &'f mut [u32],
        /// What stands for no value.
        missing: u32,
    },
}

/// Some rows of all columns, for one thread to fill.
#[derive(Debug)]
pub struct Piece<'f> {
    /// The cells of each column, in the order of the columns.
    pub columns: Vec<Cells<'f>>,
    first_row: usize,
    rows: usize,
    reasons: Vec<(usize, String)>,
}

impl Piece<'_> {
    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Makes the columns after the first `known` ones missing in a row of the piece, and keeps why.
    pub fn fail(&mut self, row: usize, known: usize, reason: String) {
        for cells in &mut self.columns[known..] {
            match cells {
                Cells::Numbers(numbers) => numbers[row] = f64::NAN,
                Cells::OneOf { chosen, missing } => chosen[row] = *missing,
            }
        }
        self.reasons.push((self.first_row + row, reason));
    }

    /// What the table must know of the piece once it is filled.
    pub fn filled(mut self) -> Filled {
        self.reasons.sort_by_key(|(row, _)| *row);
        let has_missing = |cells: &Cells| match cells {
            Cells::Numbers(numbers) => numbers.iter().fold(false, |missing, number| missing | !number.is_finite()),
            Cells::OneOf { .. } => false,
        };
        Filled { rows: self.rows, missing: self.columns.iter().map(has_missing).collect(), reasons: self.reasons }
    }
}

/// What the table must know of rows that are filled.
#[derive(Debug, Default)]
pub struct Filled {
    /// How many there are.
    pub rows: usize,
    /// For each column whether it has numbers that are missing.
    missing: Vec<bool>,
    /// Why rows have no values, by their number in the table.
    reasons: Vec<(usize, String)>,
}

impl Filled {
    /// How many rows have a reason.
    pub fn failed(&self) -> usize {
        self.reasons.len()
    }

    /// Adds the rows that follow.
    pub fn add(&mut self, next: Filled) {
        self.rows += next.rows;
        self.missing.resize(next.missing.len(), false);
        self.missing.iter_mut().zip(&next.missing).for_each(|(ours, theirs)| *ours |= theirs);
        self.reasons.extend(next.reasons);
    }
}

/// The column of reasons.
pub const REASON: &str = "reason";

/// A table in the making.
pub struct Filling {
    plans: Vec<ColumnPlan>,
    columns: Vec<Stored>,
    rows: usize,
}

/// All cells of a column. The system gives zeros as memory that costs nothing until it is written.
enum Stored {
    Numbers(Vec<f64>),
    OneOf(Vec<u32>),
}

impl Filling {
    /// A table with these columns and that many rows, to be filled.
    ///
    /// Errors: no column at all, a blank or repeated name; more memory than there may be.
    pub fn new(plans: Vec<ColumnPlan>, rows: usize) -> Result<Filling, TableError> {
        check_heads(plans.iter().map(|plan| (plan.name.as_str(), rows)))?;
        limits::room_for(rows.saturating_mul(plans.len()).saturating_mul(size_of::<f64>()))?;
        let stored = |plan: &ColumnPlan| match plan.choices {
            None => Stored::Numbers(vec![0.0; rows]),
            Some(_) => Stored::OneOf(vec![0; rows]),
        };
        let columns = plans.iter().map(stored).collect();
        Ok(Filling { plans, columns, rows })
    }

    /// Pieces of that many rows, the last one of what is left.
    pub fn pieces(&mut self, rows: usize) -> Vec<Piece<'_>> {
        let rows = rows.max(1);
        let piece = |number: usize| {
            let first_row = number * rows;
            let rows = rows.min(self.rows - first_row);
            Piece { columns: Vec::with_capacity(self.columns.len()), first_row, rows, reasons: Vec::new() }
        };
        let mut pieces: Vec<Piece> = (0..self.rows.div_ceil(rows)).map(piece).collect();
        for (plan, column) in self.plans.iter().zip(&mut self.columns) {
            match column {
                Stored::Numbers(numbers) => {
                    let cells = numbers.chunks_mut(rows).map(Cells::Numbers);
                    pieces.iter_mut().zip(cells).for_each(|(piece, cells)| piece.columns.push(cells));
                }
                Stored::OneOf(chosen) => {
                    let missing = plan.missing();
                    let cells = chosen.chunks_mut(rows).map(|chosen| Cells::OneOf { chosen, missing });
                    pieces.iter_mut().zip(cells).for_each(|(piece, cells)| piece.columns.push(cells));
                }
            }
        }
        pieces
    }

    /// The table of the rows that are filled, made by that many threads. Its last column is that of the reasons, where any row has one or it
    /// is `always` to be there.
    ///
    /// Errors: the evaluation is to end.
    pub fn into_table(self, filled: Filled, always: bool, threads: usize) -> Result<Table, TableError> {
        let Filling { plans, columns, .. } = self;
        let Filled { rows, missing, reasons } = filled;
        let mut kinds: Vec<ColumnKind> = plans.iter().map(|plan| plan.kind).collect();
        let unmade: Vec<_> = plans.into_iter().zip(columns).map(|work| Mutex::new(Some(work))).collect();
        let make = |place: usize| {
            let (plan, column) = unmade[place].lock().unwrap_or_else(PoisonError::into_inner).take()?;
            Some(made(plan, column, rows, missing.get(place) == Some(&true)))
        };
        let threads = if rows > FEW_ROWS { threads } else { 1 };
        let made: Vec<_> = all_of(Some(threads), unmade.len(), make).into_iter().flatten().collect();
        let mut parts = made.into_iter().collect::<Result<Vec<_>, _>>()?;
        if parts.len() < kinds.len() {
            return Err(Ended.into());
        }
        if always || !reasons.is_empty() {
            kinds.push(ColumnKind::Text);
            parts.push(reasons_column(rows, &reasons));
        }
        Ok(Table::made(pl::DataFrame::new(rows, parts)?, kinds))
    }
}

/// So few rows are made into columns sooner than threads begin.
const FEW_ROWS: usize = 100_000;

/// The first rows of a column of the table library.
fn made(plan: ColumnPlan, column: Stored, rows: usize, has_missing: bool) -> Result<pl::Column, TableError> {
    let name = pl::PlSmallStr::from_str(plan.name.trim());
    Ok(match (column, plan.choices) {
        (Stored::Numbers(mut numbers), _) => {
            numbers.truncate(rows);
            let known = has_missing.then(|| numbers.iter().map(|number| number.is_finite()).collect::<pl::BooleanChunked>());
            let known = known.and_then(|known| Some(known.downcast_iter().next()?.values().clone()));
            pl::Float64Chunked::from_vec_validity(name, numbers, known).into_column()
        }
        (Stored::OneOf(mut chosen), Some(choices)) => {
            chosen.truncate(rows);
            choices.take(&pl::IdxCa::from_vec(name.clone(), chosen))?.with_name(name).into_column()
        }
        (Stored::OneOf(_), None) => pl::Series::full_null(name, rows, &pl::DataType::String).into_column(),
    })
}

fn reasons_column(rows: usize, reasons: &[(usize, String)]) -> pl::Column {
    let name = pl::PlSmallStr::from_static(REASON);
    if reasons.is_empty() {
        return pl::Series::full_null(name, rows, &pl::DataType::String).into_column();
    }
    let mut column = pl::StringChunkedBuilder::new(name, rows);
    let mut next = 0;
    for (row, reason) in reasons {
        (next..*row).for_each(|_| column.append_null());
        column.append_value(reason);
        next = row + 1;
    }
    (next..rows).for_each(|_| column.append_null());
    column.finish().into_column()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::dim;
    use crate::table::{Cell, Values};

    fn plans() -> Vec<ColumnPlan> {
        vec![
            ColumnPlan::numbers("p", dim::PRESSURE, Preference::Usual),
            ColumnPlan::one_of(&Column::texts("zone", ["beds", "rows"])).expect("a column"),
            ColumnPlan::numbers("q", dim::FLOW, Preference::Usual),
        ]
    }

    /// Row `n` has the numbers n and -n and takes its turn in the zones; the fourth row fails.
    fn fill(piece: &mut Piece, first: usize) {
        for row in 0..piece.rows() {
            let n = first + row;
            for (place, cells) in piece.columns.iter_mut().enumerate() {
                match cells {
                    Cells::Numbers(numbers) => numbers[row] = if place == 0 { n as f64 } else { -(n as f64) },
                    Cells::OneOf { chosen, .. } => chosen[row] = (n % 2) as u32,
                }
            }
            if n == 3 {
                piece.fail(row, 1, "no answer".into());
            }
        }
    }

    fn filled(rows: usize, size: usize, done: usize, always: bool) -> Table {
        let mut filling = Filling::new(plans(), rows).expect("columns");
        let mut all = Filled::default();
        for (number, mut piece) in filling.pieces(size).into_iter().enumerate().take(done) {
            fill(&mut piece, number * size);
            all.add(piece.filled());
        }
        filling.into_table(all, always, 2).expect("a table")
    }

    #[test]
    fn the_table_is_the_same_however_it_is_cut() {
        let whole = filled(11, 11, 1, false);
        assert_eq!(whole.names(), ["p", "zone", "q", "reason"]);
        assert_eq!(whole.cell(2, "zone").expect("a cell"), Cell::text("beds"));
        assert_eq!((whole.cell(3, "zone").expect("a cell"), whole.cell(3, "q").expect("a cell")), (Cell::Missing, Cell::Missing));
        assert_eq!(whole.cell(3, "reason").expect("a cell"), Cell::text("no answer"));
        for size in [1, 2, 4, 5, 20] {
            assert_eq!(filled(11, size, 11, false), whole, "pieces of {size}");
        }
    }

    #[test]
    fn rows_that_are_not_filled_are_left_out() {
        let some = filled(11, 2, 1, false);
        assert_eq!((some.rows(), some.names()), (2, vec!["p".to_string(), "zone".into(), "q".into()]));
        assert_eq!(filled(11, 2, 1, true).names().last().map(String::as_str), Some("reason"));
        assert_eq!(filled(0, 2, 0, true).rows(), 0);
    }

    #[test]
    fn a_number_that_is_not_finite_is_missing() {
        for (value, expected) in [(f64::MAX, Some(f64::MAX)), (f64::INFINITY, None), (f64::NAN, None)] {
            let mut filling = Filling::new(vec![ColumnPlan::numbers("x", dim::NUMBER, Preference::Usual)], 3).expect("a column");
            let mut piece = filling.pieces(3).remove(0);
            let Cells::Numbers(numbers) = &mut piece.columns[0] else { panic!("numbers") };
            numbers.fill(value);
            let filled = piece.filled();
            let column = filling.into_table(filled, false, 1).expect("a table").column("x").expect("a column");
            let Values::Quantities { si, .. } = column.values else { panic!("numbers") };
            assert_eq!(si, vec![expected; 3]);
        }
    }

    #[test]
    fn columns_need_names_of_their_own() {
        let twice = vec![
            ColumnPlan::numbers("p", dim::NUMBER, Preference::Usual),
            ColumnPlan::numbers(" p", dim::NUMBER, Preference::Usual),
        ];
        assert_eq!(Filling::new(twice, 3).err().map(|error| error.to_string()).as_deref(), Some("two columns are named 'p'"));
        assert!(matches!(Filling::new(Vec::new(), 3), Err(TableError::NoColumns)));
    }
}
