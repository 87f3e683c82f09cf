//! Tables: rows and columns in which every numeric column knows its dimension and the unit it is shown in.
//!
//! The only room that knows polars; nothing of polars is seen from outside. Inside a table a quantity is an SI number
//! and a missing value is a null, never a NaN. It knows nothing of gardens, studies, figures or scripts.
//!
//! - `cell`, `column`: what a table is made of
//! - `held`: what a table holds, or where it lies
//! - `build`: making a table and looking into it
//! - `growing`: columns that grow row by row
//! - `filling`: columns that several threads fill
//! - `rows`, `columns`: choosing, ordering and joining on rows and columns
//! - `stack`: many tables under each other
//! - `group`, `join`, `pivot`, `describe`: answers computed from a table
//! - `series`: a column to calculate with
//! - `texts`: columns of texts
//! - `dates`: parts of dates, rows gathered by weeks and months
//! - `pareto`, `spread`: what nobody beats; what samples say
//! - `twelve_digits`: which numbers are one value
//! - `digits`, `panels`, `print`: what people see
//! - `heading`, `csv_text`, `sniff`, `save`, `read`, `read_json`, `read_parquet`, `stream`: files
//! - `footer`, `thrift`: what a parquet file promises, before it is read
//! - `foreign`, `zones`: what the columns of such a file mean; local times

mod build;
mod cell;
mod column;
mod columns;
mod csv_text;
mod dates;
mod describe;
mod digits;
mod error;
mod filling;
mod footer;
mod foreign;
mod group;
mod growing;
mod guess;
mod heading;
mod held;
mod join;
mod panels;
mod pareto;
mod pivot;
mod print;
mod quantile;
mod read;
mod read_json;
mod read_parquet;
#[cfg(test)]
mod round_trips;
mod rows;
#[cfg(test)]
mod samples;
mod save;
mod series;
mod sniff;
mod spread;
mod stack;
mod stream;
mod texts;
mod thrift;
mod twelve_digits;
mod zones;

pub use cell::Cell;
pub use column::{Column, ColumnKind, Values};
pub use dates::DatePart;
pub use describe::{Description, Figures};
pub use error::TableError;
pub use filling::{Cells, ColumnPlan, Filled, Filling, Piece, REASON};
pub use group::Wanted;
pub use growing::Growing;
pub use held::{Contents, Table};
pub use join::Join;
pub use print::{ColumnText, Sheet};
pub use rows::{Best, Order};
pub use series::{Aggregate, Arithmetic, Comparison, Logic, Operand, TableColumn};
pub use sniff::{Encoding, ReadOptions};
pub use spread::Chance;
pub use stream::{FileModel, Origin, RowGroup, TableFile};

/// More cells than any study needs, about 2 GB of numbers; it keeps a loop that adds without end from using up the memory.
const MOST_CELLS: usize = 250_000_000;

/// Refuses a table that would be too large, before it is made.
fn check_size(rows: usize, columns: usize) -> Result<(), TableError> {
    if rows.saturating_mul(columns) > MOST_CELLS {
        return Err(TableError::TooLarge { rows, columns, most: MOST_CELLS });
    }
    Ok(())
}
