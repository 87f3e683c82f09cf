//! Columns that grow row by row, for answers that come one after another.
//!
//! It knows nothing of where the rows come from.

use super::column::described;
use super::{Cell, Column, TableError, Values, check_size};
use crate::limits::{self, Ended};
use std::collections::HashMap;

/// A table in the making. Columns stand in the order in which their names first come.
#[derive(Clone, Debug, Default)]
pub struct Growing {
    rows: usize,
    columns: Vec<GrowingColumn>,
    /// Where the column of a name stands.
    places: HashMap<String, usize>,
}

#[derive(Clone, Debug)]
struct GrowingColumn {
    name: String,
    /// The first value that is not missing.
    first: Option<Cell>,
    /// No values at all while there is no first one; rows after the last value are missing.
    values: Values,
}

impl Growing {
    /// Rows up to now.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Adds a row; what it does not give is missing there.
    ///
    /// Errors: a value of another dimension or kind than those above it, a name twice.
    pub fn add<'n>(&mut self, row: impl IntoIterator<Item = (&'n str, Cell)>) -> Result<(), TableError> {
        limits::go_on()?;
        let number = self.rows;
        for (place, (name, cell)) in row.into_iter().enumerate() {
            // Rows mostly give the same columns in the same order.
            let place = match self.columns.get(place) {
                Some(column) if column.name == name => place,
                _ => self.place_of(name.trim()),
            };
            let column = &mut self.columns[place];
            if column.given(number) {
                return Err(TableError::RepeatedCell { column: column.name.clone(), row: number });
            }
            column.fill(number);
            column.push(number, cell)?;
        }
        self.rows += 1;
        check_size(self.rows, self.columns.len())
    }

    /// Adds all rows of another below.
    ///
    /// Errors: a column of two dimensions or kinds.
    pub fn append(&mut self, other: Growing) -> Result<(), TableError> {
        let above = self.rows;
        self.rows += other.rows;
        for theirs in other.columns {
            limits::go_on()?;
            let place = self.place_of(&theirs.name);
            self.columns[place].append(above, theirs)?;
        }
        check_size(self.rows, self.columns.len())
    }

    /// The columns; one that is missing in every row holds plain numbers. Errors: the evaluation is to end.
    pub fn into_columns(self) -> Result<Vec<Column>, Ended> {
        let rows = self.rows;
        let finished = |mut column: GrowingColumn| {
            limits::room_for(rows.saturating_mul(size_of::<Option<f64>>()))?;
            column.fill(rows);
            Ok(match column.first {
                Some(_) => Column { name: column.name, values: column.values },
                None => Column::numbers(column.name, std::iter::repeat_n(f64::NAN, rows)),
            })
        };
        self.columns.into_iter().map(finished).collect()
    }

    /// The place of a column, which is there afterwards.
    fn place_of(&mut self, name: &str) -> usize {
        let columns = &mut self.columns;
        *self.places.entry(name.to_string()).or_insert_with(|| {
            columns.push(GrowingColumn { name: name.to_string(), first: None, values: Values::Flags(Vec::new()) });
            columns.len() - 1
        })
    }
}

impl GrowingColumn {
    /// True when the row of that number has a value already.
    fn given(&self, row: usize) -> bool {
        self.values.len() > row
    }

    /// Makes the rows up to that number missing that are not there yet.
    fn fill(&mut self, rows: usize) {
        if self.first.is_none() {
            return;
        }
        match &mut self.values {
            Values::Quantities { si, .. } if si.len() < rows => si.resize(rows, None),
            Values::Texts(texts) if texts.len() < rows => texts.resize(rows, None),
            Values::Flags(flags) if flags.len() < rows => flags.resize(rows, None),
            Values::Dates { ms, .. } if ms.len() < rows => ms.resize(rows, None),
            _ => {}
        }
    }

    fn push(&mut self, row: usize, cell: Cell) -> Result<(), TableError> {
        if self.first.is_none() {
            if cell.is_missing() {
                return Ok(());
            }
            self.values = no_values(&cell);
            self.first = Some(cell.clone());
            self.fill(row);
        }
        match (&mut self.values, cell) {
            (Values::Quantities { si, dimension, .. }, Cell::Quantity(quantity)) if quantity.dimension == *dimension => {
                si.push(Some(quantity.si).filter(|si| si.is_finite()));
            }
            (Values::Texts(texts), Cell::Text(text)) => texts.push(Some(text)),
            (Values::Flags(flags), Cell::Flag(flag)) => flags.push(Some(flag)),
            (Values::Dates { ms, clock }, Cell::Date(date)) => {
                ms.push(Some(date.ms()));
                *clock |= date.has_clock();
            }
            (_, cell) if cell.is_missing() => self.fill(row + 1),
            (_, cell) => {
                return Err(TableError::MixedColumn {
                    column: self.name.clone(),
                    row,
                    expected: self.first.as_ref().map(described).unwrap_or_default(),
                    found: described(&cell),
                });
            }
        }
        Ok(())
    }

    /// Adds the values of another column below, which has this many rows above it.
    fn append(&mut self, above: usize, other: GrowingColumn) -> Result<(), TableError> {
        let Some(first) = other.first else { return Ok(()) };
        if self.first.is_none() {
            self.values = no_values(&first);
            self.first = Some(first);
        }
        self.fill(above);
        match (&mut self.values, other.values) {
            (Values::Quantities { si, dimension, .. }, Values::Quantities { si: more, dimension: theirs, .. })
                if *dimension == theirs =>
            {
                si.extend(more);
            }
            (Values::Texts(texts), Values::Texts(more)) => texts.extend(more),
            (Values::Flags(flags), Values::Flags(more)) => flags.extend(more),
            (Values::Dates { ms, clock }, Values::Dates { ms: more, clock: theirs }) => {
                ms.extend(more);
                *clock |= theirs;
            }
            (ours, theirs) => {
                let (left, right) = (ours.kind().to_string(), theirs.kind().to_string());
                return Err(TableError::DifferentKinds { column: self.name.clone(), left, right });
            }
        }
        Ok(())
    }
}

/// Room for values of the kind of a cell.
fn no_values(cell: &Cell) -> Values {
    match cell {
        Cell::Quantity(quantity) => {
            Values::Quantities { si: Vec::new(), dimension: quantity.dimension, preference: quantity.preference }
        }
        Cell::Text(_) => Values::Texts(Vec::new()),
        Cell::Date(_) => Values::Dates { ms: Vec::new(), clock: false },
        Cell::Flag(_) | Cell::Missing => Values::Flags(Vec::new()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::Table;
    use crate::table::samples::{psi, q};

    fn grown(rows: &[&[(&'static str, Cell)]]) -> Result<Growing, TableError> {
        let mut growing = Growing::default();
        rows.iter().try_for_each(|row| growing.add(row.iter().cloned()))?;
        Ok(growing)
    }

    /// Missing values before, between and after; columns that come late; another order.
    fn ragged() -> Vec<Vec<(&'static str, Cell)>> {
        vec![
            vec![("a", Cell::Missing)],
            vec![("b", psi(30.0)), ("a", Cell::number(2.0))],
            vec![],
            vec![("a", Cell::number(f64::NAN)), ("c", true.into()), ("b", Cell::Missing)],
            vec![("d", "dry".into()), ("e", Cell::Missing)],
            vec![("a", Cell::number(7.0))],
        ]
    }

    #[test]
    fn pieces_cut_anywhere_make_the_same_columns() {
        let rows = ragged();
        let of = |rows: &[Vec<(&'static str, Cell)>]| grown(&rows.iter().map(Vec::as_slice).collect::<Vec<_>>()).expect("rows");
        let whole = of(&rows).into_columns().expect("columns");
        assert_eq!(whole.iter().map(|column| column.name.as_str()).collect::<Vec<_>>(), ["a", "b", "c", "d", "e"]);
        assert!(whole.iter().all(|column| column.len() == rows.len()));
        let whole = Table::new(whole).expect("a table");
        for cut in 0..=rows.len() {
            for second in cut..=rows.len() {
                let mut joined = of(&rows[..cut]);
                joined.append(of(&rows[cut..second])).expect("fits");
                joined.append(of(&rows[second..])).expect("fits");
                assert_eq!(joined.rows(), rows.len());
                assert_eq!(
                    Table::new(joined.into_columns().expect("columns")).expect("a table"),
                    whole,
                    "cut at {cut} and {second}"
                );
            }
        }
    }

    #[test]
    fn pieces_of_other_kinds_are_refused() {
        let mut growing = grown(&[&[("p", psi(30.0))]]).expect("a row");
        let error = growing.append(grown(&[&[("p", q(1.0, "ft"))]]).expect("a row")).unwrap_err();
        assert_eq!(error.to_string(), "column 'p' holds a pressure in one table and a length in the other");
    }

    #[test]
    fn a_name_is_trimmed_and_may_come_once_a_row() {
        assert_eq!(grown(&[&[(" p ", psi(1.0))]]).expect("a row").into_columns().expect("columns")[0].name, "p");
        let twice = grown(&[&[("p", psi(1.0)), (" p", psi(2.0))]]).unwrap_err();
        assert_eq!(twice.to_string(), "row 0 gives column 'p' twice");
    }
}
